"""How much film the squeeze by outline saves on made-up decals, beside the layout in boxes.

    python -m tests.benchmarks.squeeze --seconds 40 [--counts 40 150 400] [--sets 2]

Saved is the share of the strip's length that the nesting is shorter than the best layout in boxes
found in a second; nothing is saved where the squeeze is not kept. 'At most' is what would be
saved if outlines with their gap filled the strip without any waste, which no nesting can do.
"""

from __future__ import annotations

import time
from argparse import ArgumentParser
from statistics import fmean

from shapely import Polygon

from decaljobs.craft.layoutmodel import Piece
from decaljobs.craft.sheetlayout import lay_out_strip
from decaljobs.services.squeeze import LONGEST, OutlinePiece, closest, squeeze
from tests.benchmarks.made_up_decals import MadeUpDecal, made_up_set
from tests.benchmarks.strip import A4_WIDTH, GAP


def measure(decals: list[MadeUpDecal], seconds: float) -> tuple[float, float, float]:
    """Percent saved, percent at most, and seconds of wall time."""
    boxes = [Piece(d.name, d.width, d.height, d.copies) for d in decals]
    length = lay_out_strip(boxes, A4_WIDTH, gap=GAP, clock=time.process_time).length
    area = sum(Polygon(d.outline).buffer(GAP / 2).area * d.copies for d in decals)
    least = area / (A4_WIDTH + GAP) - GAP
    outlines = [OutlinePiece(d.name, tuple(d.outline), d.copies) for d in decals]
    began = time.perf_counter()
    nesting = squeeze(outlines, width=A4_WIDTH, gap=GAP, length=length, seconds=seconds)
    took = time.perf_counter() - began
    if nesting is None:
        return 0.0, 100 * (1 - least / length), took
    check(nesting, decals)
    return 100 * nesting.saved / length, 100 * (1 - least / length), took


def check(nesting, decals: list[MadeUpDecal]) -> None:
    """Stop on a nesting that is wrong."""
    names = sorted(placed.name for placed in nesting.placements)
    inside = all(
        -0.02 <= x <= A4_WIDTH + 0.02 and -0.02 <= y <= nesting.length + 0.02
        for placed in nesting.placements
        for x, y in placed.outline
    )
    if names != sorted(d.name for d in decals for _ in range(d.copies)) or not inside:
        raise SystemExit("wrong counts, or outside")
    if closest(nesting.placements, GAP) < GAP - 0.02:
        raise SystemExit("too close")


def main() -> None:
    """The command line."""
    parser = ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--seconds", type=float, default=LONGEST)
    parser.add_argument("--counts", type=int, nargs="+", default=[40, 150, 400])
    parser.add_argument("--sets", type=int, default=2)
    options = parser.parse_args()
    for count in options.counts:
        saved = []
        for seed in range(options.sets):
            share, most, took = measure(made_up_set(count, seed), options.seconds)
            print(
                f"{count:4} decals, set {seed}: saves {share:5.1f} % (at most {most:4.1f} %), "
                f"{took:4.1f} s",
                flush=True,
            )
            saved.append(share)
        print(f"{count:4} decals: mean {fmean(saved):5.1f} %")


if __name__ == "__main__":
    main()
