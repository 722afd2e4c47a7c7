"""A place on the picture of a sheet, its figures as they stand in the drawing (mm)."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from decaljobs.craft.layout.place import Place


@dataclass(frozen=True)
class DrawnPlace:
    """Its rectangle; the picture's own sides and how it is moved there; its outline, if nested.

    outline: the `d` of a path in the picture's own frame, moved by the same transform.
    """

    x: str
    y: str
    width: str
    height: str
    picture_width: str
    picture_height: str
    transform: str
    outline: str


def drawn_place(place: Place, outline: Sequence[Sequence[float]] | None) -> DrawnPlace:
    """A place with the turn of its picture: in SVG angles go clockwise."""
    x, y = place.start
    turn = f" rotate({-place.degrees})" if place.degrees else ""
    sides = (place.x, place.y, place.width, place.height, *place.upright)
    return DrawnPlace(
        *(f"{side:.2f}" for side in sides),
        transform=f"translate({x:.2f} {y:.2f}){turn}",
        outline=_path(outline) if outline else "",
    )


def _path(outline: Sequence[Sequence[float]]) -> str:
    return "M" + "L".join(f"{x:.2f} {y:.2f}" for x, y in outline) + "Z"
