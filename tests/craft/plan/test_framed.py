"""Plans of many projects, found by frames."""

from dataclasses import replace

import pytest

from decaljobs.craft.benchplan import make_plan
from decaljobs.craft.plan import framed
from decaljobs.craft.plan.budget import Budget
from decaljobs.craft.plan.framed import Framer
from decaljobs.craft.plan.framepacking import FramePacking
from decaljobs.craft.plan.guide import Guide
from decaljobs.craft.plan.moves import seeded
from tests.benchmarks.made_up_plans import made_up_plan
from tests.benchmarks.plan_checks import faults
from tests.craft.plan.deals import (
    is_heavy_in_time,
    light_and_heavy,
    tasks_of,
    timeline_of,
    two_full_evenings,
)
from tests.craft.plans import after, due, task


def framer_of(timeline, seed=1):
    return Framer(timeline, Guide.of(timeline.model), seeded(seed))


def packing_of(framer, place):
    """A packing in which the tasks stand where told."""
    packing = FramePacking(framer.frames, framer.frame, place, seeded(1))
    packing._put(list(place))
    return packing


def test_it_finds_the_plan_in_which_nothing_is_late():
    framer = framer_of(two_full_evenings())
    assert framer.best.tardiness > 0
    framer.run(Budget(0.0, 200))
    assert framer.best.tardiness == 0
    assert framer.tries >= 200


def test_it_lets_the_heavier_of_two_be_in_time():
    framer = framer_of(light_and_heavy())
    framer.run(Budget(0.0, 200))
    assert is_heavy_in_time(framer.best)


def test_tasks_of_a_session_that_found_no_order_are_not_tried_again():
    # Both fit by their minutes, but with the wait between they take 210 of the evening's 180.
    tasks = [task("a", 60, project="p0"), task("b", 60, after("a", 1.5), project="p1")]
    framer = framer_of(timeline_of(tasks))
    assert framer._put_in_order(packing_of(framer, [0, 0])) == 0
    assert framer.refused == {(0, frozenset({0, 1}))}
    asked = []
    framer.orders.of = lambda *_: asked.append(1)
    assert framer._put_in_order(packing_of(framer, [0, 0])) == 0
    assert not asked


def test_a_packing_that_fails_leaves_a_cut():
    # Three of 70 minutes have to be in the first evening.
    projects = [due(f"p{n}", 4) for n in range(3)]
    framer = framer_of(timeline_of(tasks_of(70, 70, 70), projects))
    frame = framer.frame._replace(last=(0, 0, 0))
    framer.tries = 1
    framer._pack(frame, Budget(0.0, 100), 0.1)
    (cut,) = framer.cuts
    assert cut.prices[0] == 1.0 and set(cut.prices[1:]) == {0.0}
    asked = sum(cut.asked(number, part) for number, part in enumerate(framer.frames.parts(frame)))
    assert asked - cut.limit == pytest.approx(framed.RELIEF * 30)


def test_a_packing_that_is_far_from_fitting_is_given_up(monkeypatch):
    projects = [due(f"p{n}", 4) for n in range(3)]
    tried = []
    for hopeless in (29, 30):  # 30 minutes too many
        monkeypatch.setattr(framed, "HOPELESS", hopeless)
        framer = framer_of(timeline_of(tasks_of(70, 70, 70), projects))
        packing = packing_of(framer, [0, 0, 0])
        packing.free = []
        assert not framer._packed(packing, Budget(0.0, 100), 0.1)
        tried.append(framer.tries)
    assert tried == [6, 10]


def test_a_packing_that_nearly_fits_goes_on(monkeypatch):
    tried = []
    for minutes in (67, 65, 63):  # 21, 15 and 9 too many
        monkeypatch.setattr(framed, "NEARLY", 15)
        monkeypatch.setattr(framed, "NEAREST", 9)
        framer = framer_of(timeline_of(tasks_of(minutes, minutes, minutes)))
        packing = packing_of(framer, [0, 0, 0])
        packing.free = []
        assert not framer._packed(packing, Budget(0.0, 100), 0.1)
        tried.append(framer.tries)
    assert tried == [10, 20, 50]


def test_only_the_last_cuts_are_kept(monkeypatch):
    monkeypatch.setattr(framed, "MOST_CUTS", 2)
    framer = framer_of(timeline_of(tasks_of(70, 70, 70)))
    packing = packing_of(framer, [0, 0, 0])
    packing._look()
    for times in (1.0, 2.0, 3.0):
        framer._cut(framer.frame._replace(last=(1, 1, 1)), packing, times)
    reliefs = [-cut.limit for cut in framer.cuts]
    assert reliefs == pytest.approx([2 * framed.RELIEF * 30, 3 * framed.RELIEF * 30])


@pytest.mark.parametrize("seed", [1, 2])
def test_many_projects_are_planned_by_frames_without_a_fault(seed, monkeypatch):
    found = []
    run = Framer.run

    def watched(self, budget):
        run(self, budget)
        found.append((self.begun_with.cost, self.best.cost))

    monkeypatch.setattr(Framer, "run", watched)
    given = made_up_plan(seed, 9, 8, haste=1.0)
    plan = make_plan(given, iterations=400, seed=seed)
    assert not faults(given, plan)
    ((before, after_frames),) = found
    assert plan.objective <= after_frames < before


def test_the_same_tries_give_the_same_plan():
    given = made_up_plan(3, 9, 6, haste=1.0)
    plans = [make_plan(given, iterations=200, seed=4) for _ in range(2)]
    assert plans[0].tasks == plans[1].tasks


def test_pinned_and_shared_work_is_planned_by_frames_too():
    given = made_up_plan(5, 9, 8, haste=1.0)
    tasks = list(given.tasks)
    tasks[0] = replace(tasks[0], pinned_session=given.sessions[3])
    tasks[9] = replace(tasks[9], also_for=("p4",))
    given = replace(given, tasks=tuple(tasks))
    plan = make_plan(given, iterations=300)
    assert not faults(given, plan)
    (pinned,) = (placed for placed in plan.tasks if placed.task.id == tasks[0].id)
    assert pinned.session == given.sessions[3]


def test_projects_that_hang_together_are_left_to_deals():
    many = [task(f"t{n}", 10, project=f"p{n}", also_for=("p0",)) for n in range(61)]
    assert not framer_of(timeline_of(many)).suits
    assert framer_of(timeline_of(many[:60])).suits
