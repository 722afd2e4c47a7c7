"""What comes next for a decal, from when, and what holds it.

The order of work is common practice, no source (the trade's own chain of steps).
"""

from datetime import UTC, datetime, timedelta

import pytest

from decaljobs.craft.outlook import (
    GoodPiece,
    SheetState,
    Standing,
    outlook,
    reached_on_sheets,
)
from decaljobs.craft.stages import Build, Hold, Layer, Stage

NOON = datetime(2026, 11, 2, 12, tzinfo=UTC)
HOUR = timedelta(hours=1)
BLANK = SheetState(printed=False, sealed=False)
PRINTED = SheetState(printed=True, sealed=False)
DRY = SheetState(printed=True, sealed=True, dry_at=NOON - HOUR)
DRYING = SheetState(printed=True, sealed=True, dry_at=NOON + HOUR)


def standing(build: Build, stage: Stage, **fields) -> Standing:
    return Standing(build, stage, overcoat=fields.pop("overcoat", False), **fields)


@pytest.mark.parametrize(
    ("white", "clear", "reached"),
    [
        (None, None, Stage.PLANNED),
        (PRINTED, None, Stage.PLANNED),
        (PRINTED, BLANK, Stage.PLANNED),
        (PRINTED, PRINTED, Stage.PRINTED),
        (DRY, PRINTED, Stage.PRINTED),
        (DRY, DRYING, Stage.SEALED),
    ],
)
def test_a_laminated_decal_is_printed_and_sealed_once_both_its_layers_are(white, clear, reached):
    pieces = [
        GoodPiece(layer, sheet)
        for layer, sheet in ((Layer.BASE, white), (Layer.CLEAR, clear))
        if sheet is not None
    ]
    assert reached_on_sheets(Build.LAMINATED, pieces) is reached


@pytest.mark.parametrize(
    ("sheet", "hold"),
    [
        (None, Hold.NO_BASE_PIECE),
        (BLANK, Hold.SHEET_NOT_PRINTED),
        (PRINTED, Hold.SHEET_NOT_SEALED),
        (SheetState(printed=True, sealed=True, dry_at=None), Hold.NEVER_DRIES),
    ],
)
def test_the_base_step_wants_a_good_piece_on_a_sealed_dry_sheet(sheet, hold):
    pieces = [GoodPiece(Layer.BASE, sheet)] if sheet else []
    ahead = outlook(standing(Build.LAMINATED, Stage.SEALED), pieces)
    assert (ahead.step, ahead.hold, ahead.ready_at) == (Stage.BASE_APPLIED, hold, None)


def test_the_base_step_waits_for_the_sheet_to_dry():
    ahead = outlook(standing(Build.LAMINATED, Stage.SEALED), [GoodPiece(Layer.BASE, DRYING)])
    assert (ahead.ready_at, ahead.hold) == (NOON + HOUR, None)


def test_the_clear_step_waits_for_the_later_of_base_and_sheet():
    wet = standing(
        Build.LAMINATED, Stage.BASE_APPLIED, turns_to=Stage.CURED, turns_at=NOON + 3 * HOUR
    )
    ahead = outlook(wet, [GoodPiece(Layer.CLEAR, DRYING)])
    assert (ahead.step, ahead.ready_at) == (Stage.CLEAR_APPLIED, NOON + 3 * HOUR)
    soon = standing(Build.LAMINATED, Stage.BASE_APPLIED, turns_to=Stage.CURED, turns_at=NOON)
    assert outlook(soon, [GoodPiece(Layer.CLEAR, DRYING)]).ready_at == NOON + HOUR


def test_a_spare_on_a_sheet_not_printed_does_not_hold_up_the_one_that_is_dry():
    pieces = [GoodPiece(Layer.BASE, BLANK), GoodPiece(Layer.BASE, DRY)]
    ahead = outlook(standing(Build.LAMINATED, Stage.SEALED), pieces)
    assert (ahead.hold, ahead.ready_at) == (None, NOON - HOUR)


def test_it_says_which_layers_are_lacking_before_printing():
    ahead = outlook(standing(Build.LAMINATED, Stage.PLANNED), [GoodPiece(Layer.BASE, BLANK)])
    assert (ahead.hold, ahead.lacking) == (Hold.NO_CLEAR_PIECE, (Layer.CLEAR,))


@pytest.mark.parametrize(
    ("stage", "white", "clear", "hold"),
    [
        (Stage.PLANNED, BLANK, BLANK, Hold.SHEET_NOT_PRINTED),
        (Stage.PLANNED, PRINTED, BLANK, Hold.SHEET_NOT_PRINTED),
        (Stage.PLANNED, DRY, BLANK, Hold.SHEET_NOT_PRINTED),
        (Stage.PRINTED, PRINTED, PRINTED, Hold.SHEET_NOT_SEALED),
        (Stage.PRINTED, DRY, PRINTED, Hold.SHEET_NOT_SEALED),
        # A new piece, for one that was spoiled, lies on a sheet of its own.
        (Stage.PRINTED, PRINTED, BLANK, Hold.SHEET_NOT_PRINTED),
    ],
)
def test_until_it_is_sealed_a_decal_is_held_by_its_sheets(stage, white, clear, hold):
    pieces = [GoodPiece(Layer.BASE, white), GoodPiece(Layer.CLEAR, clear)]
    ahead = outlook(standing(Build.LAMINATED, stage), pieces)
    assert (ahead.hold, ahead.lacking, ahead.ready_at) == (hold, (), None)


@pytest.mark.parametrize(("dry", "rested"), [(1, 2), (2, 1), (2, 2)])
def test_the_overcoat_waits_for_the_later_of_layer_and_model(dry, rested):
    moments = {"turns_at": NOON + dry * HOUR, "rested_at": NOON + rested * HOUR}
    wet = standing(
        Build.LAMINATED, Stage.CLEAR_APPLIED, overcoat=True, turns_to=Stage.SET, **moments
    )
    ahead = outlook(wet, [])
    assert (ahead.step, ahead.ready_at) == (Stage.OVERCOATED, NOON + 2 * HOUR)


def test_it_holds_a_layer_that_never_dries():
    cold = standing(Build.LAMINATED, Stage.BASE_APPLIED, turns_to=Stage.CURED, never_dries=True)
    assert outlook(cold, [GoodPiece(Layer.CLEAR, DRY)]).hold is Hold.NEVER_DRIES


def test_nothing_is_left_once_the_last_layer_is_set():
    last = standing(Build.WHITE_ALONE, Stage.BASE_APPLIED, turns_to=Stage.SET, turns_at=NOON)
    assert outlook(last, []).step is None
    assert outlook(last, []).ready_at == NOON
