"""What a measurement means for the maker, in sentences."""

from __future__ import annotations

from decaljobs.craft.artwork import Measurement
from decaljobs.craft.colour import format_hex
from decaljobs.craft.figures import told_chance, whole_percent
from decaljobs.craft.tolerance import WANTED_CHANCE, WIDEST_BAND
from decaljobs.craft.units import SHARP_DPI

# mm; smaller light details are easily lost in printing and soaking: common practice, no source
SMALL_DETAIL = 0.3
# mm; a tighter turn asks for turning the film under the knife: common practice, no source
TIGHT_TURN = 0.3
# px across the band below which its width cannot be told well
FEW_PIXELS = 2.0
# mm; a shorter gap in the band is a touch at one point
SHORT_GAP = 0.1


def advice(found: Measurement) -> tuple[str, ...]:
    """Sentences on what stands in the way of a clean decal, the weightiest first.

    Their limits are common practice, no source: 300 dpi, 0.3 mm for a light detail and for a turn
    of the knife.

    >>> from PIL import Image
    >>> from decaljobs.craft.artwork import measure
    >>> sentences = advice(measure(Image.new("RGBA", (40, 20), "navy"), width_mm=3))
    >>> sentences
    ('No part of the art is light: nothing needs white beneath, so no base is cut.',)
    """
    return (
        *_on_resolution(found),
        *_on_the_band(found),
        *_on_the_chance(found),
        *_on_cutting(found),
    )


def _has_enough_pixels(found: Measurement) -> bool:
    # a hair below by rounding of the size is not worth a word
    return found.dpi >= SHARP_DPI * 0.995


def largest_width_mm(found: Measurement) -> float:
    """The largest sensible width of the visible art in mm: at 300 dpi (common practice, no source).

    >>> from PIL import Image
    >>> from decaljobs.craft.artwork import measure
    >>> round(largest_width_mm(measure(Image.new("RGBA", (60, 20), "navy"), width_mm=12)), 2)
    5.08
    """
    return found.width_mm * found.dpi / SHARP_DPI


def _on_resolution(found: Measurement) -> list[str]:
    if _has_enough_pixels(found):
        return []
    return [
        f"At {found.width_mm:.1f} mm wide the picture has {found.dpi:.0f} dpi; for"
        f" {SHARP_DPI} dpi print it at most {largest_width_mm(found):.1f} mm wide,"
        " or use a larger picture."
    ]


def _on_the_band(found: Measurement) -> list[str]:
    if found.band is None:
        return ["No part of the art is light: nothing needs white beneath, so no base is cut."]
    sentences = []
    if found.band_colour is None:
        sentences.append("The edge of the art is light: it has no outline band to hide the cut.")
    elif found.band.missing_mm > SHORT_GAP:
        sentences.append(
            f"There is no outline band along {found.band.missing_mm:.1f} mm of the edge."
        )
    elif found.band.min_mm < FEW_PIXELS * found.pixel_mm:
        sentences.append(
            "The band is less than two pixels wide at its narrowest,"
            f" {_place(found.band.min_at_mm)}; a picture with more pixels would tell its width"
            " better."
        )
    if found.base and found.base.short_at:
        sentences.append(
            f"The band is too thin for a knife {_place(found.base.short_at)}: the base cut cannot"
            " keep clear of both its sides there."
        )
    if found.base and found.base.inset_mm is not None:
        sentences.append(
            f"Where there is no band the base cut runs {found.base.inset_mm:.2f} mm inside the"
            " edge, and a rim of light art is left without white."
        )
    return sentences


def _place(place: tuple[float, float]) -> str:
    return f"{place[0]:.1f} mm from the picture's left and {place[1]:.1f} mm from its top"


def _on_the_chance(found: Measurement) -> list[str]:
    if found.clean_chance is None or found.widen_by_mm is None or found.band is None:
        return []
    percent = whole_percent(told_chance(found.clean_chance))
    if found.clean_chance >= WANTED_CHANCE:
        return [f"The band is wide enough: the chance of a clean edge is {percent}."]
    sentence = f"The chance of a clean edge is {percent} with this hand"
    if found.widen_by_mm >= WIDEST_BAND:
        return [sentence + "; no band of a sensible width makes it 95 %."]
    colour = f" in {format_hex(found.band_colour)}" if found.band_colour else ""
    return [
        f"{sentence}; widening the band by {found.widen_by_mm:.2f} mm{colour} makes it 95 %.",
    ]


def _on_cutting(found: Measurement) -> list[str]:
    sentences = []
    if found.base and len(found.base.runs) > 1:
        sentences.append(
            f"The base comes in {len(found.base.runs)} pieces, each laid down by itself."
        )
    if found.base and found.base.line.tightest_radius_mm < TIGHT_TURN:
        sentences.append(
            f"The base cut turns as tightly as {found.base.line.tightest_radius_mm:.2f} mm;"
            " take a new blade and turn the film, not the knife."
        )
    smallest = found.smallest_light_detail_mm
    if smallest is not None and smallest < SMALL_DETAIL:
        sentences.append(
            f"The smallest light detail is {smallest:.2f} mm wide and may be lost in print."
        )
    return sentences
