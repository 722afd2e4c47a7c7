"""A wait in one sentence: how far it is, what an hour counts and why, and when it is over."""

from dataclasses import dataclass
from datetime import datetime, timedelta, tzinfo
from typing import NamedTuple

from decaljobs.craft.climate import (
    DAMPEST,
    FASTEST,
    WATER_CLOCKS,
    Clock,
    is_too_cold,
    is_too_damp,
    temperature_drive,
    unheld_rate,
    vapour_drive,
)
from decaljobs.craft.drying import Progress, WaitTerms, progress
from decaljobs.craft.figures import cut_tenths, raised_tenths
from decaljobs.craft.moments import moment_words, utc, whole_minute
from decaljobs.craft.room.air import Air
from decaljobs.craft.room.day_of_air import AirNow
from decaljobs.craft.room.expected_air import LONGEST_GAP
from decaljobs.craft.waiting.forecast import FEWEST_DAYS, Forecast, forecast
from decaljobs.craft.ways import PLAIN, Ways

AS_REFERENCE = 0.05  # a rate this close to 1 needs no reason


@dataclass(frozen=True)
class WaitWords:
    """A wait told in parts: what is done, what an hour counts, when it is over, what is unread."""

    done: str
    rate: str
    ready: str
    unread: str

    @property
    def sentence(self) -> str:
        """The parts that have something to say, in one line."""
        return "; ".join(part for part in (self.done, self.rate, self.ready, self.unread) if part)


class _Wall(NamedTuple):
    """The clock on the wall, and how its reader says what it shows."""

    zone: tzinfo
    ways: Ways

    def words(self, moment: datetime, now: datetime, beside: datetime | None = None) -> str:
        return moment_words(moment, now, self.zone, beside=beside, ways=self.ways)


def wait_words(
    terms: WaitTerms,
    air: Air,
    start: datetime,
    now: datetime,
    zone: tzinfo,
    *,
    extra_reference_hours: float = 0.0,
    ways: Ways = PLAIN,
) -> WaitWords:
    """A wait begun at an aware `start`, told at an aware `now` by the zone's wall clock.

    Raises ValueError as `ready_at`.

    >>> from datetime import UTC
    >>> start = datetime(2026, 1, 1, 12, tzinfo=UTC)
    >>> words = wait_words(
    ...     WaitTerms(12, 8, Clock.WATER), Air.steady(15, 70), start,
    ...     start + timedelta(hours=10), UTC)
    >>> words.done, words.rate
    ('4.3 of 12 reference hours done', 'cold, damp air, an hour counts 0.44')
    >>> words.ready
    'dry about Fri 15:26'
    """
    extra = {"extra_reference_hours": extra_reference_hours}
    far = progress(terms, air, start, now, **extra)
    seen = forecast(terms, air, start, **extra)
    over = seen.ready is not None and now >= seen.ready
    return WaitWords(
        _done(terms, far, extra_reference_hours),
        "" if over else rate_words(terms, air.at(now)),
        _ready(terms, far, seen, now, _Wall(zone, ways)),
        "" if over else _unread(terms, air, start, now, _Wall(zone, ways)),
    )


def _done(terms: WaitTerms, far: Progress, extra: float) -> str:
    kind = "hours" if terms.clock is Clock.FIXED else "reference hours"
    done = cut_tenths(min(far.done_hours, far.of_hours))
    added = f" ({extra:g} added by touch)" if extra else ""
    return f"{done} of {far.of_hours:g} {kind} done{added}"


def rate_words(terms: WaitTerms, now: AirNow) -> str:
    """What an hour counts in the air of now (°C, %RH) and why; '' for a fixed clock.

    >>> rate_words(WaitTerms(12, 8, Clock.WATER), AirNow(9.5, 50.0))
    'held: 9.5 °C is under the film-forming minimum of 10 °C'
    """
    if terms.clock is Clock.FIXED:
        return ""
    temperature, humidity = now
    if is_too_cold(terms.clock, temperature, terms.film_forming_minimum):
        return (
            f"held: {cut_tenths(temperature)} °C is under the film-forming minimum of "
            f"{terms.film_forming_minimum:g} °C"
        )
    if is_too_damp(terms.clock, humidity):
        return f"held: {raised_tenths(humidity)} %RH is above {DAMPEST:g} %RH"
    rate = float(unheld_rate(terms.clock, temperature, humidity, **terms.reference))
    reasons = _reasons(terms, now, rate)
    return f"{', '.join(reasons)} air, an hour counts {rate:.2f}" if reasons else _plain(rate)


def _plain(rate: float) -> str:
    return f"an hour counts {rate:.2f}".removesuffix(".00")


def _reasons(terms: WaitTerms, now: AirNow, rate: float) -> list[str]:
    warmth = float(
        temperature_drive(now.temperature, reference_temperature=terms.reference_temperature)
    )
    reasons = []
    if warmth < 1.0 - AS_REFERENCE:
        reasons.append("cold")
    elif rate > 1.0 + AS_REFERENCE:
        reasons.append("warm")
    drive = float(vapour_drive(*now, **terms.reference))
    limit = min(warmth, FASTEST[terms.clock]) * (1.0 - AS_REFERENCE)
    if terms.clock in WATER_CLOCKS and drive < limit:
        reasons.append("damp")
    return reasons


def _ready(terms: WaitTerms, far: Progress, seen: Forecast, now: datetime, wall: _Wall) -> str:
    if seen.ready is None:
        words = "in this air not dry within a year"
        if seen.early:
            words += f", on good days about {wall.words(seen.early, now)}"
        return words
    said = wall.words(seen.ready, now)
    if now >= seen.ready:
        return f"dry since {said}"
    if far.done_hours >= far.of_hours:
        return f"dry about {said}: {terms.floor_hours:g} h must pass in any case"
    return f"dry about {said}{_behind(range_words(seen, now, wall.zone, ways=wall.ways))}"


def range_words(seen: Forecast, now: datetime, zone: tzinfo, *, ways: Ways = PLAIN) -> str:
    """The range of a forecast, told at an aware `now`; '' where there is none to tell.

    >>> from datetime import UTC
    >>> noon = datetime(2026, 1, 1, 12, tzinfo=UTC)
    >>> seen = Forecast(noon, noon - timedelta(hours=2), noon + timedelta(hours=3), True)
    >>> range_words(seen, noon - timedelta(hours=9), UTC)
    'between 10:00 and 15:00'
    """
    if not seen.has_range or seen.early is None:
        return ""
    wall = _Wall(zone, ways)
    early = wall.words(seen.early, now, beside=seen.ready)
    if seen.late is None:
        return f"{early} at the earliest, on slow days not within a year"
    if whole_minute(seen.early) == whole_minute(seen.late):
        return ""
    # Each moment leaves out its day if the one named before it had the same.
    return f"between {early} and {wall.words(seen.late, now, beside=seen.early)}"


def _behind(part: str) -> str:
    return f", {part}" if part else ""


def _unread(terms: WaitTerms, air: Air, start: datetime, now: datetime, wall: _Wall) -> str:
    if terms.clock is Clock.FIXED:
        return ""
    if air.last_reading is None:
        return "the room's stated air is used, it was never read"
    parts = []
    if now - air.last_reading > timedelta(hours=LONGEST_GAP):
        parts.append(f"air expected, not read, since {wall.words(air.last_reading, now)}")
    elif any(begin < now and end > utc(start) for begin, end in air.filled):
        parts.append(f"gaps of over {LONGEST_GAP:g} h in the readings filled with expected air")
    if len(air.days) < FEWEST_DAYS:
        parts.append(f"no range: the room was read on fewer than {FEWEST_DAYS} days")
    return "; ".join(parts)
