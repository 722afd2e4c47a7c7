"""A worker killed in the middle of its work: what it left is queued again, and done by the next."""

import json
import os
import signal
import sqlite3
import time
from collections.abc import Callable
from contextlib import closing
from pathlib import Path

import pytest

from tests.checkout import TOP, Started, manage, started

pytestmark = [
    pytest.mark.slow,
    pytest.mark.skipif(os.name == "nt", reason="Windows has no SIGKILL"),
]
NEWEST = (
    "SELECT status, worker_ids FROM django_tasks_database_dbtaskresult "
    "ORDER BY enqueued_at DESC LIMIT 1"
)
PLANS = "SELECT state FROM decaljobs_benchplan ORDER BY id DESC LIMIT 1"
PLAN = (
    "from django.utils import timezone; from decaljobs.services.plan import plans; "
    "assert plans.begin(moment=timezone.now())"
)
PATIENCE = 120.0  # seconds; a worker is a Python to be started, which takes long on a busy machine
TRIES = 5


@pytest.fixture
def data(tmp_path: Path) -> Path:
    return tmp_path / "data"


def newest_work(data: Path) -> tuple[str, list[str]]:
    """How the work that was begun last stands, and the workers that had it in hand."""
    with closing(sqlite3.connect(data / "workshop.sqlite3", timeout=20)) as records:
        found = records.execute(NEWEST).fetchone()
    return (found[0], json.loads(found[1])) if found else ("", [])


def plan_state(data: Path) -> str:
    with closing(sqlite3.connect(data / "workshop.sqlite3", timeout=20)) as records:
        return records.execute(PLANS).fetchone()[0]


def wait_until(so: Callable[[], bool], what: str) -> None:
    end = time.monotonic() + PATIENCE
    while not so():
        assert time.monotonic() < end, what
        time.sleep(0.005)


def number_of(worker: str) -> int:
    return int(worker.split("-")[1])


def kill_at_work(data: Path, workshop: Started) -> str:
    """Begin a plan and kill the worker that has it in hand; that worker's name.

    The server is held still meanwhile, so that it does not start another worker.
    """
    for _ in range(TRIES):
        run = manage(TOP, "shell", "-v0", "-c", PLAN, DECALJOBS_DATA=data, DECALJOBS_WORKER=1)
        assert run.returncode == 0, run.stderr
        wait_until(lambda: newest_work(data)[0] in ("RUNNING", "SUCCESSFUL"), "nobody begins")
        _, workers = newest_work(data)
        workshop.process.send_signal(signal.SIGSTOP)
        os.kill(number_of(workers[-1]), signal.SIGKILL)
        if newest_work(data) == ("RUNNING", workers):
            return workers[-1]
        workshop.process.send_signal(signal.SIGCONT)
    raise AssertionError("each time it was done before its worker was killed")


def done_by_another(data: Path, killed: str) -> bool:
    """Whether the plan is there, made by a worker that took it up after the one killed."""
    status, workers = newest_work(data)
    if status != "SUCCESSFUL":
        return False
    assert workers[0] == killed and len(workers) == 2, workers
    assert plan_state(data) == "made"
    return True


def test_what_a_killed_worker_left_is_done_by_the_next(data: Path) -> None:
    with started(data, "--demo", "--processes", "1") as workshop:
        killed = kill_at_work(data, workshop)
        workshop.process.send_signal(signal.SIGCONT)
        wait_until(lambda: done_by_another(data, killed), "nobody takes it up")
        status, workers = newest_work(data)
        assert (status, workers[0], len(workers)) == ("SUCCESSFUL", killed, 2)
    wait_until(lambda: not _is_there(number_of(workers[1])), "the worker outlives the server")


def test_what_was_left_is_queued_again_before_the_next_start_serves(data: Path) -> None:
    """At most 10 s after the start is asked for; here it has happened when the start says it
    serves, however slow the machine is, and not only when its worker has come to life."""
    with started(data, "--demo", "--processes", "1") as workshop:
        killed = kill_at_work(data, workshop)
        workshop.process.kill()
        workshop.process.wait()
        assert newest_work(data) == ("RUNNING", [killed])
    with started(data, "--processes", "1"):
        assert newest_work(data) != ("RUNNING", [killed])
        wait_until(lambda: done_by_another(data, killed), "nobody takes it up")


def _is_there(number: int) -> bool:
    try:
        os.kill(number, 0)
    except ProcessLookupError:
        return False
    return True
