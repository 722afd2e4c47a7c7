"""General packing libraries on the same instances, for comparison in development only."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import product
from typing import Any

import rectpack
import spyrrow
from rectpack import guillotine, maxrects, skyline

PER_MM = 1000
ALGORITHMS = (
    maxrects.MaxRectsBl,
    maxrects.MaxRectsBssf,
    maxrects.MaxRectsBaf,
    maxrects.MaxRectsBlsf,
    skyline.SkylineBl,
    skyline.SkylineBlWm,
    skyline.SkylineMwf,
    skyline.SkylineMwfl,
    skyline.SkylineMwfWm,
    guillotine.GuillotineBssfSas,
    guillotine.GuillotineBafSas,
)
SORTS = (rectpack.SORT_AREA, rectpack.SORT_LSIDE, rectpack.SORT_SSIDE, rectpack.SORT_PERI)


def lengths(instance: Any, seconds: float) -> Iterator[tuple[str, float]]:
    """Name and strip length, mm, of each library on an instance of the benchmark."""
    yield "rectpack", _rectpack(instance)
    yield "spyrrow", _spyrrow(instance, seconds)


def _rectpack(instance: Any) -> float:
    """The shortest strip of all variants."""
    gap = round(instance.gap * PER_MM)
    width = round(instance.width * PER_MM) + gap
    sides = [
        (round(p.width * PER_MM) + gap, round(p.height * PER_MM) + gap)
        for p in instance.pieces
        for _ in range(p.copies)
    ]
    longest = sum(max(pair) for pair in sides)
    best = longest
    for algorithm, sort in product(ALGORITHMS, SORTS):
        packer = rectpack.newPacker(
            mode=rectpack.PackingMode.Offline, pack_algo=algorithm, sort_algo=sort, rotation=True
        )
        packer.add_bin(width, longest)
        for pair in sides:
            packer.add_rect(*pair)
        packer.pack()
        laid = packer.rect_list()
        if len(laid) == len(sides):
            best = min(best, max(y + height for _, _, y, _, height, _ in laid))
    return (best - gap) / PER_MM


def _spyrrow(instance: Any, seconds: float) -> float:
    """Gapped boxes as outlines, in quarter turns."""
    gap = instance.gap
    items = [
        spyrrow.Item(p.name, _box(p.width + gap, p.height + gap), p.copies, [0.0, 90.0])
        for p in instance.pieces
    ]
    strip = spyrrow.StripPackingInstance("strip", instance.width + gap, items)
    config = spyrrow.StripPackingConfig(total_computation_time=max(1, round(seconds)), seed=0)
    return strip.solve(config).width - gap


def _box(width: float, height: float) -> list[tuple[float, float]]:
    return [(0, 0), (width, 0), (width, height), (0, height)]
