"""Chains of waits: one behind the other, many at once."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest

from decaljobs.craft.climate import Clock
from decaljobs.craft.drying import STANDARD_AIR, WaitTerms, ready_at
from decaljobs.craft.room.air import Air
from decaljobs.craft.stages import Build, Stage
from decaljobs.craft.waits import (
    Chain,
    Leg,
    WaitKind,
    after_coat,
    after_printing,
    after_step,
    leg_spans,
    leg_spans_many,
)

START = datetime(2026, 11, 2, 19, tzinfo=UTC)
HOUR = timedelta(hours=1)
SET = Leg("set", WaitKind.LAYER_SET, WaitTerms(12, 8, Clock.WATER_UNDER_FILM))
COAT = Leg("overcoated", WaitKind.SET_OVERCOAT, WaitTerms(24, 12, Clock.WATER))
HANDLED = Leg("handled", WaitKind.OVERCOAT_HANDLED, WaitTerms(24, 12, Clock.WATER))
MASKED = Leg("masked", WaitKind.OVERCOAT_MASKED, WaitTerms(48, 24, Clock.WATER))
COLD = Air.steady(5, 50)


SETS = ("set", WaitKind.LAYER_SET)
COATS = ("overcoated", WaitKind.SET_OVERCOAT)
FINISHES = (("handled", WaitKind.OVERCOAT_HANDLED), ("masked", WaitKind.OVERCOAT_MASKED))


@pytest.mark.parametrize(
    ("build", "stage", "waits"),
    [
        (Build.LAMINATED, Stage.BASE_APPLIED, (("cured", WaitKind.BASE_CURED),)),
        (Build.LAMINATED, Stage.CLEAR_APPLIED, (SETS, COATS)),
        (Build.WHITE_ALONE, Stage.BASE_APPLIED, (SETS, COATS)),
        (Build.CLEAR_ALONE, Stage.CLEAR_APPLIED, (SETS, COATS)),
        (Build.LAMINATED, Stage.SET, (COATS,)),
        (Build.LAMINATED, Stage.OVERCOATED, FINISHES),
        # On film the sheet dries, not the decal; and a cured base has dried.
        *((Build.LAMINATED, stage, ()) for stage in (Stage.PLANNED, Stage.PRINTED, Stage.SEALED)),
        (Build.LAMINATED, Stage.CURED, ()),
    ],
)
def test_a_step_begins_the_waits_of_what_was_laid(build, stage, waits):
    assert after_step(build, stage, overcoat=True) == waits
    without = tuple(wait for wait in waits if wait != COATS)
    assert after_step(build, stage, overcoat=False) == without


def test_a_sheet_waits_by_its_printer_and_its_sealer():
    assert after_printing("laser") is WaitKind.PRINTED_LASER
    assert after_coat("inkjet", "solvent", last=False) is WaitKind.COAT_SOLVENT
    assert after_coat("laser", "solvent", last=False) is WaitKind.COAT_SOLVENT
    assert after_coat("inkjet", "solvent", last=True) is WaitKind.LAST_COAT_INKJET_SOLVENT
    assert after_coat("laser", "water", last=True) is WaitKind.LAST_COAT_LASER_WATER
    with pytest.raises(ValueError, match="dot_matrix"):
        after_printing("dot_matrix")


def test_legs_run_one_behind_the_other():
    spans = leg_spans([SET, COAT], STANDARD_AIR, START)
    assert spans["set"] == (START, START + 12 * HOUR)
    assert spans["overcoated"] == (START + 12 * HOUR, START + 36 * HOUR)


def test_masking_runs_beside_handling():
    spans = leg_spans([HANDLED, MASKED], STANDARD_AIR, START)
    assert spans == {
        "handled": (START, START + 24 * HOUR),
        "masked": (START, START + 48 * HOUR),
    }


def test_behind_a_leg_that_never_ends_nothing_begins():
    assert leg_spans([SET, COAT], COLD, START) == {"set": (START, None)}
    assert leg_spans([HANDLED, MASKED], COLD, START) == {
        "handled": (START, None),
        "masked": (START, None),
    }


def test_hours_added_by_touch_make_a_leg_longer():
    spans = leg_spans([replace(SET, extra_hours=3.0)], STANDARD_AIR, START)
    assert spans["set"][1] == START + 15 * HOUR


def test_many_chains_give_what_each_gives_alone():
    airs = [STANDARD_AIR, Air.steady(15, 70), COLD]
    legs = [[SET, COAT], [SET], [HANDLED, MASKED], [replace(SET, extra_hours=2.5)], []]
    chains = [
        Chain(rows, air, START + n * HOUR)
        for n, (rows, air) in enumerate((rows, air) for rows in legs for air in airs)
    ]
    together = leg_spans_many(chains)
    for chain, spans in zip(chains, together, strict=True):
        begins = chain.start
        expected = {}
        for leg in chain.legs:
            begins = chain.start if leg.to == "masked" else begins
            if begins is None:
                break
            end = ready_at(leg.terms, chain.air, begins, extra_reference_hours=leg.extra_hours)
            expected[leg.to] = (begins, end)
            begins = end
        assert spans.keys() == expected.keys()
        for to, (begin, end) in spans.items():
            wanted = expected[to][1]
            assert (end is None) == (wanted is None)
            assert end is None or abs(end - wanted) < timedelta(milliseconds=10)
            assert abs(begin - expected[to][0]) < timedelta(milliseconds=10)


@pytest.mark.parametrize("extra", [0.0, 3.5])
def test_a_leg_comes_back_as_it_was_kept(extra):
    leg = replace(SET, extra_hours=extra)
    assert Leg.from_dict(leg.to_dict()) == leg
