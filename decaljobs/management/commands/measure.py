"""Artwork measured on the terminal: its band, its cut lines, the chance of a clean edge."""

import json
from argparse import ArgumentParser, ArgumentTypeError
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from decaljobs.craft.art.advice import advice
from decaljobs.craft.art.svgfile import looks_like_svg
from decaljobs.craft.artwork import Measurement, measure
from decaljobs.craft.colour import parse_hex
from decaljobs.craft.knife.guides import to_json, to_svg
from decaljobs.craft.knife.hand import CLEAR_MARGIN, KNIFE_SPREAD, LAY_DOWN_SPREAD, Hand
from decaljobs.craft.pictures import NOT_ARTWORK, NotAPicture, PictureError, read_with_notes
from decaljobs.services.artwork.svg_reading import read_svg
from decaljobs.services.refused import as_sentence

# bytes; a picture of 40 megapixels without any compression is about this large
MAX_FILE = 200_000_000


class Command(BaseCommand):
    help = "Measure artwork: outline band, cut lines, chance of a clean edge."
    # nothing here needs the database
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("file", type=Path, help="PNG, JPEG, WEBP or SVG")
        size = parser.add_mutually_exclusive_group(required=True)
        size.add_argument("--width", type=float, metavar="MM", help="of the visible art")
        size.add_argument("--height", type=float, metavar="MM", help="of the visible art")
        size.add_argument("--dpi", type=float, metavar="N", help="of the whole picture")
        parser.add_argument("--band-colour", type=_colour, metavar="#rrggbb")
        parser.add_argument("--clear-margin", type=float, default=CLEAR_MARGIN, metavar="MM")
        parser.add_argument("--knife", type=float, default=KNIFE_SPREAD, metavar="MM")
        parser.add_argument("--lay-down", type=float, default=LAY_DOWN_SPREAD, metavar="MM")
        parser.add_argument("--json", action="store_true", help="answer as JSON")
        parser.add_argument("--svg", type=Path, metavar="OUT", help="draw the cut guides here")

    def handle(self, *args: Any, **options: Any) -> None:
        try:
            found, notes = _measured(options)
            if options["svg"]:
                options["svg"].write_text(to_svg(found), encoding="utf-8")
        except (PictureError, ValueError) as error:
            raise CommandError(as_sentence(error)) from error
        except OSError as error:
            raise CommandError(f"{error.filename}: {error.strerror}.") from error
        if options["json"]:
            plain = to_json(found)
            plain["advice"] += notes
            self.stdout.write(json.dumps(plain))
            return
        for line in (*_lines(found), *advice(found), *notes):
            self.stdout.write(line)


def _colour(text: str) -> tuple[int, int, int]:
    try:
        return parse_hex(text)
    except ValueError as error:
        raise ArgumentTypeError(str(error)) from error


def _measured(options: dict[str, Any]) -> tuple[Measurement, tuple[str, ...]]:
    size = {"width_mm": options["width"], "height_mm": options["height"], "dpi": options["dpi"]}
    with options["file"].open("rb") as file:
        data = file.read(MAX_FILE + 1)
    if len(data) > MAX_FILE:
        raise PictureError(f"This file is larger than {MAX_FILE // 1_000_000} MB.")
    if looks_like_svg(data):
        image, notes = read_svg(data, **size), ()
    else:
        try:
            picture = read_with_notes(data)
        except NotAPicture as error:
            raise PictureError(NOT_ARTWORK) from error
        image, notes = picture.image, picture.notes
    found = measure(
        image,
        **size,
        band_colour=options["band_colour"],
        clear_margin_mm=options["clear_margin"],
        hand=Hand(options["knife"], options["lay_down"]),
    )
    return found, notes


def _lines(found: Measurement) -> list[str]:
    lines = [f"Visible art: {found.width_mm:.2f} × {found.height_mm:.2f} mm, {found.dpi:.0f} dpi"]
    if found.band:
        lines.append(
            f"Outline band: {found.band.min_mm:.2f} mm at its narrowest,"
            f" {found.band.median_mm:.2f} mm mostly"
        )
    if found.base:
        lines.append(f"Base cut: {found.base.line.length_mm:.0f} mm of knife path")
    lines.append(f"Clear cut: {found.clear.length_mm:.0f} mm of knife path")
    if found.band_for_95_mm is not None:
        lines.append(f"Band for a chance of 95 %: {found.band_for_95_mm:.2f} mm")
    return lines
