"""What lists show of a decal, kept in step with its log, its pieces and its sheets."""

from __future__ import annotations

from collections.abc import Iterable

from decaljobs.craft.drying import Air
from decaljobs.craft.stages import (
    DRIED_STAGES,
    Build,
    GoodPiece,
    Layer,
    SheetState,
    Stage,
    Standing,
    outlook,
)
from decaljobs.craft.waits import Leg, leg_spans
from decaljobs.models import Decal, Piece, Sheet
from decaljobs.services.waits import room_air

KEPT_FIELDS = [
    "stage",
    "stage_at",
    "waits",
    "clean_surface",
    "events_logged",
    "turns_to",
    "turns_at",
    "next_step",
    "ready_at",
    "held_because",
]


def refresh(decals: Iterable[Decal]) -> None:
    """Recompute and save the kept fields of these decals (two queries for any number)."""
    changed = list(decals)
    pieces = good_pieces(changed)
    air = room_air()
    for decal in changed:
        _look_ahead(decal, pieces.get(decal.pk, []), air)
    Decal.objects.bulk_update(changed, KEPT_FIELDS, batch_size=200)


def good_pieces(decals: Iterable[Decal]) -> dict[int, list[GoodPiece]]:
    """The good pieces of these decals as the craft sees them, by decal (one query)."""
    found: dict[int, list[GoodPiece]] = {}
    rows = Piece.objects.good().filter(decal__in=[d.pk for d in decals]).select_related("sheet")
    for piece in rows:
        found.setdefault(piece.decal_id, []).append(
            GoodPiece(Layer(piece.layer), sheet_state(piece.sheet))
        )
    return found


def sheet_state(sheet: Sheet) -> SheetState:
    """A sheet as the stage machine sees it."""
    return SheetState(
        printed=sheet.is_printed,
        sealed=sheet.is_sealed,
        dry_at=sheet.rested_at if sheet.is_sealed else None,
    )


def standing_of(decal: Decal, air: Air) -> Standing:
    """Where the log has brought a decal, with the ends of the waits that run on the model."""
    overcoat = decal.project.overcoat
    legs = [Leg.from_dict(kept) for kept in decal.waits]
    if not overcoat:
        legs = [leg for leg in legs if leg.to != Stage.OVERCOATED]
    spans = leg_spans(legs, air, decal.stage_at)
    ends = {to: end for to, (_, end) in spans.items()}
    turns_to = next((Stage(to) for to in ends if to in DRIED_STAGES), None)
    return Standing(
        build=Build(decal.build),
        stage=Stage(decal.stage),
        overcoat=overcoat,
        turns_to=turns_to,
        turns_at=ends[turns_to] if turns_to else None,
        rested_at=ends.get(Stage.OVERCOATED.value) or ends.get("handled"),
        never_dries=any(end is None for to, end in ends.items() if to != "masked"),
    )


def _look_ahead(decal: Decal, pieces: list[GoodPiece], air: Air) -> None:
    standing = standing_of(decal, air)
    ahead = outlook(standing, pieces)
    decal.turns_to = standing.turns_to.value if standing.turns_at and standing.turns_to else ""
    decal.turns_at = standing.turns_at
    decal.next_step = ahead.step.value if ahead.step else ""
    decal.held_because = ahead.hold.value if ahead.hold else ""
    decal.ready_at = None if ahead.hold else max(ahead.ready_at or decal.stage_at, decal.stage_at)
