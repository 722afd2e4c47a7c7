"""One machine: what a move is worth, against working it out anew; and all orders."""

from dataclasses import replace
from itertools import permutations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from decaljobs.craft.plan.budget import Budget
from decaljobs.craft.plan.model import benches_of, build_model
from decaljobs.craft.plan.onemachine import (
    Jobs,
    _gains,
    _moved,
    best_order,
    one_machine_jobs,
    tardiness_of,
)
from tests.craft.plans import after, due, evening, plan_input, task, week

FIGURES = st.lists(
    st.tuples(st.integers(1, 50), st.integers(0, 9), st.integers(-20, 120)), min_size=2, max_size=9
)


def jobs_of(figures):
    return Jobs(*np.array(figures, float).T)


@settings(deadline=None, max_examples=40)
@given(FIGURES)
def test_it_weighs_every_swap_and_shift_rightly(figures):
    jobs, order = jobs_of(figures), np.arange(len(figures))
    gains, cost = _gains(jobs, order), tardiness_of(jobs, order)
    for kind in range(3):
        for first in range(len(order)):
            for last in range(first + 1, len(order)):
                moved = tardiness_of(jobs, _moved(order, kind, first, last))
                assert gains[kind, first, last] == pytest.approx(moved - cost, abs=1e-6)


@settings(deadline=None, max_examples=15)
@given(FIGURES.filter(lambda figures: len(figures) <= 6))
def test_it_finds_the_best_of_all_orders(figures):
    jobs = jobs_of(figures)
    every = permutations(range(len(figures)))
    best = min(tardiness_of(jobs, np.array(order)) for order in every)
    order, _ = best_order(jobs, list(range(len(figures))), Budget(0, iterations=300), 1)
    assert sorted(order) == list(range(len(figures)))
    assert tardiness_of(jobs, np.array(order)) == pytest.approx(best)


def form_of(tasks, sessions, **more):
    given = plan_input(tasks, sessions, **more)
    return one_machine_jobs(
        build_model(given, given.tasks, benches_of(given.moment, given.sessions))
    )


def test_it_knows_the_form():
    tasks = [task("cut", 30), task("fret", 40, project="tram")]
    jobs = form_of(tasks, [evening()], projects=[due("boat", 2, weight=2)])
    assert jobs.minutes.tolist() == [30, 40]
    assert jobs.weight.tolist() == [40, 20]
    assert jobs.due.tolist() == [60, 180]  # from the session's start on; no date is its end


@pytest.mark.parametrize(
    "changed, sessions",
    [
        ({"project": "boat"}, (evening(),)),
        ({"minutes": 170}, (evening(),)),
        ({"airbrush": True}, (evening(),)),
        ({"pinned_session": evening()}, (evening(),)),
        ({"waits": (after("cut", 1),)}, (evening(),)),
        ({"dries": after(None, 1)}, (evening(),)),
        ({"waits": (after(None, 2),)}, (evening(),)),
        ({"also_for": ("boat",)}, (evening(),)),
        ({}, (evening(), evening(maker="Ben"))),
    ],
)
def test_it_leaves_other_forms_alone(changed, sessions):
    other = replace(task("fret", 40, project="tram"), **changed)
    assert form_of([task("cut", 30), other], sessions) is None


def test_it_takes_the_form_with_more_sessions_behind_the_first():
    tasks = [task("cut", 30), task("fret", 40, project="tram")]
    assert form_of(tasks, week(3)) is not None
