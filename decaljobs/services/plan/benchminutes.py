"""How long work takes: as the makers have set it, else as their log has it, else as is usual."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import timedelta

from django.db import transaction
from django.db.models import F

from decaljobs.craft.doings import DOING_OF, Doing
from decaljobs.craft.plan.minutes import Learned, Mark, learned_minutes
from decaljobs.craft.stages import Stage
from decaljobs.models import StageEvent, StepMinutes

#: The newest lines of the log that are learned from.
LINES_LEARNED_FROM = 2000
#: A line written down later than this after the work says nothing of how long it took.
PROMPT = timedelta(minutes=10)


@dataclass(frozen=True)
class Taken:
    """The minutes of one kind of work and where they come from."""

    doing: Doing
    set_to: int | None
    learned: Learned | None

    @property
    def minutes(self) -> int:
        if self.set_to is not None:
            return self.set_to
        return self.learned.minutes if self.learned else self.doing.minutes

    @property
    def proposal(self) -> int | None:
        """Minutes that the log proposes in place of those set by hand; None where it has none."""
        if self.set_to is None or self.learned is None or self.learned.minutes == self.set_to:
            return None
        return self.learned.minutes

    @property
    def source(self) -> str:
        """Where the minutes come from, in words."""
        if self.set_to is not None:
            return "set by hand"
        if self.learned:
            return f"the median of {self.learned.gaps} times in the log"
        return "common practice"


def minutes_taken() -> dict[Doing, Taken]:
    """The minutes of every kind of work (two queries)."""
    by_hand = dict(StepMinutes.objects.values_list("doing", "minutes"))
    learned = _learned()
    return {doing: Taken(doing, by_hand.get(doing.value), learned.get(doing)) for doing in Doing}


@transaction.atomic
def keep_minutes(*, minutes: Mapping[Doing, int | None]) -> None:
    """Set the minutes of kinds of work; None leaves them to the log or to what is usual."""
    for doing, wanted in minutes.items():
        if wanted is None:
            StepMinutes.objects.filter(doing=doing.value).delete()
        else:
            StepMinutes.objects.update_or_create(doing=doing.value, defaults={"minutes": wanted})


def _learned() -> dict[Doing, Learned]:
    """What the makers' own logs teach, from lines written down as the work was done."""
    lines = (
        StageEvent.objects.in_force()
        .filter(
            kind=StageEvent.Kind.STEP,
            how__in=[StageEvent.How.HAND, StageEvent.How.EARLY],
            to_stage__in=[stage.value for stage in DOING_OF],
            by__isnull=False,
            logged_at__lte=F("at") + PROMPT,
        )
        .order_by("-pk")
        .values_list("by", "at", "to_stage")[:LINES_LEARNED_FROM]
    )
    logs: dict[int, list[Mark]] = {}
    for by, at, stage in lines:
        logs.setdefault(by, []).append(Mark(at, DOING_OF[Stage(stage)]))
    return learned_minutes(logs.values())
