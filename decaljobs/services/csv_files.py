"""Tables as spreadsheets read them: CSV files in a zip."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any
from zipfile import ZipFile


@contextmanager
def csv_file(packed: ZipFile, name: str) -> Iterator[Any]:
    """A writer of the rows of one more table in a zip."""
    with packed.open(f"{name}.csv", "w") as opened:
        # The mark at its beginning tells spreadsheets that it is UTF-8.
        text = io.TextIOWrapper(opened, encoding="utf-8-sig", newline="")
        yield csv.writer(text)
        text.flush()
        text.detach()
