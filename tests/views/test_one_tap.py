"""One tap for many: a whole project, place or sheet; what was logged is told and undone."""

import re
from datetime import timedelta

import pytest
import time_machine

from decaljobs.craft.stages import Build, Film, Stage
from decaljobs.models import Decal, StageEvent
from decaljobs.services.bench import spoiling, steps, undoing
from decaljobs.services.film import sheets
from decaljobs.services.refused import Overtaken
from tests.factories import (
    EVENING,
    make_decals,
    make_project,
    make_sheet,
    sealed_decal,
    sealed_sheet,
)

pytestmark = pytest.mark.usefixtures("in_the_evening")


@pytest.fixture
def tram(db):
    return make_project(name="Tram 14", code="T-14")


@pytest.fixture
def sealed(maker, tram):
    """Four wheels and two doors of one project, on one sheet, sealed and dry."""
    decals = make_decals(4, Build.WHITE_ALONE, place="Wheel", project=tram)
    decals += make_decals(2, Build.WHITE_ALONE, place="Door", project=tram)
    sealed_sheet(Film.WHITE, decals, maker)
    return [Decal.objects.get(pk=decal.pk) for decal in decals]


def bases():
    return StageEvent.objects.filter(to_stage=Stage.BASE_APPLIED, undoes=None, undone_by=None)


def pressed(client, page: str, button: str, action: str = "/bench/log/"):
    """Press the button with these words in the form that posts there, as a browser would."""
    form = next(part for part in page.split("<form")[1:] if f'action="{action}"' in part)
    form = form.split("</form>")[0]
    sent: dict[str, list[str]] = {}
    for field in re.findall(r'<input type="hidden"([^>]*)>', form):
        name, value = re.search(r'name="([^"]*)" value="([^"]*)"', field).groups()
        sent.setdefault(name, []).append(value)
    for attributes, words in re.findall(r"<button([^>]*)>(.*?)</button>", form, re.S):
        if re.sub(r'<span class="unseen".*?</span>|<[^>]*>', "", words) == button:
            if named := re.search(r'name="([^"]*)" value="([^"]*)"', attributes):
                sent[named[1]] = [named[2]]
            return client.post(action, sent, follow=True)
    raise AssertionError(f"no button {button!r} in {form}")


def page_of(client, address: str) -> str:
    answer = client.get(address)
    assert answer.status_code == 200
    return answer.content.decode()


def test_the_bench_logs_all_of_a_project_by_one_button(signed_in, sealed):
    answer = pressed(signed_in, page_of(signed_in, "/"), "Base applied: all 6 of Tram 14")
    assert answer.redirect_chain == [("/", 302)]
    assert "<h2>Base applied: 6 decals</h2>" in answer.content.decode()
    assert bases().count() == 6


def test_a_project_of_one_ready_decal_has_no_button_for_all(signed_in, maker):
    (decal,) = make_decals(1, Build.WHITE_ALONE)
    sealed_sheet(Film.WHITE, [decal], maker)
    assert ": all " not in page_of(signed_in, "/")


def test_a_project_s_page_logs_its_next_step_and_comes_back(signed_in, sealed):
    page = page_of(signed_in, "/projects/T-14/")
    panel = page.split("next-here")[1].split("</form>")[0]
    assert panel.index("The blade is sharp") < panel.index("main-action")
    answer = pressed(signed_in, page, "Base applied: all 6")
    assert answer.redirect_chain == [("/projects/T-14/", 302)]
    assert "<h2>Base applied: 6 decals</h2>" in answer.content.decode()
    assert "Next: base layer" not in answer.content.decode()
    assert bases().count() == 6


def test_it_says_on_which_decals_the_surface_is_cleaned_first(signed_in, maker, sealed):
    numbers = [decal.pk for decal in sealed]
    for spoiled, said in (
        (numbers[:1], "First, on <bdi>Wheel 1 of 4</bdi>: Take the spoiled film off"),
        (numbers[1:], "First: Take the spoiled film off"),
    ):
        steps.log_step(decals=spoiled, step=Stage.BASE_APPLIED, by=maker, moment=EVENING)
        for decal in spoiled:
            spoiling.spoil_layer(decal=decal, layer="base", by=maker, moment=EVENING, reason="torn")
        assert said in page_of(signed_in, "/projects/T-14/")


def test_a_place_is_logged_by_itself(signed_in, sealed):
    pressed(signed_in, page_of(signed_in, "/projects/T-14/"), "Wheel: all 4")
    assert {event.decal.place for event in bases()} == {"Wheel"}
    assert bases().count() == 4


def test_a_sheet_s_page_logs_everything_that_lies_on_it(signed_in, sealed):
    sheet = sealed[0].pieces.first().sheet.code
    answer = pressed(signed_in, page_of(signed_in, f"/sheets/{sheet}/"), "Base applied: all 6")
    assert answer.redirect_chain == [(f"/sheets/{sheet}/", 302)]
    assert "<h2>Base applied: 6 decals</h2>" in answer.content.decode()
    assert bases().count() == 6


def test_a_sheet_offers_nothing_of_another_film(signed_in, maker):
    decals = make_decals(2)
    white = sealed_sheet(Film.WHITE, decals, maker)
    clear = sealed_sheet(Film.CLEAR, decals, maker)
    assert "Base applied: all 2" in page_of(signed_in, f"/sheets/{white.code}/")
    assert "next-here" not in page_of(signed_in, f"/sheets/{clear.code}/")


def test_a_code_typed_in_the_search_leads_to_the_next_step(signed_in, sealed):
    answer = signed_in.get("/search/?q=t-14", follow=True)
    assert answer.redirect_chain == [("/projects/T-14/", 302)]
    assert "Base applied: all 6" in answer.content.decode()


def test_a_project_leads_to_the_sheets_that_can_be_worked_on(signed_in, maker, tram):
    decals = make_decals(2, Build.WHITE_ALONE, project=tram)
    sheet = make_sheet(Film.WHITE)
    sheets.put_on_sheet(sheet=sheet.pk, decals=[d.pk for d in decals], copies=1)
    assert f"Sheet {sheet.code}: print it" in page_of(signed_in, "/projects/T-14/")
    sheets.log_printed(sheet=sheet.pk, by=maker, moment=EVENING)
    assert "On its sheets" not in page_of(signed_in, "/projects/T-14/")
    with time_machine.travel(EVENING + timedelta(hours=13), tick=False):
        assert f"Sheet {sheet.code}: coat 1 of 2" in page_of(signed_in, "/projects/T-14/")


def test_an_onlooker_is_offered_nothing_to_log(client, onlooker, sealed):
    client.force_login(onlooker)
    assert "next-here" not in page_of(client, "/projects/T-14/")
    assert "at-once" not in page_of(client, "/")


def test_what_was_logged_at_one_go_is_undone_at_one_go(signed_in, sealed):
    logged = pressed(signed_in, page_of(signed_in, "/projects/T-14/"), "Base applied: all 6")
    page = logged.content.decode()
    answer = pressed(signed_in, page, "Undo all 6", "/bench/undo/")
    assert answer.redirect_chain == [("/projects/T-14/", 302)]
    assert "‘Base applied’ is undone on 6 decals." in answer.content.decode()
    assert not bases().exists()
    assert 'class="logged"' not in answer.content.decode()


def test_undoing_is_offered_for_as_long_as_it_is_the_last_step(signed_in, maker, sealed):
    pressed(signed_in, page_of(signed_in, "/projects/T-14/"), "Wheel: all 4")
    first, *others = bases()
    undoing.undo_last(decal=first.decal_id, by=maker, moment=EVENING)
    assert "Undo all 3" in page_of(signed_in, "/")
    with time_machine.travel(EVENING + timedelta(minutes=30), tick=False):
        assert "Undo all 3" in page_of(signed_in, "/projects/T-14/")
    for event in others:
        undoing.undo_last(decal=event.decal_id, by=maker, moment=EVENING)
    assert 'class="logged"' not in page_of(signed_in, "/")


def test_what_was_logged_here_is_not_told_on_another_page(signed_in, sealed):
    make_project(code="X-1")
    pressed(signed_in, page_of(signed_in, "/projects/T-14/"), "Wheel: all 4")
    assert 'class="logged"' in page_of(signed_in, f"/decals/{sealed[0].pk}/")
    assert 'class="logged"' not in page_of(signed_in, f"/decals/{sealed[5].pk}/")
    assert 'class="logged"' not in page_of(signed_in, "/projects/X-1/")


def test_a_sheet_s_coat_is_told_with_its_undoing(signed_in, maker, tram):
    decals = make_decals(2, Build.WHITE_ALONE, project=tram)
    sheet = make_sheet(Film.WHITE)
    sheets.put_on_sheet(sheet=sheet.pk, decals=[d.pk for d in decals], copies=1)
    page = page_of(signed_in, f"/sheets/{sheet.code}/")
    logged = pressed(signed_in, page, "Printed", f"/sheets/{sheet.code}/printed/")
    told = logged.content.decode().split('class="logged"')[1].split("</section>")[0]
    assert f"<h2>Sheet {sheet.code}: printed logged.</h2>" in told
    assert f'action="/sheets/{sheet.code}/undo/"' in told
    assert 'class="logged"' in page_of(signed_in, "/")
    assert 'class="logged"' not in page_of(signed_in, "/projects/T-14/")


def test_a_coat_logged_on_the_bench_stays_on_the_bench(signed_in, maker, tram):
    decals = make_decals(2, Build.WHITE_ALONE, project=tram)
    sheet = make_sheet(Film.WHITE)
    sheets.put_on_sheet(sheet=sheet.pk, decals=[d.pk for d in decals], copies=1)
    at = EVENING - timedelta(hours=40)
    sheets.log_printed(sheet=sheet.pk, by=maker, moment=EVENING, at=at)
    coat = f"/sheets/{sheet.code}/coat/?next="
    answer = signed_in.post(f"{coat}/", {"seen": 1}, follow=True)
    assert answer.redirect_chain == [("/", 302)]
    assert f"<h2>Sheet {sheet.code}: sealing coat 1 logged.</h2>" in answer.content.decode()
    undone = signed_in.post(f"/sheets/{sheet.code}/undo/", {"seen": 2, "next": "/"})
    assert undone["Location"] == "/"
    elsewhere = signed_in.post(f"{coat}https://evil.example/", {"seen": 3})
    assert elsewhere["Location"] == f"/sheets/{sheet.code}/"


def test_when_one_has_moved_on_none_is_undone(maker, sealed):
    numbers = [decal.pk for decal in sealed]
    events = steps.log_step(decals=numbers, step=Stage.BASE_APPLIED, by=maker, moment=EVENING)
    seen = {event.decal_id: event.number for event in events}
    undoing.undo_last(decal=numbers[3], by=maker, moment=EVENING)
    with pytest.raises(Overtaken):
        undoing.undo_together(decals=numbers, by=maker, moment=EVENING, seen=seen)
    assert bases().count() == 5


def test_when_one_is_too_early_none_is_logged_and_it_is_said(signed_in, maker, sealed):
    page = page_of(signed_in, "/projects/T-14/")
    steps.log_step(decals=[sealed[0].pk], step=Stage.BASE_APPLIED, by=maker, moment=EVENING)
    answer = pressed(signed_in, page, "Base applied: all 6")
    assert answer.redirect_chain == [("/projects/T-14/", 302)]
    assert "Nothing was logged twice" in answer.content.decode()
    assert bases().count() == 1


@pytest.mark.parametrize("data", [{}, {"decal": "x"}, {"decal": "999999"}, {"decal": "9" * 30}])
def test_it_rejects_an_undo_of_nothing_or_nonsense(signed_in, sealed, data):
    lines = StageEvent.objects.count()
    assert signed_in.post("/bench/undo/", data).status_code == 302
    assert StageEvent.objects.count() == lines


def test_it_rejects_more_at_once_than_a_page_holds(signed_in, sealed):
    many = ",".join(["1"] * 201)
    assert signed_in.post("/bench/log/", {"one": f"{many}:base_applied"}).status_code == 422
    assert not bases().exists()


def test_it_says_where_the_rest_is_of_what_was_logged_on_two_projects(signed_in, maker, sealed):
    other = sealed_decal(
        maker, Build.WHITE_ALONE, place="Tender", project=make_project(name="Tug", code="T-15")
    )
    steps_on = [*sealed[:2], other]
    data = {"decal": [d.pk for d in steps_on], "step": "base_applied"}
    data |= {f"seen-{d.pk}": d.events_logged for d in steps_on}
    page = signed_in.post("/bench/log/", data, follow=True).content.decode()
    assert "Undo all 3" in page
    assert "of another project" not in page
    page = page_of(signed_in, "/projects/T-14/")
    assert "Undo all 2" in page
    assert "1 more is of another project or sheet" in page
    undoing.undo_last(decal=sealed[0].pk, by=maker, moment=EVENING)
    page = page_of(signed_in, "/")
    assert "Undo all 2" in page
    assert "1 more has moved on since" in page
