"""Scales and lengths against the published figures."""

from decimal import Decimal

import pytest

from decaljobs.craft import units

# NEM 010, Massstäbe, Nenngrössen, Spurweiten (MOROP, 2011): the ratio of each size.
NEM_010 = {
    "Z": "220",
    "N": "160",
    "TT": "120",
    "H0": "87",
    "S": "64",
    "I": "32",
    "II": "22.5",
}


@pytest.mark.parametrize(("letter", "ratio"), NEM_010.items())
def test_it_has_the_ratios_of_nem_010(letter, ratio):
    assert units.parse_scale(letter) == Decimal(ratio)


def test_it_has_the_size_0_of_nem_010():
    assert units.parse_scale("NEM 0") == Decimal(45)
    assert set(units.NEM_010_RATIOS) == {*NEM_010, "0"}


# A foot is 304.8 mm (international yard and pound agreement, 1959); the ratios of the
# British scales of 2, 3.5, 4 and 7 mm to the foot, worked by hand to two decimals.
@pytest.mark.parametrize(
    ("per_foot", "ratio"), [("2", "152.4"), ("3.5", "87.09"), ("4", "76.2"), ("7", "43.54")]
)
def test_it_turns_millimetres_to_the_foot_into_a_ratio(per_foot, ratio):
    exact = units.parse_scale(f"{per_foot} mm/ft")
    assert units.format_scale(exact) == f"1:{ratio}"
    assert exact * Decimal(per_foot) == pytest.approx(Decimal("304.8"), abs=Decimal("1e-24"))


# The track gauge of each size, mm, for the standard gauge of 1435 mm: NEM 010 (from memory). It is
# that gauge divided by the ratio, rounded to the next half or whole millimetre.
NEM_010_GAUGES = {
    "Z": 6.5,
    "N": 9,
    "TT": 12,
    "H0": 16.5,
    "S": 22.5,
    "NEM 0": 32,
    "I": 45,
}


@pytest.mark.parametrize(("letter", "gauge"), NEM_010_GAUGES.items())
def test_it_brings_the_standard_gauge_to_that_of_each_size(letter, gauge):
    assert units.size_on_model(1435, units.parse_scale(letter)) == pytest.approx(gauge, abs=0.25)


def test_it_brings_feet_to_as_many_millimetres_as_the_scale_says():
    # 4 mm to the foot: a board of 6 ft is 24 mm long.
    assert units.size_on_model(6 * 304.8, units.parse_scale("4 mm/ft")) == pytest.approx(24)


def test_it_takes_an_inch_for_25_4_mm_exactly():
    # International yard and pound agreement, 1959.
    assert Decimal("25.4") == units.MM_PER_INCH
    assert 12 * units.MM_PER_INCH == units.MM_PER_FOOT


def test_it_makes_an_inch_72_points():
    # ISO 32000-1, 8.3.2.3: the unit of user space is 1/72 inch.
    assert pytest.approx(72, abs=1e-12) == units.POINTS_PER_MM * 25.4


def test_it_has_a4_of_iso_216_and_letter_of_asme_y14_1():
    # ISO 216: A4 is 210 by 297 mm. ASME Y14.1, size A: 8.5 by 11 inches of 25.4 mm.
    a4, letter = units.paper("A4"), units.paper("Letter")
    assert (a4.width_mm, a4.height_mm) == (210, 297)
    assert (letter.width_mm, letter.height_mm) == (215.9, 279.4)
