"""Searches for the next sheet's layout behind its page: begun, looked at, stopped, used."""

from __future__ import annotations

import time
from collections.abc import Sequence
from dataclasses import asdict, dataclass, replace
from datetime import datetime
from typing import Any

from decaljobs.models import LayoutSearch, Person, QueuedDecal, Sheet
from decaljobs.services.layout.copies import Wanted, wanted_of
from decaljobs.services.layout.kept_layouts import key_of, plan_from_dict, plan_to_dict
from decaljobs.services.layout.layouts import (
    AT_ONCE,
    LayoutWishes,
    Plan,
    improved_plans,
    plan_layout,
)
from decaljobs.services.layout.next_sheet import fingerprint, gap_costs
from decaljobs.services.layout.search_records import (
    BROKE_OFF,
    Watch,
    begin_record,
    guarded,
    keep,
    tended,
)
from decaljobs.services.refused import Overtaken, Refused
from decaljobs.services.squeeze.nesting import LONGEST
from decaljobs.services.squeeze.new_sheets import squeeze_plan

Kind, State = LayoutSearch.Kind, LayoutSearch.State

#: Time for a layout that a page waits for, s.
WAITED_FOR = 0.5
MOVED_ON = "The queue or the offcuts changed meanwhile: look for a layout again."


@dataclass(frozen=True)
class Question:
    """What a layout is looked for: the queue, the wishes, the offcuts, how sure to be."""

    wanted: Sequence[Wanted]
    wishes: LayoutWishes
    offcuts: Sequence[Sheet]
    sureness: float

    @property
    def key(self) -> str:
        return key_of(self.wanted, self.wishes, self.offcuts)

    @property
    def fingerprint(self) -> str:
        """The queue and the offcuts as a page shows them, whatever the wishes."""
        return fingerprint([want.row for want in self.wanted], self.offcuts)

    def asked(self) -> dict[str, Any]:
        return {"wishes": asdict(self.wishes), "sureness": self.sureness}


def question(wishes: LayoutWishes, sureness: float) -> Question:
    """The queue and the offcuts as they are now (5 queries)."""
    rows = list(QueuedDecal.objects.for_sheet())
    offcuts = list(Sheet.objects.clean_offcuts())
    return Question(wanted_of(rows, sureness=sureness), wishes, offcuts, sureness)


def searches_of(asked: Question, moment: datetime) -> dict[str, LayoutSearch]:
    """What was and is being looked for, by kind; one that died is told to have failed."""
    found = LayoutSearch.objects.filter(key=asked.key)
    return {search.kind: tended(search, moment) for search in found}


def plan_of(search: LayoutSearch | None, asked: Question) -> Plan | None:
    """The best layout a search has found so far; None where it found none."""
    if search is None or not search.found or not search.found.get("plan"):
        return None
    return plan_from_dict(search.found["plan"], asked.wanted, asked.wishes, asked.offcuts)


def best_of(
    searches: Sequence[LayoutSearch | None], asked: Question
) -> tuple[LayoutSearch | None, Plan]:
    """The first of the searches that found a layout, or the layout that is there at once."""
    for search in searches:
        plan = plan_of(search, asked)
        if plan is not None:
            return search, plan
    return None, plan_layout(asked.wanted, replace(asked.wishes, seconds=AT_ONCE), asked.offcuts)


def plan_seen(pk: int | None, asked: Question) -> Plan:
    """The layout that a page showed: found by that search, or within half a second here.

    Raises Refused where nothing waits, and Overtaken where the search is for another queue.
    """
    if pk is None:
        seconds = min(asked.wishes.seconds, WAITED_FOR)
        return plan_layout(asked.wanted, replace(asked.wishes, seconds=seconds), asked.offcuts)
    plan = plan_of(LayoutSearch.objects.filter(pk=pk, key=asked.key).first(), asked)
    if plan is None:
        raise Overtaken("The layout that was shown is for another queue: this is how it is now.")
    return plan


def begin(*, kind: str, asked: Question, by: Person, moment: datetime) -> LayoutSearch:
    """Look for a layout behind the page; a search that was made already is not made twice.

    Raises Refused for an empty queue, for a squeeze with straight cuts, and for too many at once.
    """
    if not asked.wanted:
        raise Refused("Nothing waits for the next sheet.")
    if kind == Kind.SQUEEZE and asked.wishes.straight_cuts:
        raise Refused("Nested pieces do not come apart by straight cuts: choose one of the two.")
    return begin_record(
        kind=kind,
        key=asked.key,
        asked=asked.asked(),
        seconds=LONGEST if kind == Kind.SQUEEZE else asked.wishes.seconds,
        by=by,
        moment=moment,
        work=run,
    )


def stop(*, pk: int) -> bool:
    """Ask a search to end with the best it has; answers whether it was still running."""
    return bool(LayoutSearch.objects.running().filter(pk=pk).update(stop_asked=True))


def drop(*, pk: int) -> bool:
    """Forget what a squeeze found: the layout in boxes counts again."""
    gone, _ = (
        LayoutSearch.objects.filter(pk=pk, kind=Kind.SQUEEZE).exclude(state=State.RUNNING).delete()
    )
    return bool(gone)


def run(pk: int) -> None:
    """The work behind `begin`; running it twice does no harm."""
    guarded(pk, _work)


def _work(search: LayoutSearch, watch: Watch) -> None:
    asked = question(LayoutWishes(**search.asked["wishes"]), search.asked["sureness"])
    if asked.key != search.key:
        raise Refused(MOVED_ON)
    (_squeeze if search.kind == Kind.SQUEEZE else _look)(asked, watch)


def _look(asked: Question, watch: Watch) -> None:
    """Keep every better layout, at last with what other gaps would cost."""
    plan = None
    for plan in improved_plans(asked.wanted, asked.wishes, asked.offcuts, clock=watch.clock):
        keep(watch.search, found={"plan": plan_to_dict(plan)})
    if plan is None:  # cannot be: the first layout is there whatever the time
        raise Refused(BROKE_OFF)
    gaps = gap_costs(plan, asked.offcuts)
    found = {"plan": plan_to_dict(plan), "gaps": gaps}
    keep(watch.search, found=found, state=State.DONE, share=1)


def _squeeze(asked: Question, watch: Watch) -> None:
    """Squeeze the best layout in boxes there is; kept only where it saves film."""
    boxes = LayoutSearch.objects.filter(kind=Kind.BETTER, key=asked.key).first()
    plan = plan_of(boxes, asked)
    if plan is None:
        plan = list(improved_plans(asked.wanted, asked.wishes, asked.offcuts, clock=watch.clock))[
            -1
        ]
    left = max(1.0, LONGEST - (time.monotonic() - watch.began))
    done = squeeze_plan(plan, seconds=left, progress=watch.told, stopped=watch.stopped)
    found: dict[str, Any] = {"before_mm2": plan.film_mm2}
    if done is not None:
        found |= {"plan": plan_to_dict(done.plan), "saved_mm2": done.saved_mm2}
    keep(watch.search, found=found, state=State.DONE, share=1)
