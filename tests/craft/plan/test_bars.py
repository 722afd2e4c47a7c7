"""Bars and chart of a plan, for a case small enough to be worked out by hand."""

import re
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

from defusedxml import ElementTree

from decaljobs.craft.benchplan import make_plan
from decaljobs.craft.plan.bars import bars_of
from decaljobs.craft.plan.chart import DAYS_WIDTH, LEFT, PlanRow, plan_chart_svg
from decaljobs.craft.plan.tasks import FixedWait, PlanInput, Session, Task, Wait

NOW = datetime(2026, 11, 2, 18, tzinfo=UTC)
HOUR = timedelta(hours=1)
LONDON = ZoneInfo("Europe/London")


def at(hours):
    return NOW + hours * HOUR


def planned():
    sessions = (Session("mara", at(1), at(4)), Session("mara", at(25), at(28)))
    tasks = (
        Task("base", "P", "base", 30),
        Task(
            "clear",
            "P",
            "clear",
            30,
            waits=(Wait("base", FixedWait(12 * HOUR)),),
            dries=Wait("clear", FixedWait(10 * HOUR)),
        ),
    )
    given = PlanInput(NOW, tasks, (), sessions)
    return make_plan(given, iterations=5), given


def test_bench_and_drying_stand_where_the_plan_has_them():
    (bar,) = bars_of(*planned())
    assert bar.bench == ((at(1), at(1.5)), (at(25), at(25.5)))
    assert bar.drying == ((at(1.5), at(13.5)), (at(25.5), at(35.5)))


def test_what_already_dries_begins_with_the_plan():
    task = Task("clear", "P", "clear", 30, waits=(Wait(None, lambda start: at(3)),))
    given = PlanInput(NOW, (task,), (), (Session("mara", at(1), at(4)),))
    (bar,) = bars_of(make_plan(given, iterations=5), given)
    assert bar.drying == ((NOW, at(3)),)


def shapes(svg, look):
    return ElementTree.fromstring(svg).findall(f".//*[@class='{look}']")


def percent(share):
    """The figure of a share of the width: 12.5 of '12.5%'."""
    assert share.endswith("%")
    return float(share[:-1])


def test_the_chart_shows_bench_drying_end_and_due_by_shape():
    row = PlanRow("Launch", [(at(1), at(1.5))], [(at(1.5), at(13.5))], at(20), at(60))
    svg = plan_chart_svg([row], NOW, UTC)
    for look in ("plan-bench", "plan-drying", "plan-end", "plan-due"):
        assert len(shapes(svg, look)) == 1, look
    (bench,), (drying,) = shapes(svg, "plan-bench"), shapes(svg, "plan-drying")
    assert float(bench.get("height")) > float(drying.get("height"))
    # 19:30 of the first of seven days
    assert percent(drying.get("x")) == round(LEFT + DAYS_WIDTH * 19.5 / 24 / 7, 2)


def test_days_of_a_clock_change_begin_at_midnight_on_the_wall():
    moment = datetime(2026, 10, 24, 12, tzinfo=UTC)
    end = datetime(2026, 10, 30, 12, tzinfo=UTC)
    svg = plan_chart_svg([PlanRow("A", [], [], end, None)], moment, LONDON)
    lines = [percent(line.get("x1")) for line in shapes(svg, "plan-week")]
    hour = DAYS_WIDTH / (7 * 24)
    # The clocks go back on the 25th, which has 25 hours.
    assert abs(lines[2] - lines[1] - 25 * hour) <= 0.011


def test_a_narrow_window_names_no_more_days_than_it_has_room_for():
    for days in (6, 13, 30, 69):
        row = PlanRow("Launch", [], [], at(24 * days), None)
        svg = plan_chart_svg([row], NOW, UTC)
        assert 1 <= len(shapes(svg, "plan-when")) <= 4, days


def test_a_name_is_no_markup_and_a_long_one_is_cut():
    svg = plan_chart_svg([PlanRow("<b>&" + "x" * 60, [], [], None, None)], NOW, UTC)
    (name,) = shapes(svg, "plan-name")
    assert name.text.strip("\u2068\u2069") == "<b>&" + "x" * 31 + "…"


def test_a_hundred_projects_have_a_row_each():
    rows = [PlanRow(f"Project {n}", [], [], at(n), None) for n in range(100)]
    svg = plan_chart_svg(rows, NOW, UTC)
    tops = [float(y) for y in re.findall(r'plan-name" x="0.5%" y="([\d.]+)"', svg)]
    assert len(tops) == 100
    assert min(b - a for a, b in zip(tops, tops[1:], strict=False)) >= 30
