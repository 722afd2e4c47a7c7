"""The plan page, pins, and what they say of bad input."""

from datetime import date, time, timedelta

import pytest
import time_machine
from django.urls import reverse

from decaljobs.craft.stages import Build, Stage
from decaljobs.models import BenchPlan, PlanPin
from decaljobs.services.bench import steps
from decaljobs.services.plan import benchhours, plans
from tests.factories import EVENING, make_decal, make_project, sealed_decal

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("in_the_evening")]


@pytest.fixture
def at_once(settings, monkeypatch):
    """Plans are made while the request lasts."""
    settings.WORK_BEHIND = "page"
    monkeypatch.setattr(plans, "MOST_SECONDS", 0.05)


def made():
    plans.make_now(moment=EVENING, iterations=20)


def page(client, **options):
    answer = client.get(reverse("plan"), **options)
    return " ".join(answer.content.decode().split())


def test_without_a_plan_it_asks_for_one_by_itself(signed_in):
    html = page(signed_in)
    assert "No plan is made yet." in html
    assert 'hx-post="/plan/make/" hx-trigger="load"' in html


@pytest.mark.usefixtures("at_once")
def test_it_makes_the_plan_behind_the_page(signed_in, maker):
    sealed_decal(maker)
    answer = signed_in.post(reverse("plan-make"))
    assert answer["Location"] == "/plan/"
    assert BenchPlan.objects.get().state == "made"
    html = page(signed_in)
    assert "Made today 19:00. Nothing has changed since." in html
    assert "hx-trigger" not in html.split('id="plan"')[1]


def test_it_says_that_one_is_being_made_and_looks_again(signed_in):
    plans.begin(moment=EVENING)
    html = page(signed_in)
    assert "It is being made anew" in html
    assert 'hx-get="/plan/" hx-trigger="load delay:1s"' in html


def test_it_shows_the_next_session_line_by_line_and_each_projects_end(signed_in, maker):
    due = EVENING.date() + timedelta(days=1)
    decal = sealed_decal(maker, project=make_project(name="Launch", due=due))
    sealed_decal(maker, project=make_project(name="Wagon"))
    made()
    html = page(signed_in)
    assert "Tonight 19:00–22:00" in html
    assert f"Base layer: {decal.place}" in html
    assert "1 day late" in html
    assert "no day set" in html
    assert "If tonight 19:00 is missed" in html
    assert "Launch ends" in html
    for look in ("plan-bench", "plan-drying", "plan-due", "plan-end"):
        assert f'class="{look}"' in html


def test_a_due_date_is_the_same_day_for_a_reader_far_off(signed_in, maker):
    maker.zone = "Pacific/Auckland"
    maker.save()
    sealed_decal(maker, project=make_project(due=date(2026, 11, 20)))
    made()
    html = page(signed_in)
    assert "Fri 20 Nov 2026" in html
    assert "tomorrow 08:00–11:00" in html.lower()  # 19:00 in London


def test_it_says_why_a_task_is_not_sooner(signed_in, maker):
    decal = sealed_decal(maker)
    steps.log_step(decals=[decal.pk], step=Stage.BASE_APPLIED, by=maker, moment=EVENING)
    made()
    ready = f"{decal.refresh_from_db() or decal.ready_at:%H:%M}"
    with time_machine.travel(EVENING + timedelta(hours=12, minutes=30)):
        benchhours.add_day(person=maker, day=date(2026, 11, 3), starts=time(6), ends=time(12))
        plans.make_now(moment=EVENING, iterations=5)
    html = page(signed_in)
    assert f"the base layer dries until tomorrow {ready}" in html


def test_it_says_what_changed_since_it_was_made(signed_in, maker):
    sealed_decal(maker)
    made()
    benchhours.keep_week(person=maker, week=[])
    html = page(signed_in)
    assert "Since then: bench hours were changed." in html
    assert 'hx-post="/plan/make/"' in html


def test_no_bench_hours_lead_to_where_they_are_set(signed_in, maker):
    sealed_decal(maker)
    benchhours.keep_week(person=maker, week=[])
    made()
    html = page(signed_in)
    assert "There are no bench hours to plan for." in html
    assert "Set your bench hours" in html


def test_a_date_that_is_past_is_said(signed_in, maker):
    sealed_decal(maker, project=make_project(name="Late", due=date(2026, 10, 30)))
    made()
    said = "‘Late’ was due Fri 30 Oct, which is past; it is planned as late."
    assert said in page(signed_in)


def test_an_onlooker_reads_it_and_starts_nothing(client, onlooker, maker):
    sealed_decal(maker)
    made()
    make_decal(Build.CLEAR_ALONE)
    client.force_login(onlooker)
    html = page(client)
    assert "Since then" in html
    for button in ("Plan anew", "hx-post", ">Pin<", "Start the session"):
        assert button not in html
    assert client.post(reverse("plan-make")).status_code == 403


def test_the_number_of_queries_is_the_same_for_any_number(
    signed_in, maker, django_assert_num_queries
):
    sealed_decal(maker)
    made()

    def queries():
        with django_assert_num_queries(18) as seen:
            page(signed_in)
        return len(seen)

    few = queries()
    for number in range(6):
        sealed_decal(maker, project=make_project(name=f"Model {number}"))
    made()
    assert queries() == few


@pytest.mark.usefixtures("at_once")
def test_it_pins_a_task_to_the_session_chosen(signed_in, maker):
    decal = sealed_decal(maker)
    made()
    address = f"{reverse('plan-pin')}?task=base:{decal.pk}"
    html = signed_in.get(address).content.decode()
    assert "tomorrow 19:00–22:00</option>" in html
    answer = signed_in.post(address, {"session": f"{maker.pk}/20261104T1900Z"})
    assert answer.status_code == 302
    (pin,) = PlanPin.objects.all()
    assert (pin.work, pin.starts_at) == (f"base:{decal.pk}", EVENING + timedelta(days=2))
    placed = {
        task["id"]: session["start"]
        for session in plans.newest_found()["sessions"]
        for task in session["tasks"]
    }
    assert placed[f"base:{decal.pk}"] == pin.starts_at.isoformat()
    assert "pinned" in page(signed_in)
    signed_in.post(address, {"let_go": "yes"})
    assert not PlanPin.objects.exists()


def test_a_session_that_is_none_is_refused_beside_the_field(signed_in, maker):
    decal = sealed_decal(maker)
    made()
    address = f"{reverse('plan-pin')}?task=base:{decal.pk}"
    for session in ("", "1/20261104T1930Z", "x", "\x00"):
        answer = signed_in.post(address, {"session": session})
        assert answer.status_code == 422
        assert answer.context["form"].errors["session"]
    assert not PlanPin.objects.exists()


@pytest.mark.parametrize("task", ["", "base:4242", "base:1\x00", "x" * 500])
def test_a_task_that_is_not_in_the_plan_is_no_page(signed_in, task):
    made()
    assert signed_in.get(reverse("plan-pin"), {"task": task}).status_code == 404


def tonight(client, **options):
    return client.get(reverse("plan-tonight"), **options).content.decode()


def test_it_tells_of_the_session_that_is_planned_for_tonight(signed_in, maker):
    decal = sealed_decal(maker)
    made()
    html = tonight(signed_in, headers={"hx-request": "true"})
    assert f"1 task planned, first ‘Base layer: {decal.place}’." in html
    assert f"/plan/sessions/{maker.pk}/20261102T1900Z/" in html
    assert "<!doctype" not in html
    assert "Start the session" in tonight(signed_in)


def test_it_speaks_of_ones_own_session_and_only_when_it_is_near(client, maker, owner):
    sealed_decal(maker)
    plans.make_now(moment=EVENING - timedelta(hours=13), iterations=5)

    def told():
        pages = []
        for person in (maker, owner):
            client.force_login(person)
            pages.append(tonight(client))
        return sum("planned, first" in page for page in pages)

    assert told() == 1
    with time_machine.travel(EVENING - timedelta(hours=13), tick=False):
        assert told() == 0
