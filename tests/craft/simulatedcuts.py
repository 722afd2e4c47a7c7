"""Lines with a known room to cut along, and cuts drawn at random to tell their chance by."""

from __future__ import annotations

import numpy as np

from decaljobs.craft.knife.cutruns import CutRun, cut_run
from decaljobs.craft.knife.hand import Hand
from decaljobs.craft.knife.wander import WANDER

# share of the longest wave; less strong ones are nothing
NOTHING = 1e-6
# mm between the points of a line: as the base cut's own, and those that are simulated
SPACING, FINE = 0.05, 0.1


def circle(radius: float, band: float) -> CutRun:
    """A round line midway in an even band."""
    return waves(radius, 0, 0.0, band)


def waves(radius: float, count: int, depth: float, band: float) -> CutRun:
    """A round line midway in a band that waves as a cosine, as many times as counted."""
    turn, ring = _round(radius, SPACING)
    half = (band + depth * np.cos(count * turn)) / 2
    return cut_run(ring, half, half)


def fine_waves(radius: float, count: int, depth: float, band: float) -> CutRun:
    """The same line as it is: the room at every tenth of a millimetre, nothing evened out."""
    turn, ring = _round(radius, FINE)
    half = (band + depth * np.cos(count * turn)) / 2
    length = np.full(len(turn), 2 * np.pi * radius / len(turn))
    return CutRun(half, half, ring / radius, length)


def _round(radius: float, spacing: float) -> tuple[np.ndarray, np.ndarray]:
    # a number of points whose Fourier transform is quick
    points = 20 * max(1, round(2 * np.pi * radius / spacing / 20))
    turn = np.arange(points) * 2 * np.pi / points
    return turn, radius * np.column_stack([np.cos(turn), np.sin(turn)])


def simulated(run: CutRun, hand: Hand, cuts: int = 20_000, seed: int = 11) -> float:
    """Share of clean cuts: each a lay-down shift and a wandering knife, drawn at random.

    The knife's error is a periodic Gaussian process along the line, drawn by its spectrum
    (C. R. Dietrich and G. N. Newsam, SIAM Journal on Scientific Computing 18, 1997).
    """
    chance = np.random.default_rng(seed)
    length, count = run.length.sum(), len(run.length)
    along = np.arange(count) * length / count
    alike = sum(np.exp(-((along + lap * length) ** 2) / (2 * WANDER**2)) for lap in range(-30, 31))
    spectrum = np.sqrt(np.maximum(np.fft.rfft(alike / alike[0]).real, 0))
    spectrum = spectrum[spectrum > NOTHING * spectrum[0]] * np.sqrt(count / 2)
    clean = 0
    for first in range(0, cuts, 5000):
        some = min(5000, cuts - first)
        # what the Fourier transform of white noise is: independent, that of no wave real
        noise = chance.standard_normal((some, len(spectrum), 2)) @ [1, 1j]
        noise[:, 0] = noise[:, 0].real * np.sqrt(2)
        knife = hand.knife_mm * np.fft.irfft(noise * spectrum, n=count, axis=1)
        outward = chance.normal(0, hand.lay_down_mm, (some, 2)) @ run.normal.T
        within = (knife < run.outward - outward) & (-knife < run.inward + outward)
        clean += int(within.all(axis=1).sum())
    return clean / cuts
