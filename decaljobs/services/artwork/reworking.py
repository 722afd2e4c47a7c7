"""New versions of artwork: its outline band widened or given another colour, the old one kept."""

from __future__ import annotations

from datetime import datetime
from decimal import Decimal

from PIL import Image

from decaljobs.craft.art.recolour import recolour_band, widen_band
from decaljobs.craft.colour import format_hex, parse_hex
from decaljobs.models import Artwork, Decal, Measuring
from decaljobs.services.artwork.keeping import keep_ready_art, ready_art
from decaljobs.services.artwork.pictures import picture_of
from decaljobs.services.files import atomic_with_files
from decaljobs.services.refused import Refused, as_sentence

BLACK = (0, 0, 0)


def widen(*, measuring: Measuring, by_mm: float, moment: datetime, move_decals: bool) -> Artwork:
    """A new version with its band wider by so many mm all round. Raises Refused."""
    artwork, drawing = measuring.artwork, _drawing_of(measuring)
    colour = drawing["band_colour"]
    found = measuring.found or {}
    try:
        made = widen_band(
            picture_of(artwork),
            drawing["pixel_mm"],
            by_mm,
            (found["width_mm"], found["height_mm"]),
            parse_hex(colour) if colour else BLACK,
        )
    except ValueError as problem:
        raise Refused(as_sentence(problem)) from problem
    width = Decimal(str(round(made.width_mm, 2)))
    return _new_version(
        artwork, made.image, width, f"band widened by {by_mm:g} mm", moment, move_decals
    )


def recolour(*, measuring: Measuring, colour: str, moment: datetime, move_decals: bool) -> Artwork:
    """A new version with its band in another colour, '#rrggbb'. Raises Refused."""
    artwork, drawing = measuring.artwork, _drawing_of(measuring)
    if not drawing["band_colour"]:
        raise Refused("This art has no outline band: widen it first, or set its colour by hand.")
    try:
        image = recolour_band(
            picture_of(artwork),
            drawing["pixel_mm"],
            parse_hex(colour),
            parse_hex(drawing["band_colour"]),
        )
    except ValueError as problem:
        raise Refused(as_sentence(problem)) from problem
    said = f"band in {format_hex(parse_hex(colour))}"
    return _new_version(artwork, image, artwork.width_mm, said, moment, move_decals)


def versions_of(artwork: Artwork) -> list[Artwork]:
    """This artwork and all that comes from the same drawing, newest first (one query a step)."""
    first = artwork
    while first.came_from is not None:
        first = first.came_from
    found, step = [first], [first]
    while step:
        step = list(Artwork.objects.filter(came_from__in=step))
        found += step
    return sorted(found, key=lambda one: (one.version, one.pk), reverse=True)


def _drawing_of(measuring: Measuring) -> dict:
    if measuring.drawing is None:
        raise Refused("This art is not measured yet.")
    return measuring.drawing


def _new_version(
    artwork: Artwork,
    image: Image.Image,
    width_mm: Decimal,
    change: str,
    moment: datetime,
    move_decals: bool,
) -> Artwork:
    art = ready_art(image, width_mm)
    with atomic_with_files():
        newest = versions_of(artwork)[0]
        made = keep_ready_art(name=artwork.name, width_mm=width_mm, art=art, moment=moment)
        made.version = newest.version + 1
        made.came_from, made.change, made.example = artwork, change, artwork.example
        made.save(update_fields=["version", "came_from", "change", "example"])
        if move_decals:
            # Pieces on a sheet were, or will be, printed from the version they were laid out with.
            Decal.objects.filter(artwork=artwork, pieces=None).update(artwork=made)
    return made
