"""One part of the records: a chart with its table, the same for page, paper and spreadsheet."""

from __future__ import annotations

from dataclasses import dataclass

from decaljobs.craft.drawings.drawn import Drawn


@dataclass(frozen=True)
class RecordSection:
    """A table with its chart; name is what its file is called, empty what is said of no rows."""

    name: str
    title: str
    headings: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    chart: Drawn | None = None
    note: str = ""
    empty: str = "Nothing to count yet."

    @property
    def labelled_rows(self) -> tuple[tuple[tuple[str, str], ...], ...]:
        """Each row's cells with their headings.

        >>> RecordSection("a", "A", ("What", "How often"), (("torn", "2"),)).labelled_rows
        ((('What', 'torn'), ('How often', '2')),)
        """
        return tuple(tuple(zip(self.headings, row, strict=True)) for row in self.rows)
