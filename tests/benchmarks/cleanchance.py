"""How far the chance of a clean edge lies off a simulation of 40,000 cuts each.

    python -m tests.benchmarks.cleanchance

On 140 edges that wave, by 1.6 to 17 mm and for five hands, their bands so wide that the chance
lies from 0.7 to 0.97, simulated on the line as it is; on discs, a star, a rectangle, eccentric
discs and letters as measured; and on pieces of a few millimetres. 0.02 is wanted at most.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import product

import numpy as np
from scipy.optimize import brentq

from decaljobs.craft.artwork import measure
from decaljobs.craft.knife.cutruns import CutRun
from decaljobs.craft.knife.hand import Hand
from decaljobs.craft.tolerance import clean_chance
from tests.benchmarks.figures import Figure, tell
from tests.craft.artshapes import box, disc, draw, lettering, polygon, star_in_star
from tests.craft.simulatedcuts import circle, fine_waves, simulated, waves

CUTS = 40_000
HANDS = [Hand(0.08, 0.08), Hand(0.1, 0.1), Hand(0.15, 0.15), Hand(0.1, 0.15), Hand(0.15, 0.05)]
ROUND = [(3, 5), (8, 32), (8, 20), (8, 16), (8, 12), (8, 7), (8, 3)]
DEPTHS = (0.1, 0.2, 0.3, 0.4)
# chances of which each edge gets the next
TOLD = (0.71, 0.75, 0.8, 0.85, 0.9, 0.93, 0.97)

Case = tuple[CutRun, CutRun, Hand]


def waving() -> Iterator[Case]:
    cases = product(HANDS, DEPTHS, ROUND)
    for number, (hand, depth, (radius, count)) in enumerate(cases):
        # a prime apart, so that each shape meets each chance
        told = TOLD[(number * 3 + number // 7) % len(TOLD)]

        def short(band: float, line=(radius, count, depth), hand=hand, told=told) -> float:
            return clean_chance([[waves(*line, band)]], hand) - told

        line = radius, count, depth, float(brentq(short, depth + 0.05, 4, xtol=0.005))
        yield waves(*line), fine_waves(*line), hand


def circles() -> Iterator[Case]:
    sizes = [(2, 0.8), (2, 1.0), (5, 0.9), (5, 1.2), (10, 1.0), (10, 1.3), (30, 1.1), (30, 1.5)]
    for radius, band in sizes:
        yield circle(radius, band), fine_waves(radius, 0, 0, band), Hand()


def tiny() -> Iterator[Case]:
    for radius, band in product((0.2, 0.4, 0.7, 1.2), (0.7, 0.8)):
        yield circle(radius, band), fine_waves(radius, 0, 0, band), Hand(0.15, 0.08)


def drawn() -> Iterator[Case]:
    star, inner = star_in_star(12, 12, 0.8)
    shapes = [
        (polygon(star), polygon(inner)),
        (box(12, 12, 20, 8), box(12, 12, 18.3, 6.3)),
        (disc(12, 12, 10), disc(12.3, 12, 9)),
    ]
    pictures = [draw(*shape, (24, 24), 300) for shape in shapes]
    pictures.append(lettering("Kav 42", 9, 0.9, 300))
    for picture in pictures:
        runs = [run for (run,) in measure(picture, dpi=300).base.runs]
        yield from ((run, run, hand) for run, hand in product(runs, HANDS))


KINDS = {
    "140 edges that wave": waving,
    "circles": circles,
    "pieces of a few mm": tiny,
    "a star, a rectangle, eccentric discs, letters": drawn,
}


def main() -> None:
    for name, kind in KINDS.items():
        off = []
        for number, (run, fine, hand) in enumerate(kind()):
            true = simulated(fine, hand, CUTS, seed=number)
            if true >= 0.7:
                off.append(clean_chance([[run]], hand) - true)
        errors = np.array(off)
        print(f"{name}: {len(off)} cases, mean {errors.mean():+.4f}, rms {_rms(errors):.4f}")
        worst = float(np.abs(errors).max())
        tell(Figure(f"chance of a clean edge off a simulation, {name}", worst, "", 0.02))


def _rms(errors: np.ndarray) -> float:
    return float(np.sqrt((errors**2).mean()))


if __name__ == "__main__":
    main()
