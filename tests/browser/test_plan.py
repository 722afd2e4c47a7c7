"""The plan by clicking: bench hours changed, the plan seen to move, a session walked through."""

import time

import pytest

from decaljobs.craft.stages import Build
from decaljobs.models import BenchPlan, Decal
from decaljobs.services.plan import plans
from tests.browser.visitor import DESK, PHONE
from tests.factories import make_project, sealed_decal

LONGEST_PLANNING = 20  # s


@pytest.fixture(autouse=True)
def _plans_at_once(settings, monkeypatch):
    """The plan is made while the page waits: a thread would outlast the test's records."""
    settings.WORK_BEHIND = "page"
    monkeypatch.setattr(plans, "MOST_SECONDS", 0.05)


def launch_and_wagon(maker):
    for name in ("Launch", "Wagon"):
        sealed_decal(maker, Build.WHITE_ALONE, place=f"{name} bow", project=make_project(name=name))


def heading(visitor):
    return visitor.page.locator("#next").inner_text()


def open_plan(visitor):
    visitor.page.get_by_role("navigation", name="Main").get_by_role("link", name="Plan").click()
    if not BenchPlan.objects.made().exists():
        visitor.press("Plan anew")


def move_to_sunday(visitor):
    visitor.follow("Bench hours")
    for day in ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday"):
        visitor.write(day, "")
    visitor.write("Sunday", "10-12")
    visitor.press("Keep the week")
    visitor.reads("Your bench hours are kept.")
    visitor.go("/plan/")


@pytest.mark.parametrize(
    "options",
    [DESK, {**DESK, "java_script_enabled": False}, PHONE],
    ids=["desk", "without-javascript", "phone"],
)
def test_the_plan_moves_with_the_hours_and_is_walked_through(visit, mara, options):
    launch_and_wagon(mara)
    maker = visit(mara, **options)
    maker.go("/")
    open_plan(maker)
    assert heading(maker) == "Tonight 19:00–22:00"
    maker.follow("Start the session")
    walk_through(maker)
    assert Decal.objects.filter(stage="base_applied").count() == 1


def walk_through(maker):
    first = maker.page.locator("h2").first.inner_text()
    assert first.startswith("Base layer: ")
    maker.press("Base applied")
    assert maker.page.locator("h2").first.inner_text() != first
    maker.press("Skip it")
    maker.reads("That was all")
    maker.press(f"Undo {first}")
    assert Decal.objects.filter(stage="sealed").count() == 2
    maker.press("Base applied")
    maker.reads("2 of 2 tasks behind you.")


def test_other_hours_move_the_sessions(visit, mara):
    launch_and_wagon(mara)
    maker = visit(mara, **DESK)
    maker.go("/")
    open_plan(maker)
    assert heading(maker) == "Tonight 19:00–22:00"
    move_to_sunday(maker)
    assert heading(maker) == "Sun 10:00–12:00"
    assert "bench hours were changed" not in maker.text


def test_a_plan_out_of_date_makes_itself_anew(visit, mara):
    """With JavaScript the page asks for the new plan as soon as it is opened."""
    maker = visit(mara, **DESK)
    launch_and_wagon(mara)
    maker.go("/plan/")
    until = time.monotonic() + LONGEST_PLANNING
    while time.monotonic() < until and not maker.page.locator("#next").count():
        maker.page.wait_for_timeout(100)
    assert heading(maker) == "Tonight 19:00–22:00"
    maker.reads("Nothing has changed since.")


def test_a_task_is_pinned_by_clicking(visit, mara):
    launch_and_wagon(mara)
    maker = visit(mara, **DESK)
    maker.go("/plan/")
    open_plan(maker)
    maker.follow("Pin Base layer: Launch bow")
    maker.page.get_by_label("Session").select_option(label="Fri 19:00–22:00")
    maker.press("Pin it there")
    maker.reads("Base layer: Launch bow is pinned.")
    friday = maker.page.locator("details", has_text="Fri 19:00–22:00")
    friday.locator("summary").click()
    assert "Base layer: Launch bow pinned" in " ".join(friday.inner_text().split())


def test_the_bench_leads_to_the_session_that_is_planned(visit, mara):
    launch_and_wagon(mara)
    maker = visit(mara, **DESK)
    maker.go("/plan/")
    open_plan(maker)
    maker.go("/")
    maker.follow("Start the session")
    assert maker.page.get_by_role("heading", level=1).inner_text() == "Tonight 19:00–22:00"
