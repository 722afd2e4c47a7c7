"""Spraying weather in a room, by its latest reading: yes, no, not known, and when next."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta

from decaljobs.craft.spraying import next_spraying, spraying_weather
from decaljobs.craft.waits import WaitKind
from decaljobs.models import Room
from decaljobs.services.air import Airs
from decaljobs.services.waits import rules_of
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
        return " ".join(part for part in (f"{self.verdict.capitalize()}: {self.why}", self.next))


def spraying(*, room: Room, kind: WaitKind, airs: Airs, moment: datetime) -> Spraying:
    """Spraying weather in a room before the coat whose wait is of this kind (one query).

    The surface is taken to be as warm as the air.
    """
    minimum = rules_of([kind])[kind].film_forming_minimum
    return spraying_above(room=room, minimum=minimum, airs=airs, moment=moment)


def spraying_above(*, room: Room, minimum: float, airs: Airs, moment: datetime) -> Spraying:
    """The same for a film-forming minimum in °C that is known."""
    air = airs.of(room.pk, moment)
    likely = next_spraying(air, moment, film_forming_minimum=minimum)
    coming = f"Next likely {_when(likely, moment)}." if likely else "Not likely within 14 days."
    read_at = room.last_read_at
    if read_at is None:
        return Spraying("not known", f"the air of “{room}” was never read.", coming)
    if moment - read_at > READING_HOLDS:
        why = f"the last reading of “{room}” is from {say_moment(read_at, now=moment)}; read it."
        return Spraying("not known", why, coming)
    now = air.at(read_at)
    seen = spraying_weather(*now, film_forming_minimum=minimum)
    if not seen.may_spray:
        return Spraying("no", "; ".join(seen.reasons) + ".", coming)
    why = (
        f"{now.temperature:.1f} °C and {now.humidity:.0f} % RH read at "
        f"{say_moment(read_at, now=moment)}, {seen.margin:.1f} °C above the dew point."
    )
    return Spraying("yes", why, "")


def _when(likely: datetime, moment: datetime) -> str:
    return "now" if likely == moment else say_moment(likely, now=moment)
