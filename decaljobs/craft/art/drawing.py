"""The drawing of measured art for a page: the art, where the knife runs, the narrowest place."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any
from xml.sax.saxutils import quoteattr

import numpy as np
import numpy.typing as npt
import shapely
from shapely.geometry import LinearRing

Ring = list[list[float]]

# told apart by dash as well as by colour; in units of the stroke's own width
DASHES = {"base": "", "clear": "6 3", "relief": "1.5 2.5", "rectangle": "8 3 1.5 3"}
NAMES = {
    "base": "base cut, on white film",
    "clear": "clear cut, on clear film",
    "relief": "relief cuts",
    "rectangle": "rectangle to snip out",
}
# what stands on each line, and where on the drawing it is sought: share of width and of height
LABELS = {"base": ("base", 0.5, 0.0), "clear": ("clear", 0.5, 1.0), "relief": ("relief", 1.0, 0.5)}
# of the drawing's width: lines as thin as can be seen, and the ring round the narrowest place
THIN, MARK = 1 / 400, 1 / 30
# of the drawing's width: the height of a label's letters, and how far from the rim it stays
LETTERS, INSIDE = 1 / 28, 1 / 14
# of the drawing's width: a bend of a line that cannot be seen
UNSEEN = 1 / 8000
# places of a straight cut where its label may stand
STRAIGHT_PLACES = 50


@dataclass(frozen=True)
class Frame:
    """What part of the art is shown, in mm from the picture's top left corner."""

    left: float
    top: float
    width: float
    height: float

    @property
    def view_box(self) -> str:
        """As SVG writes it: left, top, width and height in mm."""
        return f"{self.left:.3f} {self.top:.3f} {self.width:.3f} {self.height:.3f}"


def frame_of(
    rectangle: Iterable[float], zoom: float = 1, at: Iterable[float] | None = None
) -> Frame:
    """The frame in mm round the snipped rectangle, or closer in by a zoom (1 to 32) on a place.

    rectangle: left, top, right and foot; at: x and y, both in mm. Raises ValueError for a zoom out
    of range.

    >>> frame_of([0, 0, 40, 20], zoom=4, at=[10, 10])
    Frame(left=5.0, top=7.5, width=10.0, height=5.0)
    """
    if not 1 <= zoom <= 32:
        raise ValueError("the zoom lies from 1 to 32")
    left, top, right, bottom = rectangle
    width, height = (right - left) / zoom, (bottom - top) / zoom
    x, y = at or ((left + right) / 2, (top + bottom) / 2)
    return Frame(x - width / 2, y - height / 2, width, height)


def art_svg(
    found: Mapping[str, Any],
    drawing: Mapping[str, Any],
    *,
    picture: str,
    size_mm: tuple[float, float],
    frame: Frame,
    label: str,
) -> str:
    """Inline SVG in mm of the art with its cuts, without any style of its own.

    found: a measurement's plain values, as `guides.to_json` gives them. drawing: what else is
    drawn, its "rectangle" as left, top, right, bottom. picture: the address of the art's picture,
    size_mm what it measures. Classes: `cut-base`, `cut-clear`, `cut-relief`, `cut-rectangle`,
    `cut-narrowest`.

    >>> uncut = {"rings": []}
    >>> found = {"clear_cut": uncut, "base_cut": uncut, "relief_cuts": [[[0, 5], [4, 5]]],
    ...     "band": {"min_at_mm": [5, 4]}}
    >>> svg = art_svg(found, {"rectangle": [0, 0, 20, 10]}, picture="/art.png", size_mm=(12, 2),
    ...     frame=frame_of([0, 0, 20, 10]), label="The tail")
    >>> 'd="M0.000,5.000 4.000,5.000"' in svg, 'cx="5.000" cy="4.000"' in svg
    (True, True)
    """
    thin = frame.width * THIN
    parts = [
        f'<image href={quoteattr(picture)} width="{size_mm[0]:.3f}" height="{size_mm[1]:.3f}"'
        ' preserveAspectRatio="none"/>',
        _lines("rectangle", [box_path(drawing["rectangle"])], thin),
        _lines("clear", _paths(found["clear_cut"]["rings"], frame), thin),
        _lines("base", _paths(found["base_cut"]["rings"], frame), thin),
        _lines("relief", map(straight_path, found["relief_cuts"]), thin),
        _narrowest(found["band"]["min_at_mm"], frame.width * MARK, thin),
        _label("base", found["base_cut"]["rings"], frame),
        _label("clear", found["clear_cut"]["rings"], frame),
        _label("relief", found["relief_cuts"], frame),
    ]
    return (
        f'<svg class="art-drawing" role="img" aria-label={quoteattr(label)}'
        f' viewBox="{frame.view_box}">{"".join(parts)}</svg>'
    )


def legend_svg(kind: str) -> str:
    """A short stroke as the drawing draws this cut, for the words beside it.

    >>> "stroke-dasharray" in legend_svg("clear")
    True
    """
    stroke = _lines(kind, ['<path d="M1 4H39"/>'], 1.5)
    return (
        '<svg class="cut-sample" viewBox="0 0 40 8" width="40" height="8" aria-hidden="true">'
        f"{stroke}</svg>"
    )


def _lines(kind: str, shapes: Iterable[str], thin: float) -> str:
    dash = " ".join(f"{float(part) * thin:.4g}" for part in DASHES[kind].split())
    dashed = f' stroke-dasharray="{dash}"' if dash else ""
    return (
        f'<g class="cut-{kind}" fill="none" stroke="#000000" stroke-width="{thin:.4g}"'
        f' stroke-linejoin="round"{dashed}>{"".join(shapes)}</g>'
    )


def _label(kind: str, lines: Iterable[Ring], frame: Frame) -> str:
    """The word for a line on it, where it shows and is nearest to the place meant for the word."""
    word, across, down = LABELS[kind]
    aim = np.array([frame.left + across * frame.width, frame.top + down * frame.height])
    corner, size = np.array([frame.left, frame.top]), np.array([frame.width, frame.height])
    places = _places(lines)
    rim = frame.width * INSIDE
    shown = places[((places - corner > rim) & (corner + size - places > rim)).all(axis=1)]
    if not len(shown):
        return ""
    x, y = shown[np.hypot(*(shown - aim).T).argmin()].tolist()
    letters = frame.width * LETTERS
    return (
        f'<text class="cut-label" x="{x:.3f}" y="{y + letters / 3:.3f}" font-size="{letters:.4g}"'
        f' text-anchor="middle" stroke-width="{letters / 4:.4g}">{word}</text>'
    )


def _places(lines: Iterable[Ring]) -> npt.NDArray[np.float64]:
    """Places along lines in mm: the points of a ring, and some along a straight cut."""
    places = [
        np.linspace(line[0], line[1], STRAIGHT_PLACES) if len(line) == 2 else np.array(line)
        for line in lines
    ]
    return np.concatenate(places) if places else np.zeros((0, 2))


def _paths(rings: Iterable[Ring], frame: Frame) -> list[str]:
    """Paths of closed rings, without the points that could not be seen missing."""
    lines = shapely.simplify([LinearRing(ring) for ring in rings], frame.width * UNSEEN)
    return [closed_path(shapely.get_coordinates(line)[:-1].tolist()) for line in lines]


def closed_path(points: Iterable[Sequence[float]]) -> str:
    """An SVG path through points in mm, the first not repeated, and back to it.

    >>> closed_path([(0, 0), (3, 0), (3, 4)])
    '<path d="M0.000,0.000 3.000,0.000 3.000,4.000Z"/>'
    """
    return f'<path d="M{_places_of(points)}Z"/>'


def straight_path(cut: Iterable[Sequence[float]]) -> str:
    """An SVG path straight from point to point in mm.

    >>> straight_path([(0, 5), (4, 5)])
    '<path d="M0.000,5.000 4.000,5.000"/>'
    """
    return f'<path d="M{_places_of(cut)}"/>'


def box_path(rectangle: Iterable[float]) -> str:
    """An SVG rectangle from its left, top, right and bottom in mm.

    >>> box_path([0, 0, 20, 10])
    '<rect x="0.000" y="0.000" width="20.000" height="10.000"/>'
    """
    left, top, right, bottom = rectangle
    return (
        f'<rect x="{left:.3f}" y="{top:.3f}" width="{right - left:.3f}"'
        f' height="{bottom - top:.3f}"/>'
    )


def _places_of(points: Iterable[Sequence[float]]) -> str:
    return " ".join(f"{x:.3f},{y:.3f}" for x, y in points)


def _narrowest(place: Iterable[float] | None, radius: float, thin: float) -> str:
    if place is None:
        return ""
    x, y = place
    return (
        f'<circle class="cut-narrowest" cx="{x:.3f}" cy="{y:.3f}" r="{radius:.3f}" fill="none"'
        f' stroke="#000000" stroke-width="{2 * thin:.4g}"/>'
    )
