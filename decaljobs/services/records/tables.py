"""The records, stores and costs as tables for a spreadsheet: one CSV file each, in a zip."""

from __future__ import annotations

import zipfile
from collections.abc import Iterable
from datetime import datetime
from typing import IO

from decaljobs.craft.records.record_section import RecordSection
from decaljobs.craft.tables import guarded
from decaljobs.models import Decal, Project
from decaljobs.services.csv_files import csv_file
from decaljobs.services.money.costs import ledger_of
from decaljobs.services.money.rates import rules
from decaljobs.services.one_moment import one_moment
from decaljobs.services.records.realwaits import newest_waits
from decaljobs.services.records.sections import all_sections
from decaljobs.services.stores.on_hand import held

#: Projects whose ledgers are read at one go.
AT_ONCE = 500


def write_record_tables(file: IO[bytes], *, moment: datetime) -> None:
    """All records, one CSV file a table, as spreadsheets read it."""
    rules()  # made on the first look, which would be a change
    with one_moment(), zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED) as packed:
        for section in _tables(moment):
            with csv_file(packed, section.name) as written:
                written.writerow(section.headings)
                written.writerows([guarded(cell) for cell in row] for row in section.rows)


def _tables(moment: datetime) -> Iterable[RecordSection]:
    yield from all_sections(moment=moment)
    yield _each_wait()
    yield _costs()
    yield _stores(moment)


def _each_wait() -> RecordSection:
    return RecordSection(
        "waits-each",
        "Each wait",
        ("What", "Wait", "Began (UTC)", "Drying took, h", "It lay, h", "Before its time"),
        tuple(
            (
                wait.thing,
                wait.kind.words,
                f"{wait.since:%Y-%m-%dT%H:%M:%SZ}",
                "" if wait.asked is None else f"{wait.asked:.2f}",
                f"{wait.lay:.2f}",
                "yes" if wait.early else "no",
            )
            for wait in newest_waits()
        ),
    )


def _costs() -> RecordSection:
    """A line for each thing that each decal has cost."""
    return RecordSection(
        "costs",
        "Costs",
        ("Project", "Customer", "Decal", "What", "Reckoned", "Amount", "Currency"),
        tuple(_cost_rows()),
    )


def _cost_rows() -> Iterable[tuple[str, ...]]:
    projects = list(Project.objects.kept().order_by("pk"))
    for first in range(0, len(projects), AT_ONCE):
        some = projects[first : first + AT_ONCE]
        mine = ledger_of(some).by(lambda decal: decal)
        decals = Decal.objects.filter(project__in=some).select_related("project")
        for decal in decals.order_by("project", "place", "number"):
            ledger = mine[decal.pk]
            for currency in ledger.currencies:
                for line in ledger.cost(currency).lines:
                    whose = (decal.project.code, decal.project.customer, decal.words)
                    said = (line.words, line.reckoning, str(line.amount), currency)
                    yield (*whose, *said)


def _stores(moment: datetime) -> RecordSection:
    return RecordSection(
        "stores",
        "Stores",
        ("Supply", "What it is", "There should be", "Unit", "The work ahead needs", "Good until"),
        tuple(
            (
                row.supply.name,
                row.supply.get_kind_display(),
                str(row.stock),
                row.supply.unit,
                str(row.needed),
                row.good_until.isoformat() if row.good_until else "",
            )
            for row in held(moment=moment)
        ),
    )
