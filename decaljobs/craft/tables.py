"""Tables as CSV: cells that a spreadsheet must not run, and lines read by their headings."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from decaljobs.craft.textfile import SEPARATORS, FileRefused, records

#: A spreadsheet takes a cell that begins so for a formula (OWASP, "CSV Injection"); the wide
#: forms are taken for the narrow ones by some. Apostrophes before it are part of the pattern, so
#: that guarding and unguarding undo each other for every text.
_FORMULA = re.compile(r"'*[=+\-@\t\r\n＝＋－＠]")
_GUARDED = re.compile(r"'+[=+\-@\t\r\n＝＋－＠]")
_HEADING = re.compile(r"[\s_-]+")
LONGEST_SHOWN = 40


def guarded(text: str) -> str:
    """A text as a cell that no spreadsheet takes for a formula: one apostrophe before it (no unit).

    Any text. Undone by `unguarded`.

    >>> guarded("=SUM(A1)"), guarded("Tug Heron"), unguarded(guarded("'=x"))
    ("'=SUM(A1)", 'Tug Heron', "'=x")
    """
    return f"'{text}" if _FORMULA.match(text) else text


def unguarded(cell: str) -> str:
    """The text that `guarded` made a cell of; other cells are left as they are.

    >>> unguarded("'-3 mm"), unguarded("'twas")
    ('-3 mm', "'twas")
    """
    return cell[1:] if _GUARDED.match(cell) else cell


@dataclass(frozen=True)
class Line:
    """One line of a table: its number in the file (from 1), its cells by column, and what is
    wrong with the line as a whole ('' if nothing is)."""

    number: int
    cells: Mapping[str, str]
    problem: str = ""


@dataclass(frozen=True)
class Table:
    """What a file holds: its lines, and headings that nobody knows what to do with."""

    lines: tuple[Line, ...]
    unknown: tuple[str, ...]
    separator: str


def read_table(
    lines: Sequence[str], columns: Mapping[str, str], needed: Iterable[str], *, most: int
) -> Table:
    """The lines of a table whose first line names its columns (no unit).

    columns: known headings in small letters and the column each stands for. needed: columns that
    must be there. most: lines taken. Separated by comma, semicolon, tab or bar, whichever makes
    most headings known. Raises FileRefused for a file without those headings, with a heading
    twice, or with more lines.

    >>> table = read_table(["Name;Scale", "Tug;1:72"], {"name": "name", "scale": "scale"},
    ...     ["name"], most=10)
    >>> table.lines[0].number, dict(table.lines[0].cells)
    (2, {'name': 'Tug', 'scale': '1:72'})
    """
    separator = max(SEPARATORS, key=lambda one: _known(lines, one, columns))
    rows = [(n, cells) for n, cells in records(lines, separator) if not _is_mark(cells)]
    if not rows or isinstance(rows[0][1], str):
        raise FileRefused("The first line does not name the columns.")
    headings = [_plain(cell) for cell in rows[0][1]]
    names = [columns.get(heading, "") for heading in headings]
    _check_headings(names, needed)
    if len(rows) - 1 > most:
        raise FileRefused(f"There are {len(rows) - 1:,} lines; {most:,} are taken at one go.")
    unknown = tuple(h[:LONGEST_SHOWN] for h, name in zip(headings, names, strict=True) if not name)
    read = tuple(_line(number, cells, names) for number, cells in rows[1:])
    return Table(read, tuple(filter(None, unknown)), separator)


def _known(lines: Sequence[str], separator: str, columns: Mapping[str, str]) -> int:
    """How many headings a separator makes known."""
    rows = (cells for _, cells in records(lines, separator) if not _is_mark(cells))
    first = next(rows, [])
    return sum(_plain(cell) in columns for cell in first) if isinstance(first, list) else 0


def _is_mark(cells: list[str] | str) -> bool:
    """Whether a line only tells spreadsheets the separator: 'sep=;'."""
    return isinstance(cells, list) and cells[0].strip().casefold().startswith("sep=")


def _plain(heading: str) -> str:
    return _HEADING.sub(" ", heading.strip().casefold()).strip()


def _check_headings(names: Sequence[str], needed: Iterable[str]) -> None:
    missing = [name for name in needed if name not in names]
    if missing:
        raise FileRefused(f"No column is called ‘{missing[0]}’: the first line names the columns.")
    for name in filter(None, names):
        if names.count(name) > 1:
            raise FileRefused(f"Two columns are called ‘{name}’.")


def _line(number: int, cells: list[str] | str, names: Sequence[str]) -> Line:
    if isinstance(cells, str):
        return Line(number, {}, cells)
    if len(cells) > len(names) and any(cell.strip() for cell in cells[len(names) :]):
        return Line(number, {}, f"it has {len(cells)} cells, the first line {len(names)}")
    pairs = zip(names, cells, strict=False)
    return Line(number, {name: unguarded(cell.strip()) for name, cell in pairs if name})
