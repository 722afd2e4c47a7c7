"""What lists show of a decal, kept in step with its log, its pieces and its sheets."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from decaljobs.craft.drying import STANDARD_AIR
from decaljobs.craft.outlook import GoodPiece, SheetState, Standing, outlook
from decaljobs.craft.stages import DRIED_STAGES, Build, Layer, Stage
from decaljobs.craft.waits import Chain, Leg, Spans, leg_spans_many
from decaljobs.models import Decal, Piece, Sheet
from decaljobs.services.drying.air import Airs
from decaljobs.services.saving import save_columns

KEPT_FIELDS = [
    "stage",
    "stage_at",
    "waits",
    "room",
    "stays",
    "clean_surface",
    "events_logged",
    "turns_to",
    "turns_at",
    "next_step",
    "ready_at",
    "held_because",
]


#: What changes with the air alone.
AHEAD_FIELDS = ["turns_to", "turns_at", "next_step", "ready_at", "held_because"]


def refresh(decals: Iterable[Decal], airs: Airs | None = None) -> None:
    """Recompute and save the kept fields of these decals (two queries for any number)."""
    changed = list(decals)
    look_ahead(changed, airs or Airs())
    save_columns(changed, KEPT_FIELDS)


def look_ahead(decals: Sequence[Decal], airs: Airs) -> None:
    """Work out (not yet saved) what comes next for these decals and from when (one query)."""
    pieces = good_pieces(decals)
    airs.reach_back(decal.stage_at for decal in decals if decal.waits)
    chains = [chain_of(decal, airs) for decal in decals]
    for decal, spans in zip(decals, leg_spans_many(chains), strict=True):
        _look_ahead(decal, pieces.get(decal.pk, []), spans)


def chain_of(decal: Decal, airs: Airs) -> Chain:
    """The waits on a decal in the air that they run in."""
    legs = running_legs(decal)
    return Chain(legs, airs.of_decal(decal) if legs else STANDARD_AIR, decal.stage_at)


def running_legs(decal: Decal) -> list[Leg]:
    """The waits on a decal; the one before an overcoat only where there is to be one."""
    legs = [Leg.from_dict(kept) for kept in decal.waits]
    if decal.project.overcoat:
        return legs
    return [leg for leg in legs if leg.to != Stage.OVERCOATED]


def good_pieces(decals: Iterable[Decal]) -> dict[int, list[GoodPiece]]:
    """The pieces of these decals at hand, as the craft sees them, by decal (one query)."""
    found: dict[int, list[GoodPiece]] = {}
    rows = Piece.objects.at_hand().filter(decal__in=[d.pk for d in decals]).select_related("sheet")
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


def standing_of(decal: Decal, spans: Spans) -> Standing:
    """Where the log has brought a decal, with the ends of the waits that run on the model."""
    ends = {to: end for to, (_, end) in spans.items()}
    turns_to = next((Stage(to) for to in ends if to in DRIED_STAGES), None)
    return Standing(
        build=Build(decal.build),
        stage=Stage(decal.stage),
        overcoat=decal.project.overcoat,
        turns_to=turns_to,
        turns_at=ends[turns_to] if turns_to else None,
        rested_at=ends.get(Stage.OVERCOATED.value) or ends.get("handled"),
        never_dries=any(end is None for to, end in ends.items() if to != "masked"),
    )


def _look_ahead(decal: Decal, pieces: list[GoodPiece], spans: Spans) -> None:
    standing = standing_of(decal, spans)
    ahead = outlook(standing, pieces)
    decal.turns_to = standing.turns_to.value if standing.turns_at and standing.turns_to else ""
    decal.turns_at = standing.turns_at
    decal.next_step = ahead.step.value if ahead.step else ""
    decal.held_because = ahead.hold.value if ahead.hold else ""
    decal.ready_at = None if ahead.hold else max(ahead.ready_at or decal.stage_at, decal.stage_at)
