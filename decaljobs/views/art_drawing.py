"""The large drawing of measured art with its cuts, as artwork's and decals' pages show it."""

from __future__ import annotations

from dataclasses import dataclass

from django.utils.safestring import SafeString, mark_safe

from decaljobs.craft.art.drawing import NAMES, art_svg, frame_of, legend_svg
from decaljobs.models import Artwork, Measuring, Person
from decaljobs.services.artwork import measuring as measurings


@dataclass(frozen=True)
class ArtDrawing:
    """The drawing, what its lines mean, and whether a narrowest place is marked in it."""

    svg: SafeString
    legend: list[tuple[SafeString, str]]
    has_narrowest: bool
    clean_chance: float | None


def art_drawing(artwork: Artwork, found: Measuring, zoom: int = 1) -> ArtDrawing:
    """The drawing of the whole art, or closer in by a zoom on its narrowest place."""
    narrowest = found.found["band"]["min_at_mm"]
    pixel = found.drawing["pixel_mm"]
    svg = art_svg(
        found.found,
        found.drawing,
        picture=artwork.picture_address,
        size_mm=(artwork.width_px * pixel, artwork.height_px * pixel),
        frame=frame_of(found.drawing["rectangle"], zoom, narrowest if zoom > 1 else None),
        label=f"{artwork} with its cuts",
    )
    return ArtDrawing(
        mark_safe(svg),  # noqa: S308 (drawn by ourselves, escaped there)
        [(mark_safe(legend_svg(kind)), words) for kind, words in NAMES.items()],  # noqa: S308
        narrowest is not None,
        found.found["clean_chance"],
    )


def drawing_for(artwork: Artwork, person: Person) -> ArtDrawing | None:
    """The drawing of art as it was measured for this person's hand, if it was (one query)."""
    found = measurings.measuring_of(artwork, person if person.pk else None)
    return art_drawing(artwork, found) if found and found.found else None
