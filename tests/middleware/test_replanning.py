"""The plan follows what is logged elsewhere, where a worker does the planning."""

import pytest
from django_tasks_db.models import DBTaskResult

from decaljobs.craft.stages import Build
from decaljobs.models import BenchPlan
from decaljobs.services.plan import plans
from tests.factories import EVENING, sealed_decal

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("in_the_evening")]


@pytest.fixture
def log(signed_in, maker, settings, django_capture_on_commit_callbacks):
    """Logs a base on the bench, or tries to; answers whether a plan is being made then."""
    settings.WORK_BEHIND = "worker"
    decal = sealed_decal(maker, Build.WHITE_ALONE)

    def press(step="base_applied"):
        with django_capture_on_commit_callbacks(execute=True):
            signed_in.post("/bench/log/", {"one": f"{decal.pk}:{step}"})
        return BenchPlan.objects.running().exists()

    return press


def test_a_logged_step_hands_the_next_plan_to_the_worker(log):
    plans.make_now(moment=EVENING, iterations=5)
    assert log()
    (queued,) = DBTaskResult.objects.all()
    assert queued.args_kwargs["kwargs"]["path"] == "decaljobs.services.plan.plans.run"


def test_a_refused_step_does_not(log):
    plans.make_now(moment=EVENING, iterations=5)
    assert not log("clear_applied")


def test_nobody_who_never_planned_is_planned_for(log):
    assert not log()


def test_without_a_worker_the_page_is_not_made_to_wait(log, settings):
    plans.make_now(moment=EVENING, iterations=5)
    settings.WORK_BEHIND = "thread"
    assert not log()
