"""How full the layout makes offcuts before it opens a sheet, on made-up decals.

    python -m tests.benchmarks.offcuts --seconds 1 [--straight-cuts] [--sets 5]

Every set is laid out on three offcuts and on as many A4 sheets as it takes, with a gap of 3 mm.
Fullness is the gapped area of the pieces on an offcut over the offcut's own, both with one gap
added. Layouts are checked here for overlap, bounds and counts and, with straight cuts, for
coming apart. Time is the process's own, so that others on the machine do not count.
"""

from __future__ import annotations

import time
from argparse import ArgumentParser
from statistics import fmean

from decaljobs.craft.layout.model import Layout, Offcut, Piece, Sheet
from decaljobs.craft.sheetlayout import lay_out
from tests.benchmarks.figures import Figure, tell
from tests.benchmarks.layout_checks import (
    boxes_of,
    closest_pair,
    comes_apart,
    outside,
    wrong_counts,
)
from tests.benchmarks.made_up_decals import made_up_set

GAP = 3.0
SHEET = Sheet(210, 297, margin=7)
#: What sheets of A4 leave over: across the foot, down the right, and a corner of both.
OFFCUTS = (
    Offcut("foot", 196, 80),
    Offcut("right", 90, 283),
    Offcut("corner", 120, 100),
)


def check(layout: Layout, pieces: list[Piece], straight_cuts: bool) -> None:
    """Stop the benchmark on a layout that is wrong."""
    sides = {offcut.name: (0, 0, offcut.width, offcut.height) for offcut in OFFCUTS}
    inside = (SHEET.margin, SHEET.margin, SHEET.width - SHEET.margin, SHEET.height - SHEET.margin)
    everything = []
    for sheet in layout.sheets:
        boxes = boxes_of(sheet.placements)
        everything += boxes
        wrong = closest_pair(boxes, GAP) or outside(boxes, *sides.get(sheet.source, inside))
        if wrong or (straight_cuts and not comes_apart(boxes)):
            raise SystemExit(f"{sheet.source} is wrong: {wrong or 'does not come apart'}")
    if wrong_counts(everything, {p.name: (p.width, p.height, p.copies) for p in pieces}):
        raise SystemExit("wrong counts")


def main() -> None:
    """The command line."""
    parser = ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--seconds", type=float, default=1.0)
    parser.add_argument("--counts", type=int, nargs="+", default=[40, 150, 400])
    parser.add_argument("--sets", type=int, default=5)
    parser.add_argument("--straight-cuts", action="store_true")
    options = parser.parse_args()
    for count in options.counts:
        filled: list[float] = []
        for seed in range(options.sets):
            pieces = [Piece(d.name, d.width, d.height, d.copies) for d in made_up_set(count, seed)]
            layout = lay_out(
                pieces,
                SHEET,
                offcuts=OFFCUTS,
                gap=GAP,
                seconds=options.seconds,
                straight_cuts=options.straight_cuts,
                clock=time.process_time,
            )
            check(layout, pieces, options.straight_cuts)
            # The last film is cut short, and full by that: it says nothing of filling.
            full = [
                100 * sheet.fullness
                for sheet in layout.sheets[:-1]
                if sheet.source in {offcut.name for offcut in OFFCUTS}
            ]
            filled += full
            said = ", ".join(f"{value:5.1f}" for value in full)
            film = layout.film_mm2 / 100
            print(
                f"{count:4} decals, set {seed}: {said} % full, {film:6.0f} cm² in all", flush=True
            )
        print(f"{count:4} decals: mean {fmean(filled):5.1f} %, worst {min(filled):5.1f} %")
        straight = ", straight cuts" if options.straight_cuts else ""
        said = f"offcuts filled, {count} decals{straight}, mean of {options.sets} sets"
        tell(Figure(said, fmean(filled), "%", 96, 98, more=True))


if __name__ == "__main__":
    main()
