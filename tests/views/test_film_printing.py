"""What is printed where: an offcut's free part alone; what is said of laser and inkjet film."""

import pytest
from django.urls import reverse

from decaljobs.craft.stages import Build
from decaljobs.models import Sheet
from decaljobs.services.film import offcuts, sheets
from decaljobs.services.film.offcuts import Side
from decaljobs.services.layout.layouts import LayoutWishes, plan_layout
from decaljobs.services.layout.next_sheet import lay_down
from tests.factories import EVENING, make_artwork, make_decals, placed_sheet
from tests.pdf import papers
from tests.pdf.test_printfile import images
from tests.queues import all_wanted, queue_up

WISHES = LayoutWishes("inkjet", 210, 297, 7, seconds=0.02)


def cut_off(maker, sheet, at_mm):
    return offcuts.cut_off(sheet=sheet.pk, side=Side.FOOT, at_mm=at_mm, by=maker, moment=EVENING)


def lay_out(maker, decals):
    queue_up(maker, *decals)
    wanted = all_wanted()
    plan = plan_layout(wanted, WISHES, list(Sheet.objects.clean_offcuts()))
    return lay_down(plan=plan, by=maker, moment=EVENING)


def printed(client, sheet):
    return client.get(reverse("sheet-print-file", args=[sheet.code])).content


def size_of(pdf):
    page = papers.read(pdf)[0]
    return [side / papers.POINTS_PER_MM for side in (page.get_width(), page.get_height())]


def page_of(client, sheet):
    return client.get(sheet.get_absolute_url()).content.decode()


def test_on_an_offcut_it_prints_into_its_free_part_alone(signed_in, maker):
    """The rest of a printed sheet: the paper is the offcut, each art inside its edge of 7 mm."""
    art = [make_artwork(name=f"Art {width}", width_mm=width) for width in (24, 31)]
    first, second = (make_decals(2, Build.CLEAR_ALONE, artwork=one) for one in art)
    (whole,) = lay_out(maker, first)
    before = images(printed(signed_in, whole))
    sheets.log_printed(sheet=whole.pk, by=maker, moment=EVENING)
    rest = cut_off(maker, whole, 120)
    assert lay_out(maker, second) == [rest]
    pdf = printed(signed_in, rest)
    assert size_of(pdf) == pytest.approx([210, 177], abs=0.1)
    places = sorted((p.x_mm, p.y_mm, p.width_mm, p.height_mm) for p in rest.pieces.all())
    found = sorted(images(pdf))
    assert len(found) == len(places) == 5
    for place, lies in zip(places, found, strict=True):
        assert lies == pytest.approx(place, abs=0.1)
        left, top, wide, high = lies
        assert min(left, top, 210 - left - wide, 177 - top - high) >= 7 - 0.1
    whole.refresh_from_db()
    for lies, lay in zip(images(printed(signed_in, whole)), before, strict=True):
        assert lies == pytest.approx(lay, abs=0.1)
    assert size_of(printed(signed_in, whole)) == pytest.approx([210, 120], abs=0.1)


def test_both_films_are_printed_at_exactly_the_same_places(signed_in, maker):
    white, clear = lay_out(maker, make_decals(3))
    assert (white.film, clear.film) == ("white", "clear")
    both = [images(printed(signed_in, sheet)) for sheet in (white, clear)]
    assert len(both[0]) == 6
    assert both[0] == both[1]


def test_a_laser_offcut_is_not_offered_for_printing_before_the_owner_says_why(client, maker, owner):
    whole = placed_sheet("clear", make_decals(1, Build.CLEAR_ALONE), printer="laser")
    sheets.log_printed(sheet=whole.pk, by=maker, moment=EVENING)
    rest = cut_off(maker, whole, 150)
    (decal,) = make_decals(1, Build.CLEAR_ALONE)
    (piece,) = sheets.put_on_sheet(sheet=rest.pk, decals=[decal.pk], copies=1)
    place = {"x_mm": 7, "y_mm": 7, "width_mm": 24, "height_mm": 12, "degrees": 0}
    type(piece).objects.filter(pk=piece.pk).update(**place)
    client.force_login(owner)
    page = page_of(client, rest)
    assert "Not for the fuser: laser film that was partly cut away or went through before" in page
    assert "Print file</button>" not in page
    answer = client.get(reverse("sheet-print-file", args=[rest.code]), follow=True)
    assert "through the fuser" in answer.content.decode()
    assert not Sheet.objects.clean_offcuts().exists()
    client.post(reverse("sheet-refeed", args=[rest.code]), {"reason": "the packet allows two"})
    page = page_of(client, rest)
    assert "May be fed again: the packet allows two (olle)." in page
    assert "Print file</button>" in page
    assert size_of(printed(client, rest)) == pytest.approx([210, 147], abs=0.1)


def test_inkjet_sheets_are_to_be_printed_in_one_go_and_a_sealed_one_takes_no_more(signed_in, maker):
    said = "Print an inkjet sheet in one go: once it is sealed it takes no more ink."
    sheet = placed_sheet("clear", make_decals(1, Build.CLEAR_ALONE))
    assert said in page_of(signed_in, sheet)
    queue_up(maker, *make_decals(1, Build.CLEAR_ALONE))
    assert said in signed_in.get(reverse("sheet-next")).content.decode()
    laser = placed_sheet("clear", make_decals(1, Build.CLEAR_ALONE), printer="laser")
    assert said not in page_of(signed_in, laser)


def test_a_sheet_is_told_how_full_it_is_and_what_else_would_go_on_it(signed_in, maker):
    queued = make_decals(1, Build.CLEAR_ALONE, place="Bow")
    (waiting,) = make_decals(1, Build.CLEAR_ALONE, place="Stern")
    queue_up(maker, *queued)
    answer = signed_in.get(reverse("sheet-next"))
    page = answer.content.decode()
    (sheet,) = answer.context["laid"]
    wide, high = sheet.laid.rest
    full = round(100 * (1 - wide * high / (210 * 297)))
    assert 1 < full < 20
    assert f'<meter min="0" max="100" value="{full}">' in page
    assert f"{full} % taken, 3 places" in page
    assert "Would still fit on the rest" in page
    assert f'value="{waiting.pk}">Queue' in page
