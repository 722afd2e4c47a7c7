"""Spraying weather in a room, by its latest reading: yes, no, not known, and when next."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta

from django.utils.text import capfirst

from decaljobs.craft.room.air import Air
from decaljobs.craft.room.spraying import next_spraying, spraying_weather
from decaljobs.craft.waits import WaitKind
from decaljobs.models import Room
from decaljobs.services.drying.air import Airs
from decaljobs.services.drying.waits import rules_of
from decaljobs.services.words import say_moment

#: A reading older than this says nothing of the air now: common practice, no source.
READING_HOLDS = timedelta(hours=1)


@dataclass(frozen=True)
class Spraying:
    """Whether a coat may go on now, in words: 'yes', 'no' or 'not known'; why, and when next."""

    verdict: str
    why: str
    next: str

    @property
    def words(self) -> str:
        """All of it in one line: 'Spraying weather: no. The air is at 88.0 %RH … Next likely …'"""
        return f"Spraying weather: {self.verdict}. {capfirst(self.why)} {self.next}".strip()


def spraying(*, room: Room, kind: WaitKind, airs: Airs, moment: datetime) -> Spraying:
    """Spraying weather in a room before the coat whose wait is of this kind (one query).

    The surface is taken to be as warm as the air.
    """
    minimum = rules_of([kind])[kind].film_forming_minimum
    return spraying_above(room=room, minimum=minimum, airs=airs, moment=moment)


def spraying_in(*, room: Room, steps: str, airs: Airs, moment: datetime) -> Spraying:
    """The same for any 'coat' or 'overcoat', by the strictest of their rules; no query more."""
    minimum: float = getattr(airs.room(room.pk), f"{steps}_minimum")
    return spraying_above(room=room, minimum=minimum, airs=airs, moment=moment)


def spraying_above(*, room: Room, minimum: float, airs: Airs, moment: datetime) -> Spraying:
    """The same for a film-forming minimum in °C that is known."""
    air = airs.of(room.pk, moment)
    read_at = room.last_read_at
    if read_at is None:
        why = f"the air of ‘{room}’ was never read."
        return Spraying("not known", why, _coming(air, moment, minimum))
    if moment - read_at > READING_HOLDS:
        why = f"the last reading of ‘{room}’ is from {say_moment(read_at, now=moment)}."
        return Spraying("not known", why, _coming(air, moment, minimum))
    now = air.at(read_at)
    seen = spraying_weather(*now, film_forming_minimum=minimum)
    if not seen.may_spray:
        why = "; ".join(seen.reasons) + "."
        return Spraying("no", why, _coming(air, moment, minimum))
    why = (
        f"{now.temperature:z.1f} °C and {now.humidity:.0f} % RH read "
        f"{say_moment(read_at, now=moment)}, {seen.margin:.1f} °C above the dew point."
    )
    return Spraying("yes", why, "")


def _coming(air: Air, moment: datetime, minimum: float) -> str:
    likely = next_spraying(air, moment, film_forming_minimum=minimum)
    if likely is None:
        return "Not likely within 14 days."
    if likely == moment:
        return "By the air that is expected there it would do now: read it before you spray."
    return f"Next likely {say_moment(likely, now=moment)}."
