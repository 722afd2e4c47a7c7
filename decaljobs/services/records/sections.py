"""The records in sections: each a chart and its table, for page, paper and spreadsheet."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import datetime

from django.utils.text import capfirst

from decaljobs.craft.figures import counted, whole_percent
from decaljobs.craft.film.filmuse import FilmAccount
from decaljobs.craft.plan.minutes import TAUGHT
from decaljobs.craft.records.realwaits import WaitSummary, summed_up
from decaljobs.craft.records.record_charts import (
    Counted,
    Pair,
    bar_chart,
    pair_chart,
    rate_chart,
    trend_chart,
)
from decaljobs.craft.records.record_section import RecordSection
from decaljobs.craft.records.success import Rate
from decaljobs.services.film.filmuse import SheetFilm, all_film
from decaljobs.services.plan.benchminutes import Taken, minutes_taken
from decaljobs.services.records.mishaps import Mishaps, Row, mishaps
from decaljobs.services.records.realwaits import newest_waits

RATES = ("Good", "Spoiled", "Came out good", "90 % range")


def rate_sections(found: Mishaps) -> list[RecordSection]:
    """What came out good, by layer, step, size, person and quarter, and the causes."""
    tables = (
        ("layers", "By layer", found.layers),
        ("steps", "By step", found.steps),
        ("sizes", "By size", found.sizes),
        ("people", "By person", found.people),
    )
    rates = [_rates(name, title, rows) for name, title, rows in tables]
    return [*rates, _trend(found.trend), _causes(found.causes)]


def _rates(name: str, title: str, rows: Sequence[Row]) -> RecordSection:
    pairs = [(row.words, row.rate) for row in rows]
    chart = rate_chart(title, pairs) if any(row.rate.total for row in rows) else None
    return RecordSection(name, title, (title, *RATES), _rate_rows(rows) if chart else (), chart)


def _trend(rows: Sequence[Row]) -> RecordSection:
    title = "By quarter"
    chart = trend_chart(title, [(_short(row.words), row.rate) for row in rows]) if rows else None
    return RecordSection("quarters", title, (title, *RATES), _rate_rows(rows), chart)


def _short(quarter: str) -> str:
    """'2025, quarter 3' as it is written below a chart: 3/25."""
    year, number = quarter.split(", quarter ")
    return f"{number}/{year[2:]}"


def _rate_rows(rows: Iterable[Row]) -> tuple[tuple[str, ...], ...]:
    return tuple(
        (capfirst(row.words), str(row.rate.good), str(row.rate.spoiled), *_shares(row.rate))
        for row in rows
    )


def _shares(rate: Rate) -> tuple[str, str]:
    if rate.is_too_few:
        return f"too few yet ({rate.total})", ""
    return whole_percent(rate.share), f"{100 * rate.low:.0f} to {100 * rate.high:.0f} %"


def _causes(causes: Sequence[tuple[str, int]]) -> RecordSection:
    bars = [Counted(words, number, counted(number, "time")) for words, number in causes]
    return RecordSection(
        "causes",
        "Causes",
        ("What went wrong", "How often"),
        tuple((capfirst(words), str(number)) for words, number in causes),
        bar_chart("Causes", bars) if bars else None,
        empty="Nothing was spoiled yet. Say what went wrong when you log a spoiled layer or piece.",
    )


def minutes_section(taken: Iterable[Taken]) -> RecordSection:
    """Minutes at the bench by step: what is reckoned with, and what the log says it took."""
    rows, bars = [], []
    for row in taken:
        learned = row.learned
        said = f"{learned.minutes} min ({learned.gaps} times)" if learned else "too few yet"
        if row.doing not in TAUGHT:
            said = "the log does not tell"
        rows.append((capfirst(row.doing.words), f"{row.minutes} min", row.source, said))
        told = f"{row.minutes}, took {learned.minutes} min" if learned else f"{row.minutes} min"
        real = float(learned.minutes) if learned else None
        bars.append(Pair(row.doing.words, float(row.minutes), real, told))
    return RecordSection(
        "minutes",
        "Minutes at the bench",
        ("Work", "Reckoned with", "Where from", "By the log"),
        tuple(rows),
        pair_chart("Minutes at the bench", bars),
        note="Open bars: what the plan and the costs reckon with. Full bars: the median of what "
        "the makers' own log says laying took.",
    )


def waits_section(found: Sequence[WaitSummary]) -> RecordSection:
    """Waits by kind: hours that drying took in the room's air, and hours until hands went on."""
    return RecordSection(
        "waits",
        "Waits",
        ("Wait", "How many", "Drying took", "It lay", "Before its time", "Not dry yet, by touch"),
        tuple(_wait_row(wait) for wait in found),
        pair_chart("Waits", [_wait_pair(wait) for wait in found]) if found else None,
        note="Open bars: hours that drying took in the air of its room. Full bars: hours until "
        "hands went on. Medians; the newest work is counted.",
        empty="No wait is over yet.",
    )


def _wait_row(wait: WaitSummary) -> tuple[str, ...]:
    asked, lay = "too few yet", ""
    if not wait.is_too_few:
        asked = f"{wait.asked:.1f} h" if wait.asked is not None else "not known"
        lay = f"{wait.lay:.1f} h"
    counts = (str(wait.early), str(wait.not_yet))
    return (capfirst(wait.kind.words), str(wait.number), asked, lay, *counts)


def _wait_pair(wait: WaitSummary) -> Pair:
    if wait.is_too_few:
        return Pair(wait.kind.words, None, None, "too few yet")
    return Pair(wait.kind.words, wait.asked, wait.lay, f"{wait.lay:.1f} h")


def film_section(found: Iterable[SheetFilm]) -> RecordSection:
    """Where the film went, by kind: pieces, gaps between them, waste, and what is kept clean."""
    kinds: dict[str, FilmAccount] = {}
    opened: dict[str, int] = {}
    for film in found:
        sheet = film.sheet
        name = f"{sheet.get_film_display().capitalize()} film, {sheet.get_printer_display()}"
        kinds[name] = kinds.get(name, FilmAccount()) + film.account
        opened[name] = opened.get(name, 0) + (sheet.cut_from_id is None)
    together = sum(kinds.values(), FilmAccount())
    bars = [
        Counted(words, area, f"{100 * area / together.whole:.0f} %")
        for words, area in _parts(together).items()
        if together.whole
    ]
    return RecordSection(
        "film",
        "Where the film went",
        ("Film", "Sheets opened", *(capfirst(words) for words in _parts(FilmAccount())), "All"),
        tuple(
            (
                name,
                str(opened[name]),
                *(_area(area) for area in _parts(account).values()),
                _area(account.whole),
            )
            for name, account in sorted(kinds.items())
        ),
        bar_chart("Where the film went", bars) if bars else None,
        note="Gaps: a strip as wide as the sheet's gap at two sides of each piece. Kept clean: "
        "offcuts, and sheets not printed yet. The bars are of all film together.",
        empty="No sheet was opened yet.",
    )


def _parts(account: FilmAccount) -> dict[str, float]:
    return {
        "pieces": account.pieces,
        "gaps": account.gaps,
        "waste": account.waste,
        "kept clean": account.kept,
    }


def all_sections(*, moment: datetime) -> list[RecordSection]:
    """Every section of the records."""
    return [
        *rate_sections(mishaps(moment=moment)),
        minutes_section(minutes_taken().values()),
        waits_section(summed_up(newest_waits())),
        film_section(all_film()),
    ]


def _area(mm2: float) -> str:
    return f"{mm2 / 100:.1f} cm²"
