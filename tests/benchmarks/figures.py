"""What a benchmark reached, held against what is wanted at least and what is aimed at.

A benchmark tells each of its figures with `tell`, as one line that begins with '= '. Whoever runs
it reads them; `python -m tests.benchmarks` collects them from all benchmarks into one table.
"""

from __future__ import annotations

import json
from collections.abc import Iterable
from dataclasses import asdict, dataclass
from pathlib import Path

MARK = "= "
HEAD = ("| what | reached | at least | aim | |", "|---|---|---|---|---|")


@dataclass(frozen=True)
class Figure:
    """One figure. `more` is set where more is better; without limits it is only told."""

    what: str
    reached: float
    unit: str = ""
    at_least: float | None = None
    aim: float | None = None
    more: bool = False

    @property
    def verdict(self) -> str:
        """'aim met', 'met' or 'SHORT', against what is wanted."""
        if self._keeps(self.aim):
            return "aim met"
        if self._keeps(self.at_least):
            return "met"
        return "" if self.at_least is None and self.aim is None else "SHORT"

    def _keeps(self, limit: float | None) -> bool:
        if limit is None:
            return False
        return self.reached >= limit if self.more else self.reached <= limit

    @property
    def row(self) -> str:
        """One row of the table."""
        sign = "≥" if self.more else "≤"
        wanted = [
            f"{sign} {_number(v)}" if v is not None else "" for v in (self.at_least, self.aim)
        ]
        reached = f"{_number(self.reached)} {self.unit}".strip()
        return f"| {self.what} | {reached} | {wanted[0]} | {wanted[1]} | {self.verdict} |"


def _number(value: float) -> str:
    """Three digits that say something, and no more."""
    return f"{value:,.0f}" if abs(value) >= 1000 else f"{value:.3g}"


def tell(figure: Figure) -> None:
    """Print a figure for people and for `collected`."""
    print(MARK + json.dumps(asdict(figure), ensure_ascii=False), flush=True)


def collected(lines: Iterable[str]) -> list[Figure]:
    """The figures among the lines that a benchmark printed."""
    return [Figure(**json.loads(line[len(MARK) :])) for line in lines if line.startswith(MARK)]


@dataclass(frozen=True)
class Run:
    """What one benchmark reached when it was last run, when and where."""

    day: str
    machine: str
    figures: tuple[Figure, ...]


def read_runs(path: Path) -> dict[str, Run]:
    """The last run of every benchmark, by its name; none if the file is not there."""
    if not path.exists():
        return {}
    kept = json.loads(path.read_text(encoding="utf-8"))
    return {
        name: Run(**{**run, "figures": tuple(Figure(**one) for one in run["figures"])})
        for name, run in kept.items()
    }


def write_runs(path: Path, runs: dict[str, Run]) -> None:
    """Keep the last run of every benchmark."""
    kept = {name: asdict(run) for name, run in runs.items()}
    path.write_text(json.dumps(kept, ensure_ascii=False, indent=1) + "\n", encoding="utf-8")


def table(runs: dict[str, Run]) -> str:
    """One Markdown table, with a row above each benchmark's that says when and where it ran."""
    rows = list(HEAD)
    for name, run in runs.items():
        rows.append(f"| **{name}** ({run.day}, {run.machine}) | | | | |")
        rows += [figure.row for figure in run.figures]
    return "\n".join(rows)
