"""Work that runs behind a page, in a thread of the server's own process."""

from __future__ import annotations

import logging
import threading
from collections.abc import Callable
from datetime import datetime, timedelta

from django.conf import settings
from django.db import connections

#: Work that has not been heard of for so long, and runs in no thread here, has died.
SILENCE = timedelta(seconds=90)
log = logging.getLogger(__name__)


def start(name: str, work: Callable[[int], None], pk: int) -> None:
    """Run a piece of work on one record; at once where WORK_IN_THREADS is off, as in tests."""
    if not getattr(settings, "WORK_IN_THREADS", True):
        work(pk)
        return
    threading.Thread(target=_run, args=[name, work, pk], name=name, daemon=True).start()


def is_alive(name: str, beat_at: datetime | None, moment: datetime) -> bool:
    """Whether the work runs: in a thread here, or heard of lately from another process."""
    if any(thread.name == name for thread in threading.enumerate()):
        return True
    return beat_at is not None and moment - beat_at < SILENCE


def _run(name: str, work: Callable[[int], None], pk: int) -> None:
    try:
        work(pk)
    except Exception:
        # The record still says that work goes on: `tend` finds that it does not.
        log.exception("%s broke off", name)
    finally:
        connections.close_all()
