"""The smallest light detail of the art: what the base has to carry."""

from __future__ import annotations

import math

import shapely
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

from decaljobs.craft.art.outlines import corner_and_shape, pieces

# mm; outlines are simplified to this before they are opened, for speed
COARSENESS = 0.005
# mm; how exactly the size is found
FINENESS = 0.005
# share; rest left in a corner by an opening is thinner than this share of the opening disc
CORNER_REST = 0.8
# mm and times; the first disc tried, and how much larger each next one is
SMALLEST, STEP = 0.15, 1.2
# mm; larger details are all alike to the knife
LARGEST = 8.0


def smallest_detail(light: BaseGeometry) -> float | None:
    """Width in mm of the thinnest stroke or smallest dot of the light areas; None without any.

    The least diameter of a disc that, moved about inside the light areas, leaves out more
    than corners (a morphological opening and its residue: J. Serra, Image Analysis and
    Mathematical Morphology, 1982, from memory). An inscribed circle would read too large
    where strokes meet; it is taken for parts without any detail under 8 mm.

    >>> letter = shapely.box(0, 0, 2, 4).union(shapely.box(2, 0, 5, 0.5))
    >>> round(smallest_detail(letter), 1)
    0.5
    """
    # copies of one marking have the same details
    parts = list({corner_and_shape(part)[1]: part for part in pieces(light)}.values())
    if not parts:
        return None
    smallest = min(_inscribed(part) for part in parts)
    for part in parts:
        smallest = _smallest_in(part.simplify(COARSENESS), smallest)
    return smallest


def _inscribed(part: Polygon) -> float:
    return 2 * float(shapely.maximum_inscribed_circle(part, tolerance=FINENESS / 4).length)


def _smallest_in(part: Polygon, known: float) -> float:
    """The smallest detail of a part, or `known` if that is smaller."""
    # a disc far too large leaves out a rest too thin to tell from a corner's, so rise in steps
    most = min(known, LARGEST)
    low, high = 0.0, min(SMALLEST, most)
    while not _leaves_out(part, high):
        if high >= most:
            return known
        low, high = high, min(high * STEP, most)
    while high - low > FINENESS:
        middle = (low + high) / 2
        if _leaves_out(part, middle):
            high = middle
        else:
            low = middle
    return (low + high) / 2


def _leaves_out(part: Polygon, diameter: float) -> bool:
    """Whether a disc of this diameter cannot reach more of the part than corners."""
    radius = diameter / 2
    opened = part.buffer(-radius, quad_segs=4).buffer(radius, quad_segs=8)
    thick = CORNER_REST * radius
    if part.area - opened.area < math.pi * thick**2 / 2:
        return False
    rest = shapely.difference(part, opened)
    return not rest.buffer(-thick, quad_segs=4).is_empty
