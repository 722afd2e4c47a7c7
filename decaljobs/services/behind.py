"""Work that runs behind a page: in a worker's process where there is one, else in a thread.

Every piece of work keeps how far it is in a record of its own and may be begun anew at any time,
so that it does not matter if it is cut off.
"""

from __future__ import annotations

import logging
import signal
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import datetime, timedelta
from types import FrameType

from django.conf import settings
from django.db import connections, transaction
from django.utils.module_loading import import_string
from django_tasks import task
from django_tasks_db.models import DBTaskResult

#: Work that has not been heard of for so long, and runs nowhere that we know of, has died.
SILENCE = timedelta(seconds=90)
#: No piece of work takes longer, seconds; what does is ended.
LONGEST = 15 * 60
#: Work that was cut off so often is not begun again.
ATTEMPTS = 3
log = logging.getLogger(__name__)


class TookTooLong(Exception):
    """A piece of work was ended after the longest time there is for one."""


def start(name: str, work: Callable[[int], None], pk: int) -> None:
    """Run a piece of work on one record: where WORK_BEHIND says, which in tests is at once.

    It may be called in the transaction that makes the record: the queue is kept or rolled back
    with it, and a thread is not begun before others can see it.
    """
    if settings.WORK_BEHIND == "page":
        work(pk)
    elif settings.WORK_BEHIND == "worker":
        do_work.enqueue(name=name, path=f"{work.__module__}.{work.__qualname__}", pk=pk)
    else:
        thread = threading.Thread(target=_run, args=[name, work, pk], name=name, daemon=True)
        transaction.on_commit(thread.start)


@task()
def do_work(name: str, path: str, pk: int) -> None:
    """One piece of work, as a worker does it."""
    if not path.startswith("decaljobs.services."):
        raise ValueError(f"{path} is no work of ours")
    try:
        with _no_longer_than(LONGEST):
            import_string(path)(pk)
    except Exception:
        # The record still says that work goes on: who reads it asks `is_alive`.
        log.exception("%s broke off", name)
        raise


def is_alive(name: str, beat_at: datetime | None, moment: datetime) -> bool:
    """Whether the work runs or waits its turn: in a thread here, in a worker's queue, or heard
    of lately from another process."""
    if any(thread.name == name for thread in threading.enumerate()):
        return True
    if beat_at is not None and moment - beat_at < SILENCE:
        return True
    unfinished = DBTaskResult.objects.filter(status__in=["READY", "RUNNING"])
    return unfinished.filter(args_kwargs__kwargs__name=name).exists()


def begin_again(is_gone: Callable[[str], bool]) -> int:
    """Put work back in the queue whose worker is gone; how many pieces.

    is_gone: whether the worker of this name no longer runs.
    """
    again = 0
    for cut_off in DBTaskResult.objects.running():
        if cut_off.worker_ids and not is_gone(cut_off.worker_ids[-1]):
            continue
        tried = len(cut_off.worker_ids) >= ATTEMPTS
        again += DBTaskResult.objects.filter(pk=cut_off.pk, status="RUNNING").update(
            status="FAILED" if tried else "READY", started_at=None
        )
    return again


def forget_done(before: datetime) -> None:
    """Drop the traces of work that ended before a moment."""
    DBTaskResult.objects.finished().filter(finished_at__lt=before).delete()


def _run(name: str, work: Callable[[int], None], pk: int) -> None:
    try:
        work(pk)
    except Exception:
        # The record still says that work goes on: who reads it asks `is_alive`.
        log.exception("%s broke off", name)
    finally:
        connections.close_all()


@contextmanager
def _no_longer_than(seconds: int) -> Iterator[None]:
    """Raise TookTooLong in the work inside after so many seconds, where the system can."""
    if not hasattr(signal, "SIGALRM") or threading.current_thread() != threading.main_thread():
        yield
        return

    def end(signum: int, frame: FrameType | None) -> None:
        raise TookTooLong(f"ended after {seconds} s")

    before = signal.signal(signal.SIGALRM, end)
    signal.alarm(seconds)
    try:
        yield
    finally:
        signal.alarm(0)
        signal.signal(signal.SIGALRM, before)
