"""Plans searched for side by side, in this process and in others."""

import time

import pytest

from decaljobs.services.plan import searches
from decaljobs.services.plan.searches import searched
from tests.benchmarks.made_up_plans import made_up_plan
from tests.benchmarks.plan_checks import faults

ASKED = made_up_plan(3, 6, 10, haste=1.0)


@pytest.fixture
def processors(monkeypatch):
    """Says how many processors there are, and lets no search be too short to be shared."""

    def say(count):
        monkeypatch.setattr("os.cpu_count", lambda: count)
        monkeypatch.setattr(searches, "WORTH_MORE", 0.0)

    return say


@pytest.fixture
def begun(monkeypatch):
    """The searches that were begun in processes of their own."""
    found = []

    class Followed(searches._Search):
        def __init__(self, *args):
            super().__init__(*args)
            found.append(self)

    monkeypatch.setattr(searches, "_Search", Followed)
    return found


@pytest.fixture
def worker(tmp_path, monkeypatch):
    """Puts another program in the place of the worker."""

    def replace_by(script):
        (tmp_path / "worker.py").write_text(script)
        monkeypatch.setattr(searches, "WORKER", tmp_path / "worker.py")

    return replace_by


@pytest.mark.parametrize(("count", "others"), [(1, 0), (2, 1), (16, 3), (None, 0)])
def test_there_is_a_search_for_each_processor_up_to_four(processors, begun, count, others):
    processors(count)
    assert not faults(ASKED, searched(ASKED, seconds=0.1))
    assert len(begun) == others


def test_the_best_plan_counts_wherever_it_was_found(processors, begun, monkeypatch):
    processors(2)
    real, own = searches.make_plan, []

    def idle(*args, **options):
        own.append(real(*args, **options | {"iterations": 0}))
        return own[0]

    monkeypatch.setattr(searches, "make_plan", idle)
    plan = searched(ASKED, seconds=3.0)
    assert plan.objective < own[0].objective
    assert not faults(ASKED, plan)
    assert {placed.task for placed in plan.tasks} == {placed.task for placed in own[0].tasks}


def test_no_process_outlives_the_search(processors, begun):
    processors(3)
    searched(ASKED, seconds=0.1)
    assert [search.process.poll() is None for search in begun] == [False, False]


@pytest.mark.parametrize(
    "script",
    [
        "raise SystemExit(1)",
        "import sys; sys.stdin.close(); sys.exit(3)",
        "import time; time.sleep(60)",
    ],
    ids=["breaks off", "does not listen", "never answers"],
)
def test_what_breaks_off_costs_only_its_own_plan(
    processors, begun, worker, monkeypatch, caplog, script
):
    processors(2)
    worker(script)
    monkeypatch.setattr(searches, "PATIENCE", 0.5)
    began = time.monotonic()
    assert not faults(ASKED, searched(ASKED, seconds=0.2))
    assert time.monotonic() - began < 30
    assert "broke off" in caplog.text
    assert begun[0].process.poll() is not None


@pytest.mark.parametrize("options", [{"iterations": 20, "seconds": 5.0}, {"seconds": 0.5}])
def test_one_search_is_enough_for_counted_tries_and_short_times(begun, options):
    assert not faults(ASKED, searched(ASKED, **options))
    assert begun == []


def test_where_no_process_can_begin_the_own_search_is_enough(processors, monkeypatch):
    def refuse(*args, **options):
        raise OSError("no more processes")

    processors(2)
    monkeypatch.setattr("subprocess.Popen", refuse)
    assert not faults(ASKED, searched(ASKED, seconds=0.1))
