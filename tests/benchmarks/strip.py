"""How much film the layout wastes on an endless strip, on public instances and made-up decals.

    python -m tests.benchmarks.strip FOLDER --seconds 1
    python -m tests.benchmarks.strip --decals --seconds 1 [--straight-cuts] [--apart] [--peers]

FOLDER holds *_items.csv (ID, WIDTH, HEIGHT, maybe COPIES) and *_bins.csv (strip WIDTH; HEIGHT is
the known optimum). Utilisation is piece area ÷ (strip width × length), with --decals both with
one gap added to every side. Every layout is checked here for overlap, bounds, counts and, with
straight cuts, for coming apart.
"""

from __future__ import annotations

import csv
import time
from argparse import ArgumentParser, Namespace
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from statistics import fmean

from decaljobs.craft.layout.model import Piece
from decaljobs.craft.sheetlayout import improve_strip
from tests.benchmarks.figures import Figure, tell
from tests.benchmarks.layout_checks import (
    boxes_of,
    closest_pair,
    comes_apart,
    outside,
    wrong_counts,
)
from tests.benchmarks.made_up_decals import made_up_set

A4_WIDTH, GAP = 210.0, 3.0
# Percent of the strip, at least and aimed at; straight cuts may have so many points less.
WANTED = {
    "C": (98.5, 99.6),
    "BKW": (99.2, 100.0),
    "40 decals": (95.0, 97.0),
    "150 decals": (98.0, 98.8),
    "400 decals": (98.8, 99.5),
}
STRAIGHT_LESS = 3.0, 1.5
CLOCKS = {"wall": time.perf_counter, "cpu": time.process_time}


@dataclass(frozen=True)
class Instance:
    """Pieces for one strip, mm."""

    name: str
    width: float
    gap: float
    pieces: tuple[Piece, ...]

    @property
    def area(self) -> float:
        """Gapped area of all pieces, mm²."""
        return sum((p.width + self.gap) * (p.height + self.gap) * p.copies for p in self.pieces)

    def utilisation(self, length: float) -> float:
        """Gapped area of the pieces over that of the strip, percent."""
        return 100 * self.area / ((self.width + self.gap) * (length + self.gap))


def read_folder(folder: Path) -> list[Instance]:
    """Every instance of a folder, equal pieces joined."""
    return [_read(items) for items in sorted(folder.glob("*_items.csv"))]


def _read(items: Path) -> Instance:
    name = items.name.removesuffix("_items.csv")
    with (items.parent / f"{name}_bins.csv").open(newline="") as lines:
        width = float(next(csv.DictReader(lines))["WIDTH"])
    copies: dict[tuple[float, float], int] = {}
    with items.open(newline="") as lines:
        for row in csv.DictReader(lines):
            sides = float(row["WIDTH"]), float(row["HEIGHT"])
            sides = max(sides), min(sides)
            copies[sides] = copies.get(sides, 0) + int(row.get("COPIES") or 1)
    pieces = tuple(Piece(f"{w:g}x{h:g}", w, h, number) for (w, h), number in copies.items())
    return Instance(name, width, 0.0, pieces)


def decal_instances(sets: int) -> Iterator[Instance]:
    """Made-up sets of 40, 150 and 400 decals."""
    for count in (40, 150, 400):
        for seed in range(sets):
            pieces = tuple(
                Piece(d.name, d.width, d.height, d.copies) for d in made_up_set(count, seed)
            )
            yield Instance(f"{count} decals, set {seed}", A4_WIDTH, GAP, pieces)


def measure(instance: Instance, options: Namespace) -> tuple[float, float, float]:
    """Utilisation in percent after checks, ms to the first layout, and s to the last."""
    clock = CLOCKS[options.clock]
    began = clock()
    first = last = layout = None
    for better in improve_strip(
        instance.pieces,
        instance.width,
        gap=instance.gap,
        seconds=options.seconds,
        seed=options.seed,
        straight_cuts=options.straight_cuts,
        together=options.decals and not options.apart,
        clock=clock,
    ):
        layout, last = better, clock() - began
        first = last if first is None else first
    check(instance, layout, options.straight_cuts)
    return instance.utilisation(layout.length), 1000 * first, last


def check(instance: Instance, layout, straight_cuts: bool) -> None:
    """Stop the benchmark on a layout that is wrong."""
    boxes = boxes_of(layout.placements)
    wanted = {p.name: (p.width, p.height, p.copies) for p in instance.pieces}
    faults = {
        "too close": closest_pair(boxes, instance.gap),
        "outside": outside(boxes, 0, 0, instance.width, layout.length),
        "wrong counts": wrong_counts(boxes, wanted),
        "does not come apart": straight_cuts and not comes_apart(boxes),
    }
    found = {what: which for what, which in faults.items() if which}
    if found:
        raise SystemExit(f"{instance.name}: {found}")


def run(instances: list[Instance], options: Namespace) -> None:
    """Print every instance and the mean of every group of instances."""
    if options.peers:
        from tests.benchmarks import peers  # brings libraries that only development has
    results: dict[str, list[float]] = {}
    firsts = []
    for instance in instances:
        used, first, last = measure(instance, options)
        firsts.append(first)
        line = f"{instance.name:24} {used:6.2f} %   first {first:6.1f} ms, last {last:5.2f} s"
        if options.peers:
            line += "".join(
                f"   {name} {instance.utilisation(length):6.2f} %"
                for name, length in peers.lengths(instance, options.seconds)
            )
        print(line, flush=True)
        results.setdefault(_group(instance.name), []).append(used)
    for group, values in results.items():
        print(f"mean of {group:16} {fmean(values):6.2f} %   worst {min(values):6.2f} %")
        straight = ", straight cuts" if options.straight_cuts else ""
        said = f"strip filled, {group}{straight}, {options.seconds:g} s, mean of {len(values)}"
        wanted = WANTED.get(group, (None, None))
        if straight:
            wanted = wanted[0] - STRAIGHT_LESS[0], wanted[1] - STRAIGHT_LESS[1]
        tell(Figure(said, fmean(values), "%", *wanted, more=True))
    if options.decals:
        tell(Figure("first layout, slowest of all", max(firsts), "ms", 50, 20))


def _group(name: str) -> str:
    """'C1_2' → 'C', 'BKW3' → 'BKW', '40 decals, set 1' → '40 decals'."""
    return name.split(",")[0] if "," in name else name.rstrip("0123456789_")


def main() -> None:
    """The command line."""
    parser = ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("folder", nargs="?", type=Path, help="instances as in the module's text")
    parser.add_argument("--seconds", type=float, default=1.0)
    parser.add_argument("--seed", type=int, default=0)
    parser.add_argument("--decals", action="store_true", help="made-up decals, gap 3 mm, A4")
    parser.add_argument("--sets", type=int, default=5, help="made-up sets of each size")
    parser.add_argument("--straight-cuts", action="store_true")
    parser.add_argument("--apart", action="store_true", help="copies need not lie together")
    parser.add_argument("--clock", choices=sorted(CLOCKS), default="wall")
    parser.add_argument("--peers", action="store_true", help="rectpack and spyrrow beside ours")
    options = parser.parse_args()
    if (options.folder is None) != options.decals:
        parser.error("give either a FOLDER or --decals")
    instances = read_folder(options.folder) if options.folder else []
    if options.decals:
        instances = list(decal_instances(options.sets))
    if not instances:
        parser.error(f"no *_items.csv in {options.folder}")
    run(instances, options)


if __name__ == "__main__":
    main()
