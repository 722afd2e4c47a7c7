"""Measuring artwork: kept for each size and hand, behind the page when it takes long."""

from __future__ import annotations

import time
from datetime import datetime
from typing import Any

from django.db import transaction
from django.db.models import Q

from decaljobs.craft.art.outlines import rings_of
from decaljobs.craft.artwork import Measurement, Told, measure
from decaljobs.craft.colour import format_hex, parse_hex
from decaljobs.craft.knife.guides import to_json, to_svg
from decaljobs.craft.pictures import PictureError
from decaljobs.models import Artwork, Measuring, Person
from decaljobs.services import behind
from decaljobs.services.artwork.pictures import picture_of

#: px; a picture of fewer is measured while the page waits, in well under a second.
QUICK_PIXELS = 500_000
NAME = "measuring-{}"
#: Seconds after which a measuring is ended, and between two notes of how far it is.
LONGEST_SECONDS, NOTED_EVERY = 100, 0.5
_FAILED = "The measuring broke off: try again, or bring the picture smaller."
_TOO_LONG = (
    "Measuring this picture took too long and was ended: it has more pieces, holes or ragged"
    " edges than can be cut by hand. Smooth it or wipe out its specks, then measure it again."
)


class _Watch:
    """Notes how far a measuring is, and ends one that takes too long."""

    def __init__(self, pk: int) -> None:
        self.pk = pk
        self.begun = self.noted = time.monotonic()

    def __call__(self, share: float) -> None:
        now = time.monotonic()
        if now - self.begun > LONGEST_SECONDS:
            raise PictureError(_TOO_LONG)
        if now - self.noted > NOTED_EVERY:
            self.noted = now
            Measuring.objects.filter(pk=self.pk).update(done_share=share)


def measuring_of(artwork: Artwork, person: Person | None) -> Measuring | None:
    """What was measured of artwork at its size for this person's hand, or for any hand."""
    same = artwork.measurings.filter(width_mm=artwork.width_mm)
    if person is None:
        return same.done().first()
    return same.filter(**_hand_of(person)).first()


def measure_artwork(
    *, artwork: Artwork, person: Person, moment: datetime, band_colour: str | None = None
) -> Measuring:
    """The measuring for this hand and size, begun if it was not made yet.

    band_colour: '#rrggbb' sets the band's colour by hand, '' finds it anew, None keeps what
    was set before.
    """
    if band_colour is not None:
        _forget(artwork, person, but_for=band_colour)
    found = measuring_of(artwork, person)
    if found is not None and not found.has_died(moment):
        return found
    if found is not None:
        found.delete()
    begun = _begin(artwork, person, moment, band_colour or "")
    if artwork.width_px * artwork.height_px <= QUICK_PIXELS:
        run(begun.pk)
    else:
        behind.start(NAME.format(begun.pk), run, begun.pk)
    begun.refresh_from_db()
    return begun


def run(pk: int) -> None:
    """Measure, and keep what was found; safe to run twice."""
    measuring = Measuring.objects.select_related("artwork").filter(pk=pk).first()
    if measuring is None or measuring.state != Measuring.State.RUNNING:
        return
    try:
        found = measured(measuring, _Watch(pk))
    except (PictureError, ValueError) as problem:
        _keep(measuring, state=Measuring.State.FAILED, problem=str(problem)[:300])
    except Exception:
        _keep(measuring, state=Measuring.State.FAILED, problem=_FAILED)
        raise
    else:
        _keep(
            measuring,
            state=Measuring.State.DONE,
            found=to_json(found),
            drawing=_drawing(found),
        )


def measured(measuring: Measuring, told: Told = lambda share: None) -> Measurement:
    """The measurement itself, made anew from the picture."""
    colour = parse_hex(measuring.band_colour) if measuring.band_colour else None
    return measure(
        picture_of(measuring.artwork),
        width_mm=float(measuring.width_mm),
        band_colour=colour,
        clear_margin_mm=measuring.clear_margin_mm,
        hand=measuring.hand,
        told=told,
    )


def svg_of(measuring: Measuring) -> str:
    """The cut guides as an SVG drawing in mm."""
    return to_svg(measured(measuring), title=f"Cut guides for {measuring.artwork}")


@transaction.atomic
def keep_hand(
    *, person: Person, knife_mm: float, lay_down_mm: float, clear_margin_mm: float
) -> None:
    """Keep how far a person's hand strays; art is then measured anew for it."""
    person.knife_mm, person.lay_down_mm = knife_mm, lay_down_mm
    person.clear_margin_mm = clear_margin_mm
    person.save(update_fields=["knife_mm", "lay_down_mm", "clear_margin_mm"])


def _hand_of(person: Person) -> dict[str, float]:
    return {
        "knife_mm": person.knife_mm,
        "lay_down_mm": person.lay_down_mm,
        "clear_margin_mm": person.clear_margin_mm,
    }


def _forget(artwork: Artwork, person: Person, *, but_for: str) -> None:
    """Drop measurings made with another band colour, so that the new one counts."""
    same = artwork.measurings.filter(width_mm=artwork.width_mm, **_hand_of(person))
    same.filter(~Q(band_colour=but_for)).delete()


def _begin(artwork: Artwork, person: Person, moment: datetime, band_colour: str) -> Measuring:
    begun, _ = Measuring.objects.get_or_create(
        artwork=artwork,
        width_mm=artwork.width_mm,
        band_colour=band_colour,
        **_hand_of(person),
        defaults={"begun_at": moment},
    )
    return begun


def _keep(measuring: Measuring, **values: Any) -> None:
    Measuring.objects.filter(pk=measuring.pk).update(**values)


def _drawing(found: Measurement) -> dict[str, Any]:
    """What the page draws beside the cuts, in mm."""
    return {
        "silhouette": [ring.round(3).tolist() for ring in rings_of(found.silhouette)],
        "light": [ring.round(3).tolist() for ring in rings_of(found.light)],
        "rectangle": [round(side, 3) for side in found.rectangle],
        "pixel_mm": found.pixel_mm,
        "dpi": round(found.dpi),
        "band_colour": format_hex(found.band_colour) if found.band_colour else "",
        "widen_by_mm": found.widen_by_mm and round(found.widen_by_mm, 2),
    }
