"""How long the drying clock takes: `python -m tests.benchmarks.drying`."""

import time
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

import numpy as np

from decaljobs.craft.climate import Clock
from decaljobs.craft.drying import WaitTerms, progress, ready_at, ready_at_many
from decaljobs.craft.room.air import Air
from decaljobs.craft.room.day_of_air import AirNow, DayOfAir
from decaljobs.craft.room.expected_air import room_air
from decaljobs.craft.waiting.forecast import forecast
from tests.benchmarks.figures import Figure, tell

ZONE = ZoneInfo("Europe/London")
STATED = DayOfAir.day_and_night(AirNow(18, 55), AirNow(12, 70), zone=ZONE)
END = datetime(2026, 3, 20, 12, tzinfo=UTC)
WAITS = 1000
TERMS = [
    WaitTerms(12, 0.5, Clock.WATER),
    WaitTerms(12, 8, Clock.WATER_UNDER_FILM),
    WaitTerms(4, 1, Clock.SOLVENT),
    WaitTerms(24, 12, Clock.WATER, 23.0, 50.0),
]


def minute_readings(days: int) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """A noisy workshop, read every minute until END: seconds, °C and %RH."""
    rng = np.random.default_rng(7)
    seconds = END.timestamp() - np.arange(days * 1440)[::-1] * 60.0
    day = 2 * np.pi * seconds / 86400
    drift = 2 * np.sin(day / 9)
    temperature = 16 + 4 * np.sin(day) + drift + rng.normal(0, 0.15, len(seconds))
    humidity = 60 - 10 * np.sin(day) + 3 * drift + rng.normal(0, 0.8, len(seconds))
    return seconds, temperature, np.clip(humidity, 0, 100)


def timed(
    what: str, work: Callable[[Any], object], given: object, target: float | None = None
) -> None:
    begun = time.process_time()
    work(given)
    tell(Figure(what, time.process_time() - begun, "s of processor", at_least=target))


def fresh_air(days: int) -> Air:
    return room_air(*minute_readings(days), stated=STATED, zone=ZONE)


def waits() -> list[tuple[WaitTerms, datetime]]:
    spread = timedelta(days=13) / WAITS
    return [(TERMS[i % len(TERMS)], END - i * spread) for i in range(WAITS)]


def recompute(days: int) -> None:
    """Room air from its readings, then the ready moments of all waits, gathered by terms."""
    air = fresh_air(days)
    for terms in TERMS:
        ready_at_many(terms, air, [start for other, start in waits() if other == terms])


def one_by_one(days: int) -> None:
    """Room air from its readings, then ready moment and range of each wait, one by one."""
    air = fresh_air(days)
    for terms, start in waits():
        ready_at(terms, air, start)
        forecast(terms, air, start)


def show_progress(air: Air) -> None:
    for terms, start in waits():
        progress(terms, air, start, END)


def main() -> None:
    for days, target in ((14, 2.0), (365, None)):
        over = f"of {WAITS:,} waits over {days} days of minute readings"
        timed(f"ready moments {over}", recompute, days, target)
        timed(f"ready moments and ranges, one by one, {over}", one_by_one, days, target)
        timed(f"progress {over}", show_progress, fresh_air(days))


if __name__ == "__main__":
    main()
