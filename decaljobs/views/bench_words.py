"""What the bench says of a decal: why it is ready, what dries, what is missing, what to heed."""

from __future__ import annotations

from datetime import datetime
from functools import lru_cache

from django.urls import reverse

from decaljobs.craft.cautions import StepAdvice, advice
from decaljobs.craft.drying import WaitTerms
from decaljobs.craft.moments import whole_minute
from decaljobs.craft.room.day_of_air import AirNow
from decaljobs.craft.stages import LAID_LAYER, Build, Hold, Layer, Stage, laid_layers
from decaljobs.craft.waiting.words import rate_words
from decaljobs.craft.waits import WaitKind
from decaljobs.models import Decal, Room, Sheet
from decaljobs.models.decals import place_words
from decaljobs.services.drying.waiting import RunningWait, sheet_of_next_piece
from decaljobs.services.words import say_moment, until

COAT = "coat"


def why_ready(decal: Decal, moment: datetime) -> str:
    """Why a ready decal's next step can be taken: what dried, and when."""
    sheet = sheet_of_next_piece(decal)
    if sheet and sheet.rested_at and (sheet.rested_at == decal.ready_at or not decal.waits):
        since = say_moment(sheet.rested_at, now=moment)
        return f"sheet {sheet.code} sealed and dry since {since}"
    since = say_moment(decal.ready_at, now=moment) if decal.ready_at else ""
    if LAID_LAYER.get(Stage(decal.next_step)) is Layer.CLEAR:
        return f"base dried through {since}"
    return f"set and dry since {since}"


def why_held(decal: Decal, room: Room) -> tuple[str, str, str]:
    """The reason in words, what to do about it, and where; fetch `queued` beforehand for a list."""
    hold = Hold(decal.held_because)
    if hold is Hold.NEVER_DRIES:
        return never_dries(room)
    sheet = _sheet_held_by(decal, hold)
    if sheet is not None:
        done = "printed" if hold is Hold.SHEET_NOT_PRINTED else "sealed"
        return (
            f"Sheet {sheet.code} is not {done} yet.",
            f"Open sheet {sheet.code}",
            sheet.get_absolute_url(),
        )
    if hasattr(decal, "queued"):
        return hold.words, "Queued: lay out the next sheet", reverse("sheet-next")
    return hold.words, "Put it on a sheet", reverse("decal-sheet", args=[decal.pk])


def never_dries(room: Room) -> tuple[str, str, str]:
    """Said of what stands still in a room, with the way to its air."""
    air = reverse("drying", query={"room": room.pk})
    return Hold.NEVER_DRIES.words, f"See the air of \u2068{room}\u2069", air


def lent_by(decal: Decal) -> dict[str, str]:
    """What a twin of its project could lend it, where it was looked for."""
    twin = getattr(decal, "lender", None)
    if not twin:
        return {}
    name = place_words(twin["place"], twin["number"], twin["out_of"])
    query = {"next": reverse("bench")}
    return {
        "lent": f"{twin['twin']}:{twin['layer']}",
        "lent_words": f"Take a good {twin['layer']} piece from {name}",
        "lent_href": reverse("decal-take-piece", args=[decal.pk], query=query),
    }


def what_dries(decal: Decal, wait: RunningWait | None) -> str:
    """The layer or the sheet that a running wait is about."""
    if wait is None:
        return ""
    if wait.sheet is not None:
        return f"Sheet {wait.sheet.code} drying"
    if wait.kind in (WaitKind.OVERCOAT_HANDLED, WaitKind.OVERCOAT_MASKED):
        return "Overcoat drying"
    if wait.kind is WaitKind.SET_OVERCOAT:
        return "Resting before the overcoat"
    layer = laid_layers(Build(decal.build), Stage(decal.stage))[-1]
    return "Base drying" if layer is Layer.BASE else "Clear layer drying"


def rest_words(decal: Decal, wait: RunningWait | None, moment: datetime) -> str:
    """Until when a layer that has set rests before the overcoat: its own wait ends sooner."""
    if wait is None or wait.kind is not WaitKind.LAYER_SET or not decal.ready_at:
        return ""
    if wait.ends_at is None or whole_minute(wait.ends_at) >= whole_minute(decal.ready_at):
        return ""
    return f"then it rests before the overcoat until {until(decal.ready_at, moment)}"


def _sheet_held_by(decal: Decal, hold: Hold) -> Sheet | None:
    sheets = [piece.sheet for piece in decal.pieces.all()]
    if hold is Hold.SHEET_NOT_PRINTED:
        return next((sheet for sheet in sheets if not sheet.is_printed), None)
    if hold is Hold.SHEET_NOT_SEALED:
        return next((s for s in sheets if s.is_printed and not s.is_sealed), None)
    return None


def next_words(decal: Decal) -> str:
    if not decal.next_step:
        return "it is done"
    return Stage(decal.next_step).step_words


def group_title(step: str) -> str:
    return "Sealing coat" if step == COAT else Stage(step).step_words.capitalize()


@lru_cache(maxsize=512)
def rate_now(terms: WaitTerms, temperature: float, humidity: float) -> str:
    return rate_words(terms, AirNow(temperature, humidity))


@lru_cache(maxsize=64)
def advice_on(step: str, build: str) -> StepAdvice:
    return advice(step, build=Build(build))
