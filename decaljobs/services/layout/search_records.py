"""The records of searches behind a page: begun once, written to as they go, missed if they die."""

from __future__ import annotations

import time
from collections.abc import Callable
from datetime import datetime
from typing import Any

from django.db import IntegrityError, transaction
from django.utils import timezone

from decaljobs.models import LayoutSearch, Person
from decaljobs.services import behind
from decaljobs.services.refused import Refused

Kind, State = LayoutSearch.Kind, LayoutSearch.State

NAME = "layout {}"
#: Squeezes under way at once; each keeps the processor busy.
MOST_SQUEEZES = 2
#: A search writes down how far it is, and looks whether it is to stop, so often, s.
BEAT = 0.5
BROKE_OFF = "The search broke off: begin it again."


def begin_record(
    *,
    kind: str,
    key: str,
    asked: dict[str, Any],
    seconds: float,
    by: Person,
    moment: datetime,
    work: Callable[[int], None],
) -> LayoutSearch:
    """Begin a search behind the page; one that was made already is not made twice.

    One that was stopped or broke off is made anew. Raises Refused for too many squeezes at once.
    """
    times = {"seconds": seconds, "begun_at": moment, "beat_at": moment}
    try:
        with transaction.atomic():
            known = _still_good(kind, key, moment)
            if known is not None:
                return known
            _make_room(kind, by, moment)
            made = LayoutSearch.objects.create(kind=kind, key=key, asked=asked, by=by, **times)
    except IntegrityError:  # somebody who asked for the same was faster
        return LayoutSearch.objects.get(kind=kind, key=key)
    behind.start(NAME.format(made.pk), work, made.pk)
    made.refresh_from_db()
    return made


def _still_good(kind: str, key: str, moment: datetime) -> LayoutSearch | None:
    """The search for the same that runs or is done; what has died or is old is dropped."""
    LayoutSearch.objects.outdated(moment).delete()
    known = LayoutSearch.objects.select_for_update().filter(kind=kind, key=key).first()
    if known is None:
        return None
    known = tended(known, moment)
    if known.is_running or (known.state == State.DONE and not known.stop_asked):
        return known
    known.delete()
    return None


def _make_room(kind: str, by: Person, moment: datetime) -> None:
    running = LayoutSearch.objects.running().filter(kind=kind)
    if kind == Kind.BETTER:
        # The queue it was for is another one by now, or the maker has other wishes.
        running.filter(by=by).update(stop_asked=True)
    elif sum(tended(search, moment).is_running for search in running) >= MOST_SQUEEZES:
        raise Refused(f"{MOST_SQUEEZES} squeezes are under way already: wait, or stop one.")


def guarded(pk: int, work: Callable[[LayoutSearch, Watch], None]) -> None:
    """Work on a search that runs; whatever goes wrong, its record says so."""
    search = LayoutSearch.objects.filter(pk=pk).first()
    if search is None or not search.is_running:
        return
    try:
        work(search, Watch(search))
    except Refused as refusal:
        keep(search, state=State.FAILED, problem=str(refusal)[:300])
    except Exception:
        keep(search, state=State.FAILED, problem=BROKE_OFF)
        raise


class Watch:
    """Writes down how far a search is, and learns from its record whether it is to stop.

    Its clock jumps to the end of all time once the search is to stop.
    """

    def __init__(self, search: LayoutSearch) -> None:
        self.search, self.began = search, time.monotonic()
        self.beaten, self.stop = self.began - BEAT, False

    def clock(self) -> float:
        now = time.monotonic()
        if now - self.beaten >= BEAT:
            self.beat(min(1.0, (now - self.began) / self.search.seconds))
        return float("inf") if self.stop else now

    def beat(self, share: float, **values: Any) -> None:
        self.beaten = time.monotonic()
        keep(self.search, share=share, beat_at=timezone.now(), **values)
        asked = LayoutSearch.objects.filter(pk=self.search.pk).values_list("stop_asked", flat=True)
        # A record that is gone wants no answer any more.
        self.stop = asked.first() is not False

    def told(self, share: float, shortest: float | None) -> None:
        if time.monotonic() - self.beaten >= BEAT:
            self.beat(share)

    def stopped(self) -> bool:
        return self.stop


def tended(search: LayoutSearch, moment: datetime) -> LayoutSearch:
    """The search, told to have failed where the process that worked on it is gone."""
    if search.is_running and not behind.is_alive(NAME.format(search.pk), search.beat_at, moment):
        keep(search, state=State.FAILED, problem=BROKE_OFF)
        search.refresh_from_db()
    return search


def keep(search: LayoutSearch, **values: Any) -> None:
    """Write down what a running search has to tell; one that has ended stays as it is."""
    LayoutSearch.objects.running().filter(pk=search.pk).update(**values)
