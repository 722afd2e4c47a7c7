"""A measurement as plain values for JSON, and the cut guides as an SVG drawing in mm."""

from __future__ import annotations

import math
from typing import Any
from xml.sax.saxutils import escape

from decaljobs.craft.art.advice import advice
from decaljobs.craft.art.drawing import DASHES, NAMES, box_path, closed_path, straight_path
from decaljobs.craft.artwork import Measurement
from decaljobs.craft.cutlines import CutLine
from decaljobs.craft.figures import short, told_chance

# digits after the point in mm: a micrometre is finer than any knife
DIGITS = 3
# mm; the stroke, and how long a dash is that the page's drawing counts as one stroke's width
LINE_WIDTH, DASH_UNIT = 0.15, 1 / 3


def to_json(found: Measurement) -> dict[str, Any]:
    """Plain values of a measurement, in mm, origin at the picture's top left corner, y down.

    Rounded to the micrometre; None for what is not known or has no bound.

    >>> from PIL import Image
    >>> from decaljobs.craft.artwork import measure
    >>> bar = Image.new("RGBA", (40, 20), "navy")
    >>> bar.paste("white", (8, 6, 32, 14))
    >>> values = to_json(measure(bar, width_mm=8))
    >>> values["height_mm"], values["band"]["min_mm"], values["base_cut"]["clearance_mm"]
    (4.0, 1.2, 0.6)
    """
    band = found.band
    line = found.base.line if found.base else None
    return {
        "width_mm": _rounded(found.width_mm),
        "height_mm": _rounded(found.height_mm),
        "islands": found.islands,
        "holes": found.holes,
        "band": {
            "min_mm": _rounded(band.min_mm if band else None),
            "min_at_mm": [_rounded(value) for value in band.min_at_mm] if band else None,
            "p05_mm": _rounded(band.p05_mm if band else None),
            "median_mm": _rounded(band.median_mm if band else None),
            "missing_mm": _rounded(band.missing_mm if band else None),
        },
        "base_cut": {**_line(line), "clearance_mm": _rounded(line.clearance_mm if line else None)},
        "clear_cut": _line(found.clear),
        "smallest_light_detail_mm": _rounded(found.smallest_light_detail_mm),
        "relief_cuts": [[list(map(_rounded, place)) for place in cut] for cut in found.relief_cuts],
        "clean_chance": None if found.clean_chance is None else told_chance(found.clean_chance),
        "band_for_95_mm": _rounded(found.band_for_95_mm),
        "advice": list(advice(found)),
    }


def to_svg(found: Measurement, title: str = "Cut guides") -> str:
    """SVG drawing of all cuts, one unit to the mm, told apart by their dashes and labelled.

    Solid: base cut. Long dashes: clear cut. Dots: relief cuts. Dash and dot: the rectangle to
    snip out. Each is a group with its name as id and title.

    >>> from PIL import Image
    >>> from decaljobs.craft.artwork import measure
    >>> bar = Image.new("RGBA", (40, 20), "navy")
    >>> bar.paste("white", (8, 6, 32, 14))
    >>> svg = to_svg(measure(bar, width_mm=8, clear_margin_mm=1))  # snipped 3 mm outside that
    >>> 'width="16.0' in svg, [f'<g id="{name}"' in svg for name in DASHES]
    (True, [True, True, True, True])
    """
    left, top, right, bottom = found.rectangle
    width, height = right - left, bottom - top
    base = found.base.line.rings if found.base else ()
    parts = [
        _group("base", [closed_path(ring[:-1]) for ring in base]),
        _group("clear", [closed_path(ring[:-1]) for ring in found.clear.rings]),
        _group("relief", [straight_path(cut) for cut in found.relief_cuts]),
        _group("rectangle", [box_path(found.rectangle)]),
    ]
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width:.3f}mm" height="{height:.3f}mm"'
        f' viewBox="{left:.3f} {top:.3f} {width:.3f} {height:.3f}">'
        f"<title>{escape(title)}</title>{''.join(parts)}</svg>"
    )


def _group(name: str, shapes: list[str]) -> str:
    dash = " ".join(short(float(part) * DASH_UNIT) for part in DASHES[name].split())
    dashed = f' stroke-dasharray="{dash}"' if dash else ""
    return (
        f'<g id="{name}" fill="none" stroke="#000000" stroke-width="{LINE_WIDTH}"'
        f' stroke-linejoin="round"{dashed}><title>{escape(NAMES[name].capitalize())}</title>'
        f"{''.join(shapes)}</g>"
    )


def _line(line: CutLine | None) -> dict[str, Any]:
    if line is None:
        return {"rings": [], "length_mm": 0.0, "tightest_radius_mm": None}
    return {
        "rings": [ring.round(DIGITS).tolist() for ring in line.rings],
        "length_mm": _rounded(line.length_mm),
        "tightest_radius_mm": _rounded(line.tightest_radius_mm),
    }


def _rounded(value: float | None) -> float | None:
    """The value to a micrometre; None for what is not known or has no bound."""
    if value is None or not math.isfinite(value):
        return None
    return round(float(value), DIGITS)
