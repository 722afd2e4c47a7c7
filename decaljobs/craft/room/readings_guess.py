"""How a file of readings is written, guessed from its first lines."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Sequence
from dataclasses import replace
from datetime import UTC

from decaljobs.craft.room.readings_file import ReadingsLayout
from decaljobs.craft.room.readings_times import TimeError, TimeFormat, TimeReader
from decaljobs.craft.textfile import LONGEST_LINE, SEPARATORS, FileRefused, records

LOOKED_AT = 60  # lines
MOST_HEAD = 40  # lines before the first reading
_NUMBER = re.compile(r"[+-]?\d+(?:[.,]\d+)?\s*(?:°?[CF]|%|% ?RH)?", re.IGNORECASE)
_DECIMAL_COMMA = re.compile(r"[+-]?\d+,\d+\D*")
_CLOCK = re.compile(r"\d{1,2}[:.]\d{2}(?:[:.]\d{2})?\s*(?:[ap]\.?m\.?)?", re.IGNORECASE)
_TEMPERATURE = re.compile(r"temp|°\s?c|celsius|grad", re.IGNORECASE)
_FAHRENHEIT = re.compile(r"°\s?f\b|fahrenheit", re.IGNORECASE)
_HUMIDITY = re.compile(r"hum|feucht|\brh\b|%", re.IGNORECASE)


def guess_layout(lines: Sequence[str]) -> ReadingsLayout:
    """The layout that fits a file's first lines best.

    Raises FileRefused where none does, and where the heading says that temperatures are in °F.

    >>> guessed = guess_layout(["Zeit;Temp;Feuchte", "24.11.2026 21:40;19,5;52,1"])
    >>> guessed == ReadingsLayout(";", ",", 0, None, 1, 2, TimeFormat.DAY_FIRST, 2)
    True
    """
    head = [line[:LONGEST_LINE] for line in lines[:LOOKED_AT]]
    tried = [layout for sep in SEPARATORS if (layout := _with_separator(head, sep))]
    if not tried:
        raise FileRefused(
            "No line of the first sixty reads as a time, a temperature and a humidity."
        )
    _, best = max(tried, key=lambda pair: pair[0])
    if _is_headed_fahrenheit(head, best):
        raise FileRefused("Its heading says °F: write the readings out in °C.")
    return best


def _is_headed_fahrenheit(lines: Sequence[str], layout: ReadingsLayout) -> bool:
    """Whether a heading gives a unit that the bare figures below it must not be taken in."""
    heads = records(lines[: layout.first_line - 1], layout.separator)
    column = slice(layout.temperature_column, layout.temperature_column + 1)
    return any(_FAHRENHEIT.search(cell) for _, cells in heads for cell in cells[column])


def _with_separator(lines: Sequence[str], separator: str) -> tuple[int, ReadingsLayout] | None:
    """How many lines a separator explains, with the layout that does."""
    rows = [(n, c) for n, c in records(lines, separator) if isinstance(c, list) and len(c) > 2]
    if not rows:
        return None
    width = Counter(len(cells) for _, cells in rows).most_common(1)[0][0]
    best: tuple[int, ReadingsLayout] | None = None
    for form in TimeFormat:
        plain = ReadingsLayout(separator=separator, time_format=form)
        # The last line may be one of the bad ones: the nearest that makes sense tells.
        guesses = (_columns(rows[: n + 1], width, plain) for n in reversed(range(len(rows))))
        layout = next(filter(None, guesses), None)
        if layout is None:
            continue
        fitting = [number for number, cells in rows if _fits(cells, layout)]
        if fitting and fitting[0] <= MOST_HEAD and (best is None or len(fitting) > best[0]):
            best = len(fitting), replace(layout, first_line=fitting[0])
    return best


def _columns(
    rows: Sequence[tuple[int, list[str]]], width: int, layout: ReadingsLayout
) -> ReadingsLayout | None:
    """Which columns hold what, from the last of the rows and the words above it."""
    cells = rows[-1][1]
    times = _time_columns(cells, layout)
    if times is None:
        return None
    time_column, clock_column = times
    numeric = [
        c for c in range(len(cells)) if c not in times and _NUMBER.fullmatch(cells[c].strip())
    ]
    named = _named(rows[0][1]) if len(rows[0][1]) == width else {}
    temperature = next((c for c in numeric if named.get(c) == "t"), None)
    humidity = next((c for c in numeric if named.get(c) == "h"), None)
    # Before the time stands a line's number, if anything.
    left = [c for c in numeric if c not in (temperature, humidity) and c > time_column]
    if temperature is None and left:
        temperature = left.pop(0)
    if humidity is None and left:
        humidity = left.pop(0)
    if temperature is None or humidity is None:
        return None
    comma = any(_DECIMAL_COMMA.fullmatch(cells[c].strip()) for c in (temperature, humidity))
    return replace(
        layout,
        decimal="," if comma else ".",
        time_column=time_column,
        clock_column=clock_column,
        temperature_column=temperature,
        humidity_column=humidity,
    )


def _time_columns(cells: Sequence[str], layout: ReadingsLayout) -> tuple[int, int | None] | None:
    """Where the date stands, and its clock where that is the next column: None for neither."""
    for column in range(len(cells)):
        if _is_time(cells, column, None, layout):
            return column, None
    for column in range(len(cells) - 1):
        if _is_time(cells, column, column + 1, layout):
            return column, column + 1
    return None


def _named(head: Sequence[str]) -> dict[int, str]:
    """Columns that their own heading calls temperature (t) or humidity (h)."""
    named = {}
    for column, text in enumerate(head):
        if _NUMBER.fullmatch(text.strip()):
            continue
        if _TEMPERATURE.search(text):
            named[column] = "t"
        elif _HUMIDITY.search(text):
            named[column] = "h"
    return named


def _is_time(cells: Sequence[str], column: int, clock: int | None, layout: ReadingsLayout) -> bool:
    text = cells[column].strip()
    if clock is not None:
        if not _CLOCK.fullmatch(cells[clock].strip()):
            return False
        text = f"{text} {cells[clock].strip()}"
    try:
        TimeReader(layout.time_format, UTC).seconds(text)
    except TimeError:
        return False
    return True


def _fits(cells: Sequence[str], layout: ReadingsLayout) -> bool:
    columns = (layout.temperature_column, layout.humidity_column)
    needed = max(*columns, layout.time_column, layout.clock_column or 0)
    return (
        len(cells) > needed
        and all(_NUMBER.fullmatch(cells[c].strip()) for c in columns)
        and _is_time(cells, layout.time_column, layout.clock_column, layout)
    )
