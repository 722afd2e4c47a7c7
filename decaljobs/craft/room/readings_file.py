"""A file of readings, line by line: what it holds, and which lines cannot be taken and why."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from dataclasses import asdict, dataclass, field
from datetime import datetime, tzinfo
from typing import Any

import numpy as np
from numpy.typing import NDArray

from decaljobs.craft.arrays import Numbers
from decaljobs.craft.climate import COLDEST, WARMEST
from decaljobs.craft.figures import counted
from decaljobs.craft.moments import utc
from decaljobs.craft.room.readings_times import TimeError, TimeFormat, TimeReader
from decaljobs.craft.textfile import SEPARATORS, FileRefused, records

MOST_LINES = 1_100_000  # two years of minute readings, with a little to spare
MOST_BAD = 500  # bad lines that are kept with their reasons
TOLD_EVERY = 10_000  # lines


@dataclass(frozen=True)
class ReadingsLayout:
    """How a file is read: separator, decimal mark, columns (from 0), form of the times, and the
    line (from 1) that readings begin in. clock_column: where the time stands apart from the date.
    """

    separator: str = ","
    decimal: str = "."
    time_column: int = 0
    clock_column: int | None = None
    temperature_column: int = 1
    humidity_column: int = 2
    time_format: TimeFormat = TimeFormat.YEAR_FIRST
    first_line: int = 1

    def to_dict(self) -> dict[str, Any]:
        """The layout as plain values for JSON."""
        return asdict(self) | {"time_format": self.time_format.value}

    @classmethod
    def from_dict(cls, kept: dict[str, Any]) -> ReadingsLayout:
        """The layout kept by `to_dict`.

        >>> ReadingsLayout.from_dict(ReadingsLayout(separator=";").to_dict()).separator
        ';'
        """
        return cls(**{**kept, "time_format": TimeFormat(kept["time_format"])})


@dataclass(frozen=True, eq=False)
class Readings:
    """What a file holds: minutes since 1970 UTC, °C, %RH and line numbers of n readings, rising.

    bad: numbers and reasons of lines that cannot be taken (the first 500; bad_count counts all).
    repeats: the same reading again. thinned: more than one reading in a minute, the first is
    taken. unordered: lines earlier than the one before them; first_unordered is the first.
    """

    minutes: NDArray[np.int64]
    temperatures: Numbers
    humidities: Numbers
    lines: NDArray[np.int64]
    bad: tuple[tuple[int, str], ...] = ()
    bad_count: int = 0
    repeats: int = 0
    thinned: int = 0
    unordered: int = 0
    first_unordered: int = 0


@dataclass
class _Found:
    """What has been read so far."""

    minutes: list[int] = field(default_factory=list)
    temperatures: list[float] = field(default_factory=list)
    humidities: list[float] = field(default_factory=list)
    lines: list[int] = field(default_factory=list)
    seen: dict[int, tuple[int, int]] = field(default_factory=dict)
    bad: list[tuple[int, str]] = field(default_factory=list)
    counts: dict[str, int] = field(
        default_factory=lambda: dict.fromkeys(
            ("bad_count", "repeats", "thinned", "unordered", "first_unordered"), 0
        )
    )
    last: int = 0

    def refuse(self, line: int, reason: str) -> None:
        self.counts["bad_count"] += 1
        if len(self.bad) < MOST_BAD:
            self.bad.append((line, reason))

    def keep(self, line: int, seconds: int, temperature: float, humidity: float) -> None:
        minute = seconds // 60
        if seconds < self.last:
            self.counts["unordered"] += 1
            self.counts["first_unordered"] = self.counts["first_unordered"] or line
        self.last = seconds
        known = self.seen.get(minute)
        if known is not None:
            self._meet_again(line, seconds, known, (temperature, humidity))
            return
        self.seen[minute] = (len(self.lines), seconds)
        self.minutes.append(minute)
        self.temperatures.append(temperature)
        self.humidities.append(humidity)
        self.lines.append(line)

    def _meet_again(
        self, line: int, seconds: int, known: tuple[int, int], values: tuple[float, float]
    ) -> None:
        place, first_seconds = known
        if values == (self.temperatures[place], self.humidities[place]):
            self.counts["repeats"] += 1
        elif seconds != first_seconds:
            self.counts["thinned"] += 1
        else:
            first = self.lines[place]
            self.refuse(line, f"the same time as line {first}, with other values")


def read_readings(
    lines: Iterable[str],
    layout: ReadingsLayout,
    zone: tzinfo,
    now: datetime,
    *,
    told: Callable[[int], None] | None = None,
) -> Readings:
    """The readings in a file's lines, by its layout and its zone, up to an aware `now`.

    A temperature that is written with its °F counts in °C. Bad lines are left out and listed.
    told is given the lines done, now and then. Raises FileRefused for more than 1,100,000 lines.

    >>> from datetime import UTC
    >>> lines = ["time,t,rh", "2026-01-01 10:00,20.5,48", "2026-01-01 10:01,-300,48"]
    >>> found = read_readings(
    ...     lines, ReadingsLayout(first_line=2), UTC, datetime(2026, 2, 1, tzinfo=UTC))
    >>> found.temperatures.tolist(), found.bad
    ([20.5], ((3, 'the temperature is -300 °C, it must be -40 to 60 °C'),))
    """
    found = _Found()
    reader = TimeReader(layout.time_format, zone)
    latest = utc(now).timestamp()
    for number, cells in records(lines, layout.separator):
        if number > MOST_LINES:
            raise FileRefused(f"The file has more than {MOST_LINES:,} lines: divide it.")
        if told and number % TOLD_EVERY == 0:
            told(number)
        if number < layout.first_line:
            continue
        try:
            if isinstance(cells, str):
                raise ValueError(cells)
            found.keep(number, *_reading(cells, layout, reader, latest))
        except ValueError as error:
            found.refuse(number, str(error))
    return _sorted(found)


def _reading(
    cells: list[str], layout: ReadingsLayout, reader: TimeReader, latest: float
) -> tuple[int, float, float]:
    try:
        when = cells[layout.time_column]
        if layout.clock_column is not None:
            when = f"{when.strip()} {cells[layout.clock_column].strip()}"
        temperature, humidity = cells[layout.temperature_column], cells[layout.humidity_column]
    except IndexError:
        count = counted(len(cells), "column")
        name = SEPARATORS.get(layout.separator, layout.separator)
        raise ValueError(f"it has only {count}, divided at each {name}") from None
    seconds = reader.seconds(when)
    if seconds > latest:
        raise TimeError(f"{when.strip()} is still to come")
    return (
        seconds,
        _number(temperature, layout.decimal, "temperature", COLDEST, WARMEST, "°C"),
        _number(humidity, layout.decimal, "humidity", 0.0, 100.0, "% RH"),
    )


def _number(text: str, decimal: str, what: str, low: float, high: float, unit: str) -> float:
    in_fahrenheit = unit == "°C" and text.strip().endswith("F")
    plain = text.strip().rstrip("°CF%RHrh \u00a0")
    if decimal == "," and "." not in plain:
        plain = plain.replace(",", ".")
    if not plain:
        raise ValueError(f"the {what} is missing")
    try:
        value = float("" if "_" in plain else plain)
    except ValueError:
        raise ValueError(f"the {what} ‘{text.strip()[:40]}’ is no number") from None
    if math.isnan(value):
        raise ValueError(f"the {what} ‘{text.strip()}’ is no number")
    if in_fahrenheit:
        value = (value - 32.0) / 1.8  # exact by definition: NIST SP 811, appendix B.8
    if not low <= value <= high:
        raise ValueError(f"the {what} is {value:g} {unit}, it must be {low:g} to {high:g} {unit}")
    return value


def _sorted(found: _Found) -> Readings:
    minutes = np.array(found.minutes, dtype=np.int64)
    order = np.argsort(minutes, kind="stable")
    return Readings(
        minutes[order],
        np.array(found.temperatures, dtype=np.float64)[order],
        np.array(found.humidities, dtype=np.float64)[order],
        np.array(found.lines, dtype=np.int64)[order],
        bad=tuple(found.bad),
        **found.counts,
    )
