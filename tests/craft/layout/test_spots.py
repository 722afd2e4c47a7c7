"""Spots of least overlap, against overlaps measured by the outlines themselves."""

from math import cos, pi, sin

import pytest
from shapely import Polygon, box
from shapely.affinity import translate

from decaljobs.craft.layout.lying import outline_turned
from decaljobs.craft.layout.spots import Grid, Turned

DISC = Polygon([(10 + 10 * cos(pi * at / 24), 10 + 10 * sin(pi * at / 24)) for at in range(48)])
BAR = box(0, 0, 40, 8)


def turned(shape, quarters=0, gap=2):
    return Turned(outline_turned(shape, quarters), gap)


def test_the_mask_covers_the_outline_with_half_a_gap_round_it():
    mask = turned(DISC).mask
    assert mask.shape == (22, 22)
    assert mask.sum() == pytest.approx(DISC.buffer(1).area, rel=0.02)
    assert not mask[0, 0]


def test_a_bar_fits_the_only_hole_in_the_only_turn():
    """The room left beside two discs is 10 mm wide and 50 mm high."""
    lying = [(turned(DISC), (0, 0)), (turned(DISC), (0, 25))]
    grid = Grid(32, 50, 2, lying)
    spots = grid.spots([(0, turned(BAR)), (1, turned(BAR, 1))], most=2)
    assert (spots[0].turn, spots[0].overlap) == (1, 0)
    assert 22 <= spots[0].x <= 24
    # Lying it is wider than the strip.
    assert {spot.turn for spot in spots} == {1}


@pytest.mark.parametrize("place", [(0, 0), (5, 3), (12, 9), (20, 20)])
def test_overlap_is_measured_as_the_outlines_overlap(place):
    grid = Grid(60, 60, 2, [(turned(DISC), (4, 4))])
    grown = translate(DISC.buffer(1), 4, 4).intersection(translate(DISC.buffer(1), *place)).area
    assert grid.overlap(turned(DISC), place) == pytest.approx(grown, abs=12)


def test_spots_of_one_piece_lie_apart_and_the_best_come_first():
    spots = Grid(60, 60, 2, [(turned(DISC), (20, 20))]).spots([(0, turned(DISC))], most=6)
    assert [spot.overlap for spot in spots] == sorted(spot.overlap for spot in spots)
    for at, one in enumerate(spots):
        assert all(max(abs(one.x - two.x), abs(one.y - two.y)) > 5 for two in spots[:at])


def test_a_piece_larger_than_the_strip_has_no_spot():
    assert Grid(30, 30, 2).spots([(0, turned(BAR))], most=3) == []
