"""Work behind a page: alive in a thread, and missed when it is gone."""

import threading
from datetime import UTC, datetime, timedelta

from decaljobs.services import behind

NOW = datetime(2026, 11, 2, 19, tzinfo=UTC)


def test_it_runs_in_a_thread_of_its_name_and_is_alive_meanwhile():
    begun, may_end, ended = threading.Event(), threading.Event(), threading.Event()

    def work(pk):
        begun.set()
        may_end.wait(10)
        ended.set()

    behind.start("work 7", work, 7)
    assert begun.wait(10)
    assert behind.is_alive("work 7", None, NOW)
    may_end.set()
    assert ended.wait(10)
    for thread in threading.enumerate():
        if thread.name == "work 7":
            thread.join(10)
    assert not behind.is_alive("work 7", None, NOW)


def test_work_of_another_process_lives_while_it_is_heard_of():
    assert behind.is_alive("work 8", NOW - timedelta(seconds=30), NOW)
    assert not behind.is_alive("work 8", NOW - timedelta(minutes=2), NOW)


def test_it_runs_at_once_where_threads_are_off(settings):
    settings.WORK_IN_THREADS = False
    done = []
    behind.start("work 9", done.append, 9)
    assert done == [9]
