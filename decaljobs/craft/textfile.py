"""A file of text from outside: its bytes as text, and its lines divided into cells."""

from __future__ import annotations

import codecs
import csv
import io
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

SEPARATORS = {",": "comma", ";": "semicolon", "\t": "tab", "|": "bar"}
LONGEST_LINE = 10_000  # characters
LONGEST_QUOTE = 20  # lines that one quoted field may run over


class FileRefused(ValueError):
    """A file that cannot be read at all; the message says why."""


@dataclass(frozen=True)
class Text:
    """A file's bytes as text, and a word on its encoding where that had to be guessed."""

    text: str
    note: str = ""

    def lines(self) -> Iterator[str]:
        """The lines, ended by LF, CR LF or CR."""
        return iter(io.StringIO(self.text, newline=None))


def decode(data: bytes) -> Text:
    """The text of a file in UTF-8 or UTF-16, with or without a byte-order mark, or in Windows-1252.

    Raises FileRefused for an empty file, or for one that is no text.

    >>> decode(b"\\xef\\xbb\\xbfa,b").text
    'a,b'
    >>> decode(b"20 \\xb0C").note
    'It is not UTF-8; it was read as Windows-1252.'
    """
    if not data.strip():
        raise FileRefused("The file is empty.")
    if data.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)):
        return Text(_strict(data, "utf-16"))
    if data.count(0) > len(data) // 8:
        raise FileRefused("The file is no text: it is full of NUL bytes.")
    try:
        return Text(data.decode("utf-8-sig"))
    except UnicodeDecodeError:
        text = data.decode("cp1252", errors="replace")
        return Text(text, "It is not UTF-8; it was read as Windows-1252.")


def _strict(data: bytes, encoding: str) -> str:
    try:
        return data.decode(encoding)
    except UnicodeDecodeError as error:
        raise FileRefused("The file breaks off in the middle of a character.") from error


def records(lines: Iterable[str], separator: str) -> Iterator[tuple[int, list[str] | str]]:
    """Each record's line number (from 1) with its cells, or with the reason it has none.

    A quoted field may run over 20 lines; one that is never closed is refused by itself, and the
    lines behind it are read on their own.

    >>> list(records(['a,"b', 'c",d', '', 'e'], ","))
    [(1, ['a', 'b\\nc', 'd']), (4, ['e'])]
    """
    ahead = _Ahead(lines)
    while (line := ahead.next()) is not None:
        number = ahead.number
        if "\0" in line:
            yield number, "it holds NUL bytes"
        elif len(line) > LONGEST_LINE:
            yield number, f"it is longer than {LONGEST_LINE:,} characters"
        elif '"' in line:
            yield number, _quoted(line, ahead, separator)
        elif line and not line.isspace():
            yield number, line.split(separator)


class _Ahead:
    """Lines that can be looked at before they are taken."""

    def __init__(self, lines: Iterable[str]) -> None:
        self._lines = iter(lines)
        self._waiting: list[str] = []
        self.number = 0

    def next(self) -> str | None:
        line = self._waiting.pop(0) if self._waiting else next(self._lines, None)
        if line is None:
            return None
        self.number += 1
        return line.rstrip("\r\n")

    def look(self, count: int) -> list[str]:
        while len(self._waiting) < count and (line := next(self._lines, None)) is not None:
            self._waiting.append(line)
        return self._waiting[:count]


def _quoted(line: str, ahead: _Ahead, separator: str) -> list[str] | str:
    rest = ahead.look(LONGEST_QUOTE) if line.count('"') % 2 else []
    whole, taken = line, 0
    while whole.count('"') % 2 and taken < len(rest):
        whole += "\n" + rest[taken].rstrip("\r\n")
        taken += 1
    if whole.count('"') % 2 or len(whole) > LONGEST_LINE:
        return "a quotation mark is never closed"
    try:
        # Strict: a quotation mark inside a field would otherwise swallow the lines behind it.
        cells = next(csv.reader(io.StringIO(whole, newline=""), delimiter=separator, strict=True))
    except csv.Error:
        return "a quotation mark stands where none belongs"
    for _ in range(taken):
        ahead.next()
    return cells
