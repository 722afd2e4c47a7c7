"""Sheets on the screen: taken, filled, printed, sealed, undone."""

import re
from datetime import timedelta

import pytest
import time_machine
from django.urls import reverse
from django.utils import timezone

from decaljobs.craft.stages import Build, Film
from decaljobs.models import Sheet
from decaljobs.services.film import sheets
from tests.factories import EVENING, make_decal, make_decals, make_sheet, sealed_decal, sealed_sheet

HOUR = timedelta(hours=1)


def sheet_data(**fields):
    start = {"film": "white", "printer": "inkjet", "size": "A4", "sealer": "water"}
    return {**start, "coats_wanted": "4", **fields}


@pytest.fixture
def filled(maker):
    sheet = make_sheet("clear")
    decals = make_decals(2, Build.CLEAR_ALONE)
    sheets.put_on_sheet(sheet=sheet.pk, decals=[d.pk for d in decals], copies=2)
    return sheet


@pytest.mark.parametrize("number", [1, 30])
def test_it_lists_sheets_with_the_same_queries_for_any_number(
    signed_in, django_assert_num_queries, number
):
    for _ in range(number):
        make_sheet()
    with django_assert_num_queries(4):
        answer = signed_in.get(reverse("sheets"))
    assert f"W-{number:02d}" in answer.content.decode()


# ISO 216: A4 is 210 by 297 mm; ASME Y14.1: Letter is 8.5 by 11 in, an inch being 25.4 mm.
@pytest.mark.parametrize(
    ("size", "sides"), [("A4", (210, 297)), ("Letter", (8.5 * 25.4, 11 * 25.4))]
)
def test_it_takes_a_sheet_of_a_known_size(signed_in, size, sides):
    answer = signed_in.post(reverse("sheet-new"), sheet_data(size=size))
    sheet = Sheet.objects.get()
    assert answer["Location"] == reverse("sheet-fill", args=["W-01"])
    assert (float(sheet.width_mm), float(sheet.height_mm)) == pytest.approx(sides, abs=0.05)


def test_it_takes_a_sheet_of_any_other_size(signed_in):
    signed_in.post(reverse("sheet-new"), sheet_data(size="free", width_mm="100", height_mm="150.5"))
    assert float(Sheet.objects.get().height_mm) == 150.5


@pytest.mark.parametrize(("given", "kept"), [("4.5", 4.5), ("0", 0), ("", 7)])
def test_it_keeps_the_clear_edge_or_the_usual_one(signed_in, given, kept):
    signed_in.post(reverse("sheet-new"), sheet_data(margin_mm=given))
    assert float(Sheet.objects.get().margin_mm) == kept


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("width_mm", "0"),
        ("width_mm", "-1"),
        ("width_mm", "NaN"),
        ("width_mm", "1e308"),
        ("width_mm", ""),
        ("height_mm", "tall"),
        ("coats_wanted", "0"),
        ("coats_wanted", "99"),
        ("margin_mm", "-1"),
        ("margin_mm", "NaN"),
        ("margin_mm", "61"),
        ("margin_mm", "50"),
        ("film", "blue"),
    ],
)
def test_it_rejects_a_wrong_value_beside_its_field(signed_in, field, value):
    free = sheet_data(size="free", width_mm="100", height_mm="100")
    answer = signed_in.post(reverse("sheet-new"), {**free, field: value})
    assert list(answer.context["form"].errors) == [field]
    assert not Sheet.objects.exists()


def test_it_fills_a_sheet(signed_in):
    decals = make_decals(2)
    sheet = make_sheet()
    url = reverse("sheet-fill", args=[sheet.code])
    signed_in.post(url, {"decals": [d.pk for d in decals], "copies": "3"})
    assert sheet.pieces.count() == 6
    answer = signed_in.post(url, {"copies": "2"})
    assert "Tick at least one" in answer.content.decode()


def test_without_a_number_it_puts_as_many_on_as_the_rule_gives_and_says_why(signed_in):
    decals = make_decals(4, place="Door")
    sheet, ids = make_sheet(), [d.pk for d in decals]
    url = reverse("sheet-fill", args=[sheet.code])
    why = "Door: 4 equal decals share 8 copies. 4 wanted; come out good: printing and sealing"
    page = signed_in.get(url, {"decal": ids}).content.decode()
    assert page.count(why) == 1
    answer = signed_in.post(url, {"decals": ids, "copies": ""}, follow=True)
    assert f"8 pieces put on sheet W-01. {why}" in answer.content.decode()
    assert [decal.pieces.count() for decal in decals] == [2, 2, 2, 2]


def test_where_enough_lies_no_more_is_put_on_unless_a_number_is_given(signed_in, maker):
    decal = sealed_decal(maker, Build.WHITE_ALONE)
    sealed_sheet("white", [decal], maker, copies=2)
    sheet = make_sheet()
    url = reverse("sheet-fill", args=[sheet.code])
    answer = signed_in.post(url, {"decals": [decal.pk], "copies": ""})
    assert "Enough good pieces lie here already" in answer.content.decode()
    signed_in.post(url, {"decals": [decal.pk], "copies": "1"})
    assert sheet.pieces.count() == 1


@pytest.mark.parametrize("copies", ["0", "51", "NaN"])
def test_it_rejects_copies_that_make_no_sense_and_keeps_the_ticks(signed_in, copies):
    (decal,) = make_decals(1)
    sheet = make_sheet()
    url = reverse("sheet-fill", args=[sheet.code])
    answer = signed_in.post(url, {"decals": [decal.pk], "copies": copies})
    assert "copies" in answer.context["form"].errors
    assert f'id="tick-{decal.pk}" checked' in answer.content.decode()


@pytest.mark.parametrize("number", ["9" * 30, "0", "x", "\x00"])
def test_it_rejects_a_decal_that_is_not_there(signed_in, number):
    sheet = make_sheet("clear")
    answer = signed_in.post(f"/sheets/{sheet}/fill/", {"decals": [number], "copies": "2"})
    assert answer.context["form"].errors["decals"]
    assert not sheet.pieces.exists()


def test_it_prints_and_seals_with_a_click_each(signed_in, filled):
    with time_machine.travel(EVENING, tick=False):
        signed_in.post(reverse("sheet-printed", args=[filled.code]), {"seen": "0"})
    for hours in (12, 13):
        with time_machine.travel(EVENING + hours * HOUR, tick=False):
            signed_in.force_login(signed_in.get("/people/").wsgi_request.user)
            answer = signed_in.post(reverse("sheet-coat", args=[filled.code]))
        assert answer.status_code == 302
    filled.refresh_from_db()
    assert filled.is_sealed
    assert {piece.decal.stage for piece in filled.pieces.all()} == {"sealed"}


def test_it_refuses_a_coat_before_its_time_and_asks_why(signed_in, filled):
    with time_machine.travel(EVENING, tick=False):
        signed_in.post(reverse("sheet-printed", args=[filled.code]))
        url = reverse("sheet-coat", args=[filled.code])
        answer = signed_in.post(url, {"at": "19:00"})
        assert answer.status_code == 422
        assert "not dry enough" in str(answer.context["form"].errors["reason"])
        assert 'value="19:00"' in answer.content.decode()
        signed_in.post(url, {"reason": "a trial sheet"})
    assert filled.events.get(kind="coat").reason == "a trial sheet"


@pytest.mark.usefixtures("in_the_evening")
def test_while_a_sheet_dries_a_coat_is_sprayed_all_the_same_or_not_at_all(signed_in, maker, filled):
    sheets.log_printed(sheet=filled.pk, by=maker, moment=EVENING)
    page = signed_in.get(filled.get_absolute_url()).content.decode()
    assert "<button>Coat 1 sprayed all the same</button>" in page
    assert page.split("Why before its time")[1].startswith("</label>")
    with time_machine.travel(EVENING + 24 * HOUR, tick=False):
        page = signed_in.get(filled.get_absolute_url()).content.decode()
    assert '<button class="main-action">Coat 1 sprayed</button>' in page
    assert "Why before its time" not in page


@pytest.mark.parametrize("at", ["2099-01-01 10:00", "25:99", "next week"])
def test_it_rejects_a_time_beside_its_field(signed_in, filled, at):
    answer = signed_in.post(reverse("sheet-printed", args=[filled.code]), {"at": at})
    assert answer.context["form"].errors["at"]
    assert not filled.events.exists()


def test_it_tells_the_second_of_two_makers(signed_in, filled):
    url = reverse("sheet-printed", args=[filled.code])
    signed_in.post(url, {"seen": "0"})
    answer = signed_in.post(url, {"seen": "0"})
    assert "Nothing was logged twice" in answer.content.decode()
    assert filled.events.count() == 1


@pytest.mark.parametrize(("seconds", "minute"), [(0, 35), (1, 36)])
def test_it_says_to_the_full_minute_after_until_when_it_is_left_alone(
    signed_in, maker, filled, seconds, minute
):
    """Inkjet, print to first coat: 12 h at 20 °C and 50 % RH (common practice, no source)."""
    at = EVENING.replace(hour=10, minute=35, second=seconds)
    sheets.log_printed(sheet=filled.pk, by=maker, moment=EVENING, at=at)
    zone = timezone.get_current_timezone()
    ends = (at + 12 * HOUR).astimezone(zone)
    with time_machine.travel(EVENING, tick=False):
        page = signed_in.get(filled.get_absolute_url()).content.decode()
    assert f"Leave it alone until today {ends.hour:02d}:{minute}" in page


def test_it_undoes_the_last_coat(signed_in, maker):
    sheet = sealed_sheet("clear", make_decals(1, Build.CLEAR_ALONE), maker)
    signed_in.post(reverse("sheet-undo", args=[sheet.code]), {"seen": sheet.events_logged})
    sheet.refresh_from_db()
    assert sheet.coats_done == 1


@pytest.mark.parametrize("number", [1, 12])
def test_it_shows_a_sheet_with_the_same_queries_for_any_number(
    signed_in, maker, django_assert_num_queries, number
):
    sheet = sealed_sheet("clear", make_decals(number, Build.CLEAR_ALONE), maker)
    with django_assert_num_queries(9):
        answer = signed_in.get(sheet.get_absolute_url())
    assert "Sealed" in answer.content.decode()


def test_it_lets_an_onlooker_read_but_not_log(client, onlooker, filled):
    client.force_login(onlooker)
    page = client.get(filled.get_absolute_url()).content.decode()
    assert "Printed</button>" not in page
    for name in ("sheet-printed", "sheet-coat", "sheet-undo", "sheet-fill"):
        assert client.post(reverse(name, args=[filled.code])).status_code == 403
    assert client.post(reverse("sheet-new"), sheet_data()).status_code == 403


@pytest.mark.parametrize("name", ["sheet-printed", "sheet-coat", "sheet-undo"])
def test_it_requires_a_post_to_log(signed_in, filled, name):
    assert signed_in.get(reverse(name, args=[filled.code])).status_code == 405


def test_the_second_maker_is_told_after_the_last_coat_too(signed_in, maker):
    sheet = sealed_sheet("clear", make_decals(1, Build.CLEAR_ALONE), maker)
    url = reverse("sheet-coat", args=[sheet.code])
    answer = signed_in.post(url, {"seen": str(sheet.events_logged - 1)}, follow=True)
    assert "Nothing was logged twice" in answer.content.decode()
    assert sheet.events.count() == 3


def test_a_decal_without_a_piece_leads_to_the_newest_sheet_with_itself_ticked(signed_in):
    decal, other = make_decal(), make_decal(place="Tail")
    make_sheet(Film.WHITE)
    newest = make_sheet(Film.WHITE)
    answer = signed_in.get(f"/decals/{decal.pk}/sheet/")
    assert answer["Location"] == f"/sheets/{newest.code}/fill/?decal={decal.pk}"
    page = signed_in.get(answer["Location"]).content.decode()
    assert re.search(rf'id="tick-{decal.pk}"[^>]* checked', page)
    assert not re.search(rf'id="tick-{other.pk}"[^>]* checked', page)
    assert page.index(f'id="tick-{decal.pk}"') < page.index(f'id="tick-{other.pk}"')


def test_without_an_open_sheet_it_leads_to_a_new_one_of_the_film_that_is_wanted(signed_in):
    decal = make_decal()
    answer = signed_in.get(f"/decals/{decal.pk}/sheet/?film=clear")
    assert answer["Location"] == f"/sheets/new/?film=clear&decal={decal.pk}"
    assert '<option value="clear" selected>' in signed_in.get(answer["Location"]).content.decode()
    made = signed_in.post(answer["Location"], sheet_data(film="clear"))
    sheet = Sheet.objects.get()
    assert made["Location"] == f"/sheets/{sheet.code}/fill/?decal={decal.pk}"


@pytest.mark.parametrize("query", ["film=blue", "film=", "decal=x", "film=%00"])
def test_nonsense_about_the_film_is_passed_over(signed_in, query):
    decal = make_decal()
    sheet = make_sheet(Film.WHITE)
    answer = signed_in.get(f"/decals/{decal.pk}/sheet/?{query}")
    assert answer["Location"] == f"/sheets/{sheet.code}/fill/?decal={decal.pk}"
    assert signed_in.get(f"/sheets/{sheet.code}/fill/?{query}").status_code == 200


def test_an_onlooker_puts_nothing_on_a_sheet(client, onlooker):
    client.force_login(onlooker)
    decal = make_decal()
    assert client.get(f"/decals/{decal.pk}/sheet/").status_code == 403
    assert f"/decals/{decal.pk}/sheet/" not in client.get(decal.get_absolute_url()).content.decode()


def test_a_sheet_leads_to_the_film_with_the_other_layer_of_its_decals(signed_in, maker):
    decals = make_decals(2)
    white = sealed_sheet("white", decals, maker)
    clear = sealed_sheet("clear", decals, maker)
    alone = sealed_sheet("white", make_decals(1, Build.WHITE_ALONE, place="Roof"), maker)
    there = signed_in.get(white.get_absolute_url()).content.decode()
    assert f'The clear layer of its decals: <a href="{clear.get_absolute_url()}">' in there
    back = signed_in.get(clear.get_absolute_url()).content.decode()
    assert f'The base layer of its decals: <a href="{white.get_absolute_url()}">' in back
    assert "layer of its decals" not in signed_in.get(alone.get_absolute_url()).content.decode()


def test_a_sheet_of_clear_alone_has_the_caution_of_old_paint(signed_in, maker):
    sealed_decal(maker, Build.CLEAR_ALONE)
    page = signed_in.get(Sheet.objects.get().get_absolute_url()).content.decode()
    assert "Clear applied" in page and "Old paint may hold lead" in page
    assert "No fluid beneath" not in page
