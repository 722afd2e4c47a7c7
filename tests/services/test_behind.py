"""Work behind a page: alive in a thread, and missed when it is gone."""

import signal
import threading
import time
from datetime import UTC, datetime, timedelta

import pytest
from django.core.management import call_command
from django_tasks_db.models import DBTaskResult

from decaljobs.services import behind

NOW = datetime(2026, 11, 2, 19, tzinfo=UTC)


@pytest.mark.django_db
def test_it_runs_in_a_thread_of_its_name_and_is_alive_meanwhile(
    settings, django_capture_on_commit_callbacks
):
    settings.WORK_BEHIND = "thread"
    begun, may_end, ended = threading.Event(), threading.Event(), threading.Event()

    def work(pk):
        begun.set()
        may_end.wait(10)
        ended.set()

    with django_capture_on_commit_callbacks(execute=True):
        behind.start("work 7", work, 7)
        assert not any(thread.name == "work 7" for thread in threading.enumerate()), (
            "it would not find its record before that is committed"
        )
    assert begun.wait(10)
    assert behind.is_alive("work 7", None, NOW)
    may_end.set()
    assert ended.wait(10)
    for thread in threading.enumerate():
        if thread.name == "work 7":
            thread.join(10)
    assert not behind.is_alive("work 7", None, NOW)


@pytest.mark.django_db
def test_work_of_another_process_lives_while_it_is_heard_of():
    assert behind.is_alive("work 8", NOW - timedelta(seconds=30), NOW)
    assert not behind.is_alive("work 8", NOW - timedelta(minutes=2), NOW)


def test_it_runs_at_once_where_threads_are_off(settings):
    settings.WORK_BEHIND = "page"
    done = []
    behind.start("work 9", done.append, 9)
    assert done == [9]


def work_on(pk: int) -> None:
    """What a worker finds in its queue in these tests."""
    DONE.append(pk)


DONE: list[int] = []


@pytest.fixture
def queue(settings, transactional_db, django_db_serialized_rollback, monkeypatch):
    """A worker does the work, when it comes to it."""
    settings.WORK_BEHIND = "worker"
    DONE.clear()
    monkeypatch.setattr(behind, "import_string", {WORK: work_on}.__getitem__)
    return DBTaskResult.objects


WORK = f"decaljobs.services.{work_on.__qualname__}"


def put_into(queue, name="work 1", pk=1):
    behind.do_work.enqueue(name=name, path=WORK, pk=pk)
    return queue.get(args_kwargs__kwargs__pk=pk)


def run_worker():
    """Until its queue is empty; the signals it listens to are the tests' own again after it."""
    before = {each: signal.getsignal(each) for each in (signal.SIGINT, signal.SIGTERM)}
    try:
        call_command("db_worker", batch=True, startup_delay=False, reload=False, verbosity=0)
    finally:
        for each, handler in before.items():
            signal.signal(each, handler)


def test_a_worker_does_it_when_its_turn_has_come(queue):
    put_into(queue)
    assert behind.is_alive("work 1", None, NOW) and not behind.is_alive("work 2", None, NOW)
    run_worker()
    assert DONE == [1] and not behind.is_alive("work 1", None, NOW)


def test_work_whose_worker_was_killed_is_done_by_the_next(queue):
    put_into(queue).claim("gone-1")
    put_into(queue, "work 2", 2).claim("there-1")
    assert behind.begin_again(lambda worker: worker.startswith("gone")) == 1
    run_worker()
    assert DONE == [1]
    assert queue.get(args_kwargs__kwargs__pk=2).status == "RUNNING"


def test_work_that_kills_its_worker_each_time_is_given_up(queue):
    found = put_into(queue)
    for attempt in range(behind.ATTEMPTS):
        found.refresh_from_db()
        assert found.status == "READY"
        found.claim(f"gone-{attempt}")
        behind.begin_again(lambda worker: True)
    found.refresh_from_db()
    assert found.status == "FAILED" and not behind.is_alive("work 1", None, NOW)


def test_nothing_but_work_of_ours_is_done(queue, caplog):
    behind.do_work.enqueue(name="x", path="os.system", pk=1)
    run_worker()
    assert queue.get().status == "FAILED" and not DONE


@pytest.mark.skipif(not hasattr(signal, "SIGALRM"), reason="Windows has no alarm")
def test_work_that_takes_too_long_is_ended(queue, monkeypatch, caplog):
    monkeypatch.setattr(behind, "LONGEST", 1)
    monkeypatch.setattr(behind, "import_string", lambda path: lambda pk: time.sleep(30))
    put_into(queue)
    run_worker()
    assert "TookTooLong" in queue.get().traceback


def test_traces_of_old_work_go(queue):
    put_into(queue)
    run_worker()
    behind.forget_done(datetime.now(UTC) - timedelta(days=1))
    assert queue.count() == 1
    behind.forget_done(datetime.now(UTC) + timedelta(days=1))
    assert queue.count() == 0
