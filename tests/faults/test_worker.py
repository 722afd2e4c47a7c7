"""A worker killed in the middle of its work: another comes, and does what was left."""

import os
import signal
import sqlite3
import time
from contextlib import closing
from pathlib import Path

import pytest

from tests.checkout import TOP, manage, started

pytestmark = pytest.mark.skipif(os.name == "nt", reason="Windows has no SIGKILL")
DONE = "SELECT 1 FROM django_tasks_database_dbtaskresult WHERE status = 'SUCCESSFUL'"
WORKERS = "SELECT worker_ids FROM django_tasks_database_dbtaskresult"
# As it stands in the queue when the plug is pulled in the middle of the work.
CUT_OFF = "UPDATE django_tasks_database_dbtaskresult SET status = 'RUNNING', finished_at = NULL"
PLAN = (
    "from django.utils import timezone; from decaljobs.services.plan import plans; "
    "assert plans.begin(moment=timezone.now())"
)


def ask(data: Path, question: str, *values: object) -> list[tuple]:
    with closing(sqlite3.connect(data / "workshop.sqlite3", timeout=20)) as records:
        found = records.execute(question, values).fetchall()
        records.commit()
    return found


def wait_for(data: Path, question: str, seconds: float) -> float:
    """How long it took until the question had an answer."""
    begun = time.monotonic()
    while not ask(data, question):
        assert time.monotonic() - begun < seconds, question
        time.sleep(0.1)
    return time.monotonic() - begun


def test_what_a_killed_worker_left_is_done_by_the_next(tmp_path: Path, capsys) -> None:
    data = tmp_path / "data"
    with started(data, "--demo"):
        run = manage(TOP, "shell", "-c", PLAN, DECALJOBS_DATA=data, DECALJOBS_WORKER=1)
        assert run.returncode == 0, run.stderr
        wait_for(data, DONE, 60)
        ((workers,),) = ask(data, WORKERS)
        number = int(workers.strip('[]"').rpartition("-")[2])
        ask(data, CUT_OFF)
        os.kill(number, signal.SIGKILL)
        took = wait_for(data, DONE, 60)
        ((workers,),) = ask(data, WORKERS)
        assert len(workers.split(",")) == 2, "another worker did it"
    with capsys.disabled():
        print(f"\nleft work done again after {took:.1f} s")
    end = time.monotonic() + 20
    while _is_there(int(workers.strip('[]"').rpartition("-")[2])):
        assert time.monotonic() < end, "the worker outlives the server"
        time.sleep(0.1)


def _is_there(number: int) -> bool:
    try:
        os.kill(number, 0)
    except ProcessLookupError:
        return False
    return True
