"""The outline by which a decal is nested among others. Lengths in mm, y down as in the picture."""

from __future__ import annotations

import math

import numpy as np
import shapely
from PIL import Image
from shapely.geometry import MultiPolygon, Polygon, box

from decaljobs.craft.art.coverage import SPECK_MM2, coverage, without_specks
from decaljobs.craft.art.outlines import outlines, pieces
from decaljobs.craft.knife.hand import CLEAR_MARGIN
from decaljobs.craft.layout.place import Ring
from decaljobs.craft.units import LEAST_ART_MM, MOST_ART_MM

#: A picture is reduced to about this many mm a pixel: nesting needs no more.
PIXEL = 0.1
#: The outline keeps this many mm of air to the art, and its corners lie that much apart.
FLATNESS = 0.05
#: Gaps between letters are closed as the clear cut closes them, then twice as wide, and so on.
CLOSINGS = tuple(CLEAR_MARGIN * 2**step for step in range(5))


def outline_of_picture(image: Image.Image, width_mm: float) -> Ring:
    """Outline in mm from the top left corner of a picture `width_mm` (0.5 to 2000) wide.

    One closed ring round all its art, holes filled, inside the picture's own rectangle. A blank
    picture counts as all art. Raises ValueError for a width out of range.

    >>> art = Image.new("RGBA", (60, 30))
    >>> art.paste("#203040", (0, 0, 60, 10))
    >>> round(Polygon(outline_of_picture(art, 30)).area)
    151
    """
    if not LEAST_ART_MM <= width_mm <= MOST_ART_MM:
        raise ValueError(f"a picture is {LEAST_ART_MM} to {MOST_ART_MM} mm wide, not {width_mm:g}")
    factor = max(1, math.floor(PIXEL * image.width / width_mm))
    small = image.reduce(factor) if factor > 1 else image
    pixel = width_mm * factor / image.width
    cover = without_specks(np.asarray(coverage(small)), SPECK_MM2 / pixel**2)
    sides = width_mm, width_mm * image.height / image.width
    return nesting_outline(outlines(cover, pixel, SPECK_MM2), *sides)


def nesting_outline(silhouette: MultiPolygon, width: float, height: float) -> Ring:
    """One ring in mm round all parts of a silhouette, within its box of width × height mm.

    Gaps narrower than the clear cut would follow are closed; parts that lie further apart are
    joined by closing wider gaps, at last by their hull. An empty silhouette gives the box.

    >>> two = MultiPolygon([box(0, 0, 9, 4), box(10, 0, 19, 4)])
    >>> 75 < Polygon(nesting_outline(two, 19, 4)).area <= 76
    True
    """
    frame = box(0, 0, width, height)
    solid = shapely.union_all([Polygon(part.exterior) for part in pieces(silhouette)])
    if solid.is_empty:
        return _ring(frame)
    joined = next((shape for r in CLOSINGS if (shape := _closed(solid, r))), solid.convex_hull)
    airy = joined.buffer(FLATNESS).simplify(FLATNESS)
    inside = [part for part in pieces(airy.intersection(frame)) if part.area > SPECK_MM2]
    return _ring(inside[0]) if len(inside) == 1 else _ring(frame)


def _closed(solid: shapely.Geometry, radius: float) -> Polygon | None:
    """The shape with gaps up to 2 × radius mm closed, if that leaves one part."""
    grown = solid.buffer(radius)
    if not isinstance(grown, Polygon):
        return None
    back = Polygon(grown.exterior).buffer(-radius).union(solid)
    return Polygon(back.exterior) if isinstance(back, Polygon) else None


def _ring(shape: Polygon) -> Ring:
    corners = shapely.get_coordinates(shape.exterior)[:-1]
    return tuple((round(float(x), 3), round(float(y), 3)) for x, y in corners)
