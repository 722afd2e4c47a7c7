"""Walking through a session, button by button."""

from datetime import timedelta

import pytest
import time_machine
from django.urls import reverse

from decaljobs.craft.stages import Build, Film
from decaljobs.models import BenchPlan, Decal
from decaljobs.services.film import offcuts, sheets
from decaljobs.services.plan import plans
from tests.factories import EVENING, make_decal, make_sheet, sealed_decal

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def travel():
    with time_machine.travel(EVENING, tick=False) as travel:
        yield travel


def address(maker, what="plan-session", stamp="20261102T1900Z"):
    return reverse(what, args=[maker.pk, stamp])


def begun(maker, count=2):
    decals = [sealed_decal(maker, Build.WHITE_ALONE) for _ in range(count)]
    plans.make_now(moment=EVENING, iterations=20)
    return decals


def current(client, maker):
    answer = client.get(address(maker))
    assert answer.status_code == 200
    return answer.context.get("task")


def post(client, maker, what, task, **data):
    decals = {"decal": task["decals"]} if what == "plan-session-log" else {}
    return client.post(address(maker, what), {"task": task["id"], **decals, **data})


def test_it_goes_from_task_to_task_and_logs_each(signed_in, maker):
    decals = begun(maker)
    for number in range(len(decals)):
        task = current(signed_in, maker)
        answer = post(signed_in, maker, "plan-session-log", task)
        assert answer["Location"] == address(maker)
        assert Decal.objects.filter(stage="base_applied").count() == number + 1
    assert current(signed_in, maker) is None
    assert "That was all" in signed_in.get(address(maker)).content.decode()


def test_it_shows_the_caution_and_one_large_button(signed_in, maker):
    begun(maker)
    html = signed_in.get(address(maker)).content.decode()
    assert "The blade is sharp" in html
    assert html.count('class="main-action wide">Base applied</button>') == 1


@pytest.mark.parametrize("build", [Build.CLEAR_ALONE, Build.WHITE_ALONE])
def test_a_layer_laid_on_the_bare_paint_has_the_caution_of_old_paint(signed_in, maker, build):
    sealed_decal(maker, build)
    plans.make_now(moment=EVENING, iterations=20)
    html = signed_in.get(address(maker)).content.decode()
    assert "Old paint may hold lead" in html and "setting fluid on it" in html
    assert "No fluid beneath" not in html


def test_each_step_makes_the_plan_anew(signed_in, maker):
    begun(maker)
    before = BenchPlan.objects.count()
    post(signed_in, maker, "plan-session-log", current(signed_in, maker))
    assert BenchPlan.objects.count() == before + 1


def test_it_keeps_to_its_tasks_though_the_plan_is_made_anew(signed_in, maker):
    begun(maker, 3)
    first = current(signed_in, maker)
    post(signed_in, maker, "plan-session-skip", first)
    second = current(signed_in, maker)
    BenchPlan.objects.all().delete()
    assert current(signed_in, maker) == second
    signed_in.post(address(maker, "plan-session-restart"))
    assert signed_in.get(address(maker)).status_code == 404


def test_a_task_is_skipped_and_done_after_all(signed_in, maker):
    begun(maker)
    first = current(signed_in, maker)
    post(signed_in, maker, "plan-session-skip", first)
    assert current(signed_in, maker) != first
    assert not Decal.objects.filter(stage="base_applied").exists()
    post(signed_in, maker, "plan-session-undo", first)
    assert current(signed_in, maker) == first


def test_what_was_logged_is_undone(signed_in, maker):
    begun(maker)
    first = current(signed_in, maker)
    post(signed_in, maker, "plan-session-log", first)
    post(signed_in, maker, "plan-session-undo", first)
    assert not Decal.objects.filter(stage="base_applied").exists()
    assert current(signed_in, maker) == first


def test_a_task_is_logged_once_however_often_it_is_pressed(signed_in, maker):
    begun(maker)
    first = current(signed_in, maker)
    post(signed_in, maker, "plan-session-log", first)
    answer = post(signed_in, maker, "plan-session-log", first)
    assert answer.status_code == 302
    assert Decal.objects.filter(stage="base_applied").count() == 1
    html = signed_in.get(address(maker)).content.decode()
    assert "moved on since this page was drawn" in html


def test_a_form_sent_again_is_answered_as_it_was(signed_in, maker):
    begun(maker)
    first = current(signed_in, maker)
    for _ in range(2):
        answer = post(signed_in, maker, "plan-session-log", first, key="key-of-this-one-form")
        assert answer["Location"] == address(maker)
    assert Decal.objects.filter(stage="base_applied").count() == 1
    html = signed_in.get(address(maker)).content.decode()
    assert "moved on since this page was drawn" not in html
    assert html.count('name="key"') == 2


def test_a_refusal_is_shown_kindly_and_can_be_overruled_with_a_reason(signed_in, maker, travel):
    decal = make_decal(Build.WHITE_ALONE)
    sheet = make_sheet(Film.WHITE, coats_wanted=1, printer="laser", sealer="solvent")
    sheets.put_on_sheet(sheet=sheet.pk, decals=[decal.pk], copies=1)
    sheets.log_printed(sheet=sheet.pk, by=maker, moment=EVENING)
    plans.make_now(moment=EVENING, iterations=20)
    task = current(signed_in, maker)
    assert task["doing"] == "coat"
    answer = post(signed_in, maker, "plan-session-log", task)
    assert answer.status_code == 422
    html = answer.content.decode()
    assert "Leave it alone, or say why it is done all the same." in html
    assert "Coat sprayed all the same" in html
    assert 'aria-invalid="true"' in html
    assert "(optional)" not in html
    travel.shift(timedelta(minutes=1))
    answer = post(signed_in, maker, "plan-session-log", task, reason="dried under the lamp")
    assert answer.status_code == 302
    sheet.refresh_from_db()
    assert sheet.is_sealed


def test_nothing_ticked_is_said_and_what_was_ticked_is_kept(signed_in, maker):
    begun(maker)
    task = current(signed_in, maker)
    answer = signed_in.post(address(maker, "plan-session-log"), {"task": task["id"]})
    assert answer.status_code == 422
    html = answer.content.decode()
    assert "Tick at least one decal, or skip the task." in html
    assert f'value="{task["decals"][0]}" checked' not in html


def test_a_sheet_that_is_still_to_be_filled_leads_there(signed_in, maker):
    make_decal(Build.WHITE_ALONE)
    plans.make_now(moment=EVENING, iterations=20)
    html = signed_in.get(address(maker)).content.decode()
    assert f'href="{reverse("sheet-next")}">Lay out the next sheet</a>' in html


def test_the_next_sheet_is_printed_in_the_session_once_it_is_laid_out(signed_in, maker, travel):
    decal = make_decal(Build.WHITE_ALONE)
    plans.make_now(moment=EVENING, iterations=20)
    assert current(signed_in, maker)["words"] == "print the next white sheet"
    travel.shift(timedelta(minutes=5))
    make_sheet(Film.WHITE, moment=EVENING - timedelta(days=1))
    sheet = make_sheet(Film.WHITE, moment=EVENING + timedelta(minutes=5))
    assert "Lay out the next sheet</a>" in signed_in.get(address(maker)).content.decode()
    sheets.put_on_sheet(sheet=sheet.pk, decals=[decal.pk], copies=1)
    task = current(signed_in, maker)
    assert task["words"] == f"print sheet {sheet.code}"
    html = signed_in.get(address(maker)).content.decode()
    assert '<button class="main-action wide">Printed</button>' in html
    post(signed_in, maker, "plan-session-log", task)
    sheet.refresh_from_db()
    assert sheet.is_printed
    assert "That was all" in signed_in.get(address(maker)).content.decode()
    post(signed_in, maker, "plan-session-undo", task)
    sheet.refresh_from_db()
    assert not sheet.is_printed
    assert current(signed_in, maker)["id"] == task["id"]


def test_a_next_sheet_laid_out_on_an_offcut_is_printed_in_the_session(signed_in, maker, travel):
    whole = make_sheet(Film.WHITE, moment=EVENING - timedelta(days=1))
    cut = {"side": offcuts.Side.FOOT, "at_mm": 150, "by": maker, "moment": EVENING}
    offcut = offcuts.cut_off(sheet=whole.pk, **cut)
    decal = make_decal(Build.WHITE_ALONE)
    plans.make_now(moment=EVENING + timedelta(minutes=1), iterations=20)
    assert current(signed_in, maker)["words"] == "print the next white sheet"
    travel.shift(timedelta(minutes=5))
    sheets.put_on_sheet(sheet=offcut.pk, decals=[decal.pk], copies=1)
    assert current(signed_in, maker)["words"] == f"print sheet {offcut.code}"
    html = signed_in.get(address(maker)).content.decode()
    assert "Have ready: white film." in html
    assert '<button class="main-action wide">Printed</button>' in html


@pytest.mark.parametrize("stamp", ["20261102T1901Z", "20991102T1900Z"])
def test_a_session_that_is_none_is_no_page(signed_in, maker, stamp):
    begun(maker)
    for what in ("plan-session", "plan-session-sheet"):
        assert signed_in.get(address(maker, what, stamp)).status_code == 404


def test_an_onlooker_logs_nothing(client, onlooker, maker):
    begun(maker)
    client.force_login(onlooker)
    html = client.get(address(maker)).content.decode()
    assert "main-action wide" not in html
    for what in ("log", "skip", "undo", "restart"):
        answer = client.post(address(maker, f"plan-session-{what}"), {"task": "x"})
        assert answer.status_code == 403


def test_its_sheet_is_a_pdf(signed_in, maker):
    begun(maker)
    answer = signed_in.get(address(maker, "plan-session-sheet") + "?paper_size=Letter")
    assert answer["Content-Type"] == "application/pdf"
    assert answer.content.startswith(b"%PDF")
