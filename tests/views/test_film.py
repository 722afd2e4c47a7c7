"""The film of a sheet on the screen: its picture, print file, cuts, losses, spare pieces."""

from decimal import Decimal

import pytest
from django.urls import reverse
from django.utils import timezone
from zxingcpp import read_barcodes

from decaljobs.craft.stages import Build
from decaljobs.models import Decal, LayoutSearch, PrinterFit, Sheet
from decaljobs.services.bench import spoiling
from decaljobs.services.film import sheets
from decaljobs.services.projects import bin as bins
from decaljobs.services.squeeze import laid_sheets
from tests.factories import (
    EVENING,
    make_decal,
    make_decals,
    make_project,
    make_sheet,
    placed_sheet,
    sealed_sheet,
)
from tests.pdf import papers


@pytest.fixture
def placed(db):
    return placed_sheet("clear", make_decals(2, Build.CLEAR_ALONE, place="Fin"))


def post(client, name, sheet, **data):
    return client.post(reverse(name, args=[sheet.code]), data)


def test_the_picture_shows_each_piece_at_its_place_as_a_link(signed_in, placed):
    page = signed_in.get(placed.get_absolute_url()).content.decode()
    for piece in placed.pieces.all():
        assert f'href="{reverse("piece", args=[piece.pk])}"' in page
    assert 'x="6.00" y="21.00" width="24.00" height="12.00"' in page
    assert "Fin 1 of 2, clear 1: good" in page


def test_a_turned_piece_is_drawn_turned(signed_in, placed):
    placed.pieces.filter(copy=1).update(degrees=90, width_mm=12, height_mm=24)
    page = signed_in.get(placed.get_absolute_url()).content.decode()
    assert 'width="24.00" height="12.00" transform="translate(6.00 30.00) rotate(-90)"' in page


@pytest.mark.parametrize(
    ("degrees", "moved"),
    [(0, "6.00 6.00)"), (180, "30.00 18.00) rotate(-180)"), (270, "30.00 6.00) rotate(-270)")],
)
def test_other_turns_are_drawn_too(signed_in, placed, degrees, moved):
    placed.pieces.filter(copy=1).update(degrees=degrees)
    page = signed_in.get(placed.get_absolute_url()).content.decode()
    assert f'transform="translate({moved}"/>' in page


def test_pieces_without_a_place_are_counted(signed_in, placed):
    sheets.put_on_sheet(
        sheet=placed.pk, decals=[p.decal_id for p in placed.pieces.filter(copy=1)], copies=1
    )
    page = signed_in.get(placed.get_absolute_url()).content.decode()
    assert "2 more pieces have no place" in page
    assert "Print file</button>" not in page


def test_pieces_put_on_by_hand_are_laid_out_with_one_button(signed_in):
    sheet = make_sheet("clear")
    decals = make_decals(2, Build.CLEAR_ALONE)
    sheets.put_on_sheet(sheet=sheet.pk, decals=[d.pk for d in decals], copies=1)
    page = signed_in.get(sheet.get_absolute_url()).content.decode()
    assert "Lay it out</button>" in page
    answer = signed_in.post(reverse("sheet-place", args=[sheet.code]), follow=True)
    assert "2 pieces have their places" in answer.content.decode()
    assert "Print file</button>" in answer.content.decode()


def test_a_tapped_piece_can_be_said_to_be_spoiled(signed_in, maker, placed):
    sheets.log_printed(sheet=placed.pk, by=maker, moment=EVENING)
    piece = placed.pieces.first()
    page = signed_in.get(reverse("piece", args=[piece.pk])).content.decode()
    assert "6.0 mm from the left" in page.replace("\xa0", " ")
    answer = signed_in.post(
        reverse("piece-spoil", args=[piece.pk]),
        {"reason": "scratched", "next": placed.get_absolute_url()},
    )
    assert answer["Location"] == placed.get_absolute_url()
    page = signed_in.get(placed.get_absolute_url()).content.decode()
    assert page.count('class="spoiled-mark"') == 1
    assert signed_in.get(reverse("piece", args=[999999])).status_code == 404


def test_the_print_file_is_the_size_of_the_sheet(signed_in, placed):
    answer = signed_in.get(reverse("sheet-print-file", args=[placed.code]))
    assert answer["Content-Type"] == "application/pdf"
    page = papers.read(answer.content)[0]
    assert page.get_height() / papers.POINTS_PER_MM == pytest.approx(297, abs=0.01)


def test_the_print_file_comes_again_to_the_byte(signed_in, placed):
    url = reverse("sheet-print-file", args=[placed.code])
    assert signed_in.get(url).content == signed_in.get(url).content


def test_the_page_says_where_the_code_stands_and_has_a_slip_for_every_sheet(signed_in, placed):
    page = signed_in.get(placed.get_absolute_url()).content.decode()
    assert "printed between the pieces" in page
    assert f'href="{reverse("sheet-slip", args=[placed.code])}"' in page
    placed.pieces.update(x_mm=7, y_mm=7, width_mm=196, height_mm=100, degrees=0)
    assert "the slip carries it" in signed_in.get(placed.get_absolute_url()).content.decode()


@pytest.mark.parametrize("copies", [1, 9])
def test_a_slip_says_what_lies_on_the_sheet_with_the_same_queries(
    signed_in, django_assert_num_queries, copies
):
    decals = make_decals(copies, Build.CLEAR_ALONE, place="Fin")
    sheet = placed_sheet("clear", decals, copies=2, note="from the new packet")
    with django_assert_num_queries(4):
        answer = signed_in.get(reverse("sheet-slip", args=[sheet.code]))
    said = papers.words(answer.content)
    assert f"Sheet {sheet.code}" in said and "from the new packet" in said
    assert said.count("2 good") == copies
    letter = signed_in.get(reverse("sheet-slip", args=[sheet.code]), {"paper_size": "Letter"})
    assert papers.read(letter.content)[0].get_width() == pytest.approx(8.5 * 72)


def test_a_slip_opens_the_page_of_its_sheet(signed_in, placed):
    answer = signed_in.get(reverse("sheet-slip", args=[placed.code]))
    scan = papers.scan(answer.content, blur=0.8, turn=0)
    (found,) = read_barcodes(scan)
    assert found.text.endswith(placed.get_absolute_url())
    assert signed_in.get(placed.get_absolute_url()).status_code == 200


@pytest.mark.parametrize("query", [{"base_art": "band"}, {"base_art": "x"}, {"marks": "stars"}])
def test_it_rejects_wishes_that_make_no_sense(signed_in, placed, query):
    answer = signed_in.get(reverse("sheet-print-file", args=[placed.code]), query)
    assert answer.status_code == 422
    assert list(answer.context["print_form"].errors) == list(query)


def test_a_sheet_without_places_is_told_and_not_printed(signed_in):
    sheet = make_sheet("clear")
    answer = signed_in.get(reverse("sheet-print-file", args=[sheet.code]), follow=True)
    assert "Nothing lies on sheet C-01" in answer.content.decode()


def test_it_cuts_the_rest_off(signed_in, placed):
    page = signed_in.get(placed.get_absolute_url())
    start = page.context["cut_form"].initial
    # Pieces of 24 mm from 6 mm on and 3 mm for the scissors: 177 by 297 mm is left, where a
    # cut across the foot at 66 mm would leave 210 by 231 mm, which is less.
    assert (start["side"], start["at_mm"]) == ("right", 33.0)
    answer = post(signed_in, "sheet-cut-off", placed, **start)
    assert answer.status_code == 302
    offcut = Sheet.objects.get(code="C-02")
    assert (float(offcut.width_mm), offcut.cut_from) == (177.0, placed)
    page = signed_in.get(offcut.get_absolute_url()).content.decode()
    assert f'Cut from <a href="{placed.get_absolute_url()}">' in page


@pytest.mark.parametrize("at_mm", ["0", "20", "296", "NaN", "inf", "-1", "1e308", "", "far"])
def test_it_rejects_a_cut_that_cannot_be_beside_its_field(signed_in, placed, at_mm):
    answer = post(signed_in, "sheet-cut-off", placed, side="foot", at_mm=at_mm)
    assert answer.status_code == 422
    assert answer.context["cut_form"].errors["at_mm"]
    assert Sheet.objects.count() == 1


def test_the_second_of_two_who_cut_is_told(signed_in, placed):
    post(signed_in, "sheet-cut-off", placed, side="foot", at_mm="100", seen="0")
    answer = post(signed_in, "sheet-cut-off", placed, side="foot", at_mm="80", seen="0")
    assert "has moved on" in answer.content.decode()
    assert Sheet.objects.count() == 2


def test_a_lost_sheet_is_undone_when_found(signed_in, placed):
    post(signed_in, "sheet-lost", placed, reason="the cat", seen="0")
    placed.refresh_from_db()
    assert placed.is_lost
    page = signed_in.get(placed.get_absolute_url()).content.decode()
    assert "the cat" in page
    assert "Cut the rest off" not in page
    signed_in.post(reverse("sheet-undo", args=[placed.code]))
    placed.refresh_from_db()
    assert not placed.is_lost


def test_only_the_owner_says_that_laser_film_may_be_fed_again(client, maker, owner):
    sheet = make_sheet("clear", printer="laser")
    client.force_login(maker)
    assert post(client, "sheet-refeed", sheet, reason="x").status_code == 403
    client.force_login(owner)
    answer = post(client, "sheet-refeed", sheet, reason=" ")
    assert answer.context["refeed_form"].errors["reason"]
    post(client, "sheet-refeed", sheet, reason="the packet says so")
    sheet.refresh_from_db()
    assert sheet.refeed_reason == "the packet says so (olle)"


def test_onlookers_change_nothing(client, onlooker, placed):
    client.force_login(onlooker)
    for name in ("sheet-cut-off", "sheet-lost", "sheet-refeed"):
        assert post(client, name, placed).status_code == 403
    assert client.get(reverse("printers")).status_code == 200
    assert client.post(reverse("printers"), {}).status_code == 403
    assert client.get(reverse("sheet-print-file", args=[placed.code])).status_code == 200


@pytest.mark.parametrize("number", [1, 6])
def test_spares_are_listed_with_the_same_queries_for_any_number(
    signed_in, maker, django_assert_num_queries, number
):
    sealed_sheet("clear", make_decals(number, Build.CLEAR_ALONE, place="Fin"), maker, copies=3)
    with django_assert_num_queries(7):
        page = signed_in.get(reverse("sheet-spares")).content.decode()
    assert page.count("<strong>3 whole markings</strong>") == number
    assert "3 clear on C-01" in page


def test_spares_of_equal_decals_count_for_each_other(signed_in, maker):
    has, wants, laminated = make_decals(3, Build.CLEAR_ALONE, place="Door")
    Decal.objects.filter(pk=laminated.pk).update(build=Build.LAMINATED)
    sealed_sheet("clear", [has], maker, copies=3)
    page = signed_in.get(reverse("sheet-spares")).content.decode()
    rows = {row.decal: row for row in signed_in.get(reverse("sheet-spares")).context["rows"]}
    assert (rows[has].markings, rows[has].with_twins, rows[has].lent) == (3, 3, ())
    assert (rows[wants].markings, rows[wants].with_twins) == (0, 2)
    assert (rows[laminated].with_twins, rows[laminated].lent) == (0, ("2 clear",))
    assert "Equal decals have 2 clear to spare: 2 whole markings with that." in page
    assert f'<a href="{wants.get_absolute_url()}">Take one over on its page</a>' in page


def test_a_twin_that_is_put_away_or_has_all_it_wants_is_offered_no_piece(signed_in, maker):
    has, laid = make_decals(2, Build.CLEAR_ALONE, place="Door")
    sealed_sheet("clear", [has, laid], maker, copies=2)
    away = make_decal(Build.CLEAR_ALONE, artwork=has.artwork, project=make_project())
    bins.put_away(project=away.project_id, moment=EVENING)
    rows = [row.decal for row in signed_in.get(reverse("sheet-spares")).context["rows"]]
    assert rows == [has, laid]


def test_spares_say_which_layer_is_missing(signed_in, maker):
    (decal,) = make_decals(1, place="Tail")
    sealed_sheet("white", [decal], maker)
    page = signed_in.get(reverse("sheet-spares")).content.decode()
    assert "No whole marking: no good clear piece" in page
    for piece in decal.pieces.all():
        spoiling.spoil_piece(piece=piece.pk, by=maker, moment=EVENING)
    assert "No good piece lies here" in signed_in.get(reverse("sheet-spares")).content.decode()


def test_a_printers_fit_is_kept_and_shown(signed_in):
    data = {"printer": "laser", "film": "white", "across_mm": "99.5", "along_mm": "100.2"}
    signed_in.post(reverse("printers"), data)
    assert PrinterFit.objects.get().x_factor == pytest.approx(100 / 99.5)
    page = signed_in.get(reverse("printers")).content.decode()
    assert "1.0050 across, 0.9980 along" in page
    assert page.count("not measured") == 3


@pytest.mark.parametrize("arm", ["90", "110", "0", "NaN", "inf", "", "long"])
def test_it_rejects_a_cross_that_cannot_be(signed_in, arm):
    data = {"printer": "laser", "film": "white", "across_mm": arm, "along_mm": "100"}
    answer = signed_in.post(reverse("printers"), data)
    assert list(answer.context["form"].errors) == ["across_mm"]
    assert not PrinterFit.objects.exists()


def test_the_cross_names_printer_and_film(signed_in):
    query = {"printer": "laser", "film": "white", "paper_size": "Letter"}
    pdf = signed_in.get(reverse("printer-cross"), query).content
    assert "Laser on white film" in papers.words(pdf)
    assert papers.read(pdf)[0].get_height() == pytest.approx(792, abs=0.1)
    assert signed_in.get(reverse("printer-cross")).status_code == 302


@pytest.fixture
def _squeezed_at_once(settings, monkeypatch):
    settings.WORK_BEHIND = "page"
    monkeypatch.setattr(laid_sheets, "LONGEST", 2.0)


@pytest.mark.slow
@pytest.mark.usefixtures("_squeezed_at_once")
def test_a_sheet_not_printed_yet_is_squeezed_with_one_button(signed_in, placed):
    url = reverse("sheet-squeeze", args=[placed.code])
    page = signed_in.get(placed.get_absolute_url()).content.decode()
    assert f'action="{url}"' in page
    answer = post(signed_in, "sheet-squeeze", placed, follow=True)
    assert answer["Location"] == placed.get_absolute_url()
    page = signed_in.get(placed.get_absolute_url()).content.decode()
    saved = LayoutSearch.objects.get(kind="squeeze").found["saved_mm2"]
    assert ("Squeezed on" if saved else "The squeeze saved no film") in page


@pytest.mark.slow
@pytest.mark.usefixtures("_squeezed_at_once")
def test_a_squeeze_of_a_sheet_is_watched_and_stopped(signed_in, placed):
    post(signed_in, "sheet-squeeze", placed)
    LayoutSearch.objects.update(state="running", share=0.3, beat_at=timezone.now())
    url = reverse("sheet-squeeze", args=[placed.code])
    part = signed_in.get(url, headers={"HX-Request": "true"}).content.decode()
    assert '<progress max="100" value="30"' in part
    assert "<h1" not in part
    found = LayoutSearch.objects.get()
    stop = {"search": found.pk, "next": placed.get_absolute_url()}
    answer = signed_in.post(reverse("sheet-next-stop"), stop)
    assert answer["Location"] == placed.get_absolute_url()
    found.refresh_from_db()
    assert found.stop_asked
    LayoutSearch.objects.update(state="done")
    over = signed_in.get(url, headers={"HX-Request": "true"})
    assert over["HX-Retarget"] == "#sheet"


def test_a_sheet_says_its_gap_and_one_for_straight_cuts_offers_no_squeeze(signed_in, placed):
    page = signed_in.get(placed.get_absolute_url()).content.decode()
    assert "laid out with a gap of 3\u00a0mm." in page
    placed.gap_mm, placed.straight_cuts = Decimal("2.5"), True
    placed.save()
    page = signed_in.get(placed.get_absolute_url()).content.decode()
    assert "laid out with a gap of 2.5\u00a0mm for straight cuts." in page
    assert "Squeeze by outline" not in page


def test_a_printed_sheet_is_not_squeezed(signed_in, maker, placed):
    sheets.log_printed(sheet=placed.pk, by=maker, moment=EVENING)
    assert "Squeeze by outline" not in signed_in.get(placed.get_absolute_url()).content.decode()
    answer = signed_in.post(reverse("sheet-squeeze", args=[placed.code]), follow=True)
    assert "is printed already" in answer.content.decode()
