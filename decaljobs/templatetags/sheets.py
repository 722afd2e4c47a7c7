"""What templates say of sheets, and of a decal in one line."""

from datetime import datetime

from django import template

from decaljobs.craft.stages import Hold, Stage
from decaljobs.models import Decal, Sheet
from decaljobs.services.words import until

register = template.Library()


@register.simple_tag
def sheet_state(sheet: Sheet, moment: datetime) -> str:
    """Where a sheet stands, as it is said at the bench."""
    return sheet.state_words(moment)


@register.filter
def sealed_share(sheet: Sheet) -> int:
    """The part of a bar of 56 that its sealing coats fill."""
    return round(56 * sheet.coats_done / sheet.coats_wanted)


@register.filter
def drawn_width(sheet: Sheet) -> str:
    """The width of a drawing of the sheet, with a hair of room on both sides."""
    return f"{sheet.width_mm + 2:.1f}"


@register.filter
def drawn_height(sheet: Sheet) -> str:
    """The height of a drawing of the sheet, with a hair of room on both sides."""
    return f"{sheet.height_mm + 2:.1f}"


@register.filter
def area(mm2: float) -> str:
    """An area in square centimetres: 123 cm²."""
    return f"{mm2 / 100:.0f}\u00a0cm²"


@register.simple_tag
def decal_state(decal: Decal, moment: datetime) -> str:
    """A decal's stage and what comes next, in one line; fetch `queued` beforehand for a list."""
    stage = decal.stage_now(moment).words.capitalize()
    if decal.wants_film and hasattr(decal, "queued"):
        return f"{stage}, queued for the next sheet."
    if decal.held_because:
        return f"{stage}, held. {Hold(decal.held_because).words}"
    if not decal.next_step:
        done = decal.ready_at is None or decal.ready_at <= moment
        return (
            f"{stage}. Finished."
            if done
            else f"{stage}, dries until {until(decal.ready_at, moment)}."
        )
    step = Stage(decal.next_step).step_words
    if decal.ready_at is not None and decal.ready_at > moment:
        return f"{stage}. Next: {step}, not before {until(decal.ready_at, moment)}."
    return f"{stage}. Ready for: {step}."
