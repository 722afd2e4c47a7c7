"""How much film the squeeze by outline saves on two kinds of decal sets, beside boxes.

    python -m tests.benchmarks.squeeze --seconds 40 [--counts 40 150 400] [--sets 2]
        [--of lettered plain] [--stretch 1]

Saved is the share of the strip's length that the nesting is shorter than the best layout in boxes
found in a second; nothing is saved where the squeeze is not kept. 'At most' is what would be
saved if outlines with their gap filled the strip without any waste, which no nesting can do.

*Plain* sets are discs, shields and text strips that are plain rectangles (`made_up_decals`): on
them at most 12 to 19 % could be saved, strips gain nothing, and equal discs, however they lie,
fill no more than 91 % (Thue's theorem). *Lettered* sets have the outlines of the example's own
drawings and of lettering as it is cut (`lettered_decals`), with 20 to 35 % of their boxes empty.
Both are printed, for neither stands for every maker.

Plain sets of up to 150 pieces fall short of what is wanted of all: as their strips gain nothing,
discs and shields of all sizes would have to fill 86 to 88 % of the rest; they are nested to 85 %.
Of them the sets 1 could save 12 % at most: half of their film is strips.

The squeeze counts wall time. On a machine that others use, --stretch gives it so many times as
much; the seconds of processor that its processes got are printed beside every result.
"""

from __future__ import annotations

import resource
import time
from argparse import ArgumentParser
from collections.abc import Callable
from statistics import fmean

from shapely import Polygon

from decaljobs.craft.layout.model import Piece
from decaljobs.craft.sheetlayout import lay_out_strip
from decaljobs.services.squeeze import nesting as squeezing
from decaljobs.services.squeeze.nesting import LONGEST, OutlinePiece, Squeezed, closest, squeeze
from tests.benchmarks.figures import Figure, tell
from tests.benchmarks.lettered_decals import lettered_set
from tests.benchmarks.made_up_decals import MadeUpDecal, made_up_set
from tests.benchmarks.strip import A4_WIDTH, GAP

SETS: dict[str, Callable[[int, int], list[MadeUpDecal]]] = {
    "lettered": lettered_set,
    "plain": made_up_set,
}


def measure(decals: list[MadeUpDecal], seconds: float) -> tuple[float, float, float, float]:
    """Percent saved, percent at most, and seconds of wall and of processor time."""
    boxes = [Piece(d.name, d.width, d.height, d.copies) for d in decals]
    length = lay_out_strip(boxes, A4_WIDTH, gap=GAP, clock=time.process_time).length
    area = sum(Polygon(d.outline).buffer(GAP / 2).area * d.copies for d in decals)
    least = area / (A4_WIDTH + GAP) - GAP
    outlines = [OutlinePiece(d.name, tuple(d.outline), d.copies) for d in decals]
    began, used = time.perf_counter(), _processor()
    nesting = squeeze(outlines, width=A4_WIDTH, gap=GAP, length=length, seconds=seconds)
    took, used = time.perf_counter() - began, _processor() - used
    most = 100 * (1 - least / length)
    if nesting is None:
        return 0.0, most, took, used
    check(nesting, decals)
    return 100 * nesting.saved / length, most, took, used


def _processor() -> float:
    """Seconds of processor time of all processes that were begun here and have ended."""
    ended = resource.getrusage(resource.RUSAGE_CHILDREN)
    return ended.ru_utime + ended.ru_stime


def check(nesting: Squeezed, decals: list[MadeUpDecal]) -> None:
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
    parser.add_argument("--of", nargs="+", choices=sorted(SETS), default=sorted(SETS))
    parser.add_argument("--stretch", type=float, default=1.0)
    options = parser.parse_args()
    seconds = options.seconds * options.stretch
    squeezing.LONGEST = max(LONGEST, seconds)
    for kind in options.of:
        for count in options.counts:
            saved = []
            for seed in range(options.sets):
                share, most, took, used = measure(SETS[kind](count, seed), seconds)
                print(
                    f"{count:4} {kind} decals, set {seed}: saves {share:5.1f} % "
                    f"(at most {most:4.1f} %), {took:4.1f} s, {used:4.1f} s of processor",
                    flush=True,
                )
                saved.append(share)
            said = f"film saved by outline, {count} {kind} decals, mean of {options.sets} sets"
            wanted = (9, 20) if count <= 150 else (4, 8)
            tell(Figure(said, fmean(saved), "%", *wanted, more=True))


if __name__ == "__main__":
    main()
