"""Films filled by joining blocks: straight cuts free every piece, and nothing overlaps."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from decaljobs.craft.layout.model import Placement
from decaljobs.craft.layout.stock import Stock
from decaljobs.craft.layout.straightjoins import JoinManner, Joins
from tests.benchmarks.layout_checks import boxes_of, closest_pair, comes_apart, outside


def filled(width, length, kinds, manner=None, seed=0):
    stock = Stock(width, kinds)
    random = np.random.default_rng(seed)
    return stock, Joins(stock, length, manner or JoinManner(), random).fill(lambda: False)


def placements(stock, fill):
    for way, x, y in fill.laid:
        across, along, kind = stock.ways[way]
        yield Placement(str(kind), x, y, across, along, False)


def laid_share(stock, fill, room):
    return (stock.total - stock.area_of(fill.counts)) / room


def test_it_finds_a_layout_without_waste():
    """By hand: 100 × 60 cut at 60, the left part at 40, the right one in halves of 40 × 30."""
    kinds = [(60, 40, 1, True), (60, 20, 1, True), (40, 30, 2, True), (35, 25, 4, True)]
    stock, fill = filled(100, 60, kinds)
    assert laid_share(stock, fill, 6000) == 1
    assert fill.counts == (0, 0, 0, 4)


def test_a_piece_that_may_not_turn_is_not_turned():
    stock, fill = filled(30, 20, [(10, 20, 9, False)])
    assert laid_share(stock, fill, 600) == 1
    stock, fill = filled(20, 30, [(10, 20, 9, False)])
    assert laid_share(stock, fill, 600) == pytest.approx(400 / 600)


def test_nothing_is_laid_where_no_piece_fits_or_no_time_is_left():
    assert filled(20, 20, [(30, 10, 3, True)])[1] is None
    stock = Stock(100, [(50, 50, 4, True)])
    joins = Joins(stock, 100, JoinManner(), np.random.default_rng(0))
    assert len(joins.fill(lambda: True).laid) == 1


def test_the_same_seed_gives_the_same_layout():
    kinds = [(37, 23, 5, True), (29, 17, 6, True), (41, 13, 5, True)]
    noisy = JoinManner(300, 150, noise=0.05)
    assert filled(120, 80, kinds, noisy)[1] == filled(120, 80, kinds, noisy)[1]


KIND = st.tuples(st.integers(3, 60), st.integers(3, 60), st.integers(1, 6), st.booleans())


@settings(max_examples=60)
@given(st.integers(20, 130), st.integers(20, 130), st.lists(KIND, min_size=1, max_size=6))
def test_what_is_laid_is_inside_apart_counted_and_comes_apart(width, length, kinds):
    stock, fill = filled(width, length, kinds, JoinManner(150, 90))
    if fill is None:
        assert all(
            min(a, b) > min(width, length)
            or max(a, b) > max(width, length)
            or not turn
            and (a > width or b > length)
            for a, b, _, turn in kinds
        )
        return
    boxes = boxes_of(placements(stock, fill))
    assert closest_pair(boxes, 0) is None
    assert not outside(boxes, 0, 0, width, length)
    assert comes_apart(boxes)
    used = [0] * len(kinds)
    for way, *_ in fill.laid:
        used[stock.ways[way][2]] += 1
    assert [n - left for (*_, n, _), left in zip(kinds, fill.counts, strict=True)] == used
    assert fill.top <= length
