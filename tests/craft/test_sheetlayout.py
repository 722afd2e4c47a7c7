"""The layout on sheets, offcuts and strips, checked by code that knows nothing of the search."""

import random
from collections import Counter
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from decaljobs.craft.layout.model import LayoutError, Offcut, Piece, Sheet
from decaljobs.craft.sheetlayout import (
    improve,
    improve_strip,
    lay_out,
    lay_out_strip,
)
from tests.benchmarks.layout_checks import (
    Box,
    boxes_of,
    closest_pair,
    comes_apart,
    outside,
    wrong_counts,
)
from tests.benchmarks.made_up_decals import made_up_set

A4 = Sheet(210, 297, margin=5)
OFFCUTS = (Offcut("A", 120, 80), Offcut("B", 150, 200), Offcut("C", 60, 210))

sides = st.floats(2, 70, allow_nan=False) | st.integers(2, 70)
pieces_lists = st.lists(
    st.tuples(sides, sides, st.integers(1, 5), st.booleans()), min_size=1, max_size=6
).map(lambda rows: [Piece(f"decal {at}", *row[:3], turn=row[3]) for at, row in enumerate(rows)])


def decals(count, seed=0):
    return [Piece(d.name, d.width, d.height, d.copies) for d in made_up_set(count, seed)]


def assert_right(layout, pieces, gap, straight_cuts=False):
    """Everything inside, gap kept, counts and sides as asked, and cuts possible."""
    films = {cut.name: (0, 0, cut.width, cut.height) for cut in OFFCUTS}
    everything = []
    for sheet in layout.sheets:
        boxes = boxes_of(sheet.placements)
        assert boxes
        assert not outside(boxes, *films.get(sheet.source, (5, 5, 205, 292)))
        assert closest_pair(boxes, gap) is None
        assert not straight_cuts or comes_apart(boxes)
        everything += boxes
    assert wrong_counts(everything, {p.name: (p.width, p.height, p.copies) for p in pieces}) == []


@pytest.mark.slow
@settings(deadline=None, max_examples=40)
@given(pieces_lists, st.sampled_from([0, 2, 2.5, 3, 4]), st.booleans(), st.booleans())
def test_it_keeps_every_rule_on_sheets_and_offcuts(pieces, gap, straight_cuts, together):
    layout = lay_out(
        pieces,
        A4,
        offcuts=OFFCUTS,
        gap=gap,
        iterations=4,
        straight_cuts=straight_cuts,
        together=together,
    )
    assert_right(layout, pieces, gap, straight_cuts)
    unturned = {p.name for p in pieces if not p.turn}
    for placed in (placed for sheet in layout.sheets for placed in sheet.placements):
        assert not (placed.turned and placed.name in unturned)


@settings(deadline=None, max_examples=40)
@given(pieces_lists, st.sampled_from([0, 2, 3]), st.booleans())
def test_it_keeps_every_rule_on_a_strip(pieces, gap, straight_cuts):
    layout = lay_out_strip(pieces, 100, gap=gap, iterations=3, straight_cuts=straight_cuts)
    boxes = boxes_of(layout.placements)
    assert not outside(boxes, 0, 0, 100, layout.length)
    assert max(box.upper for box in boxes) == pytest.approx(layout.length, abs=0.0011)
    assert closest_pair(boxes, gap) is None
    assert not straight_cuts or comes_apart(boxes)
    assert wrong_counts(boxes, {p.name: (p.width, p.height, p.copies) for p in pieces}) == []


@pytest.mark.parametrize("straight_cuts", [False, True])
@pytest.mark.parametrize("count", [40, 150, 400])
def test_it_lays_out_whole_sets_of_decals(count, straight_cuts):
    pieces = decals(count)
    layout = lay_out(pieces, A4, offcuts=OFFCUTS, iterations=14, straight_cuts=straight_cuts)
    assert_right(layout, pieces, 3, straight_cuts)
    assert layout.utilisation > (0.85 if count == 40 else 0.94)


def test_it_finds_the_known_best_of_a_small_strip():
    # A square of 20 mm cut into seven, so 20 mm is the optimum on a strip of 20 mm.
    cut = [(12, 8), (8, 8), (5, 12), (7, 5), (7, 7), (8, 3), (8, 9)]
    pieces = [Piece(f"part {at}", *part) for at, part in enumerate(cut)]
    assert sum(p.width * p.height for p in pieces) == 400
    layout = lay_out_strip(pieces, 20, gap=0, iterations=60)
    assert layout.length == 20
    assert layout.utilisation == 1


def test_it_counts_the_gap_between_pieces_only():
    layout = lay_out_strip([Piece("square", 10, 10, copies=4)], 23, gap=3, iterations=1)
    assert layout.length == 23
    assert layout.utilisation == pytest.approx(1)
    assert layout.film_mm2 == pytest.approx(23 * 23)


@pytest.mark.slow
@pytest.mark.parametrize("straight_cuts", [False, True])
def test_it_fills_offcuts_before_it_opens_a_sheet(straight_cuts):
    pieces = decals(400)
    layout = lay_out(pieces, A4, offcuts=OFFCUTS, iterations=70, straight_cuts=straight_cuts)
    sources = [sheet.source for sheet in layout.sheets]
    assert sources[:3] == ["A", "C", "B"]
    assert sources[3] == "sheet 1"
    assert [sheet.fullness >= 0.96 for sheet in layout.sheets[:3]] == [True] * 3


def test_it_passes_over_an_offcut_nothing_fits_on():
    layout = lay_out([Piece("big", 80, 80)], A4, offcuts=[Offcut("sliver", 300, 20)], iterations=1)
    assert [sheet.source for sheet in layout.sheets] == ["sheet 1"]


def test_it_leaves_one_usable_rectangle_of_the_last_sheet():
    layout = lay_out(decals(40), A4, iterations=20)
    (sheet,) = layout.sheets
    rest = sheet.offcut
    assert rest.x >= 5 and rest.y >= 5
    assert rest.x + rest.width == pytest.approx(205)
    assert rest.y + rest.height == pytest.approx(292)
    assert min(rest.width, rest.height) >= 20
    for placed in sheet.placements:
        beside = placed.x + placed.width + 3 <= rest.x + 1e-6
        below = placed.y + placed.height + 3 <= rest.y + 1e-6
        assert beside or below
    assert sheet.film_mm2 == pytest.approx(210 * 297 - _cut_off(rest))


def _cut_off(rest):
    """The rest with the margins that go with it, mm²."""
    return (rest.width + 5) * 297 if rest.height == 287 else 210 * (rest.height + 5)


def test_it_tries_both_axes_for_the_last_cut():
    # Two bars of 190 mm side by side across the sheet would cost 2 × 63 mm of its length …
    upright = lay_out([Piece("bar", 60, 280, turn=False)], A4, iterations=4)
    assert upright.sheets[0].offcut.height == 287
    level = lay_out([Piece("bar", 190, 60, turn=False)], A4, iterations=4)
    assert level.sheets[0].offcut.width == 200


def test_it_shows_the_first_layout_and_only_better_ones_after_it():
    lengths = [layout.length for layout in improve_strip(decals(40), 210, iterations=25)]
    assert len(lengths) > 2
    assert all(earlier > later for earlier, later in pairwise(lengths))
    films = [layout.film_mm2 for layout in improve(decals(40), A4, iterations=25)]
    assert len(films) > 1
    assert all(earlier > later for earlier, later in pairwise(films))


@pytest.mark.parametrize("straight_cuts", [False, True])
def test_it_gives_an_equal_layout_for_an_equal_seed(straight_cuts):
    wishes = {"iterations": 12, "straight_cuts": straight_cuts}
    pieces = decals(80)
    first = lay_out(pieces, A4, seed=7, **wishes)
    assert lay_out(pieces, A4, seed=7, **wishes) == first
    assert lay_out(pieces, A4, seed=8, **wishes) != first


class Clock:
    """Runs a hundredth of a second ahead each time it is read."""

    def __init__(self):
        self.now = 0.0

    def __call__(self):
        self.now += 0.01
        return self.now


def test_it_stops_when_the_time_given_is_over():
    clock = Clock()
    list(improve_strip(decals(150), 210, seconds=2, clock=clock))
    assert 2 <= clock.now < 2.1
    clock = Clock()
    lay_out(decals(150), A4, seconds=2, clock=clock)
    assert 2 <= clock.now < 2.6


def test_it_keeps_copies_together_where_asked():
    pieces = decals(150, seed=3)
    together = lay_out_strip(pieces, 210, iterations=30)
    apart = lay_out_strip(pieces, 210, iterations=30, together=False)
    split = [_groups(layout.placements) - len(pieces) for layout in (together, apart)]
    assert split[0] < 0.75 * split[1]
    assert together.length < 1.02 * apart.length


def _groups(placements):
    """Groups of copies that lie one gap apart, summed over all decals."""
    waiting, groups = list(placements), 0
    while waiting:
        groups += 1
        reached = [waiting.pop()]
        while reached:
            one = reached.pop()
            near = [p for p in waiting if p.name == one.name and _beside(one, p)]
            reached += near
            waiting = [p for p in waiting if p not in near]
    return groups


def _beside(one, other, reach=3.5):
    return (
        one.x < other.x + other.width + reach
        and other.x < one.x + one.width + reach
        and one.y < other.y + other.height + reach
        and other.y < one.y + one.height + reach
    )


def test_it_takes_less_film_for_a_smaller_gap():
    narrow = lay_out_strip(decals(40), 210, gap=2, iterations=10)
    wide = lay_out_strip(decals(40), 210, gap=4, iterations=10)
    assert narrow.film_mm2 < wide.film_mm2


def test_it_lays_out_five_thousand_pieces():
    pieces = decals(5000)
    layout = lay_out_strip(pieces, 210, iterations=0)
    assert len(layout.placements) == 5000
    assert closest_pair(boxes_of(layout.placements), 3) is None
    assert layout.utilisation > 0.95


@pytest.mark.parametrize(
    "pieces, sentence",
    [
        ([], "There are no pieces to lay out."),
        ([Piece("wing", 250, 220)], "‘wing’ .250 × 220 mm. is larger than the sheet.*200 × 287"),
        ([Piece("wing", 250, 90, turn=False)], "wing.*may not be turned"),
        ([Piece("dot", 0, 5)], "The width of ‘dot’ is 0 mm: 0.01 to 100000 mm"),
        ([Piece("dot", 5, float("nan"))], "The height of ‘dot’ is nan mm"),
        ([Piece("dot", 5, float("inf"))], "The height of ‘dot’ is inf mm"),
        ([Piece("dot", -5, 5)], "The width of ‘dot’ is -5 mm"),
        ([Piece("dot", "5", 5)], "The width of ‘dot’ is 5 mm"),
        ([Piece("dot", 5, 5, 0)], "‘dot’ has 0 copies"),
        ([Piece("dot", 5, 5, 1.5)], "‘dot’ has 1.5 copies"),
        ([Piece("dot", 5, 5, 10_001)], "10001 pieces are too many: 1 to 10000"),
    ],
)
def test_it_rejects_pieces_with_a_sentence(pieces, sentence):
    with pytest.raises(LayoutError, match=sentence):
        improve(pieces, A4)


@pytest.mark.parametrize(
    "sheet, wishes, sentence",
    [
        (Sheet(10, 10), {"gap": 12}, "The gap of 12 mm is as wide as the film itself .10 mm."),
        (A4, {"gap": 21}, "The gap is 21 mm: 0 to 20 mm"),
        (A4, {"gap": float("nan")}, "The gap is nan mm"),
        (A4, {"gap": -1}, "The gap is -1 mm"),
        (Sheet(0, 10), {}, "The sheet's width is 0 mm"),
        (Sheet(10, 10, 5), {}, "A margin of 5 mm leaves nothing"),
        (Sheet(10, 10, -1), {}, "The margin is -1 mm"),
        (A4, {"seconds": float("nan")}, "nan seconds: 0 to 600"),
        (A4, {"seconds": -1}, "-1 seconds"),
        (A4, {"iterations": -1}, "-1 iterations"),
        (A4, {"offcuts": [Offcut("old", 0, 9)]}, "The width of offcut ‘old’ is 0 mm"),
    ],
)
def test_it_rejects_film_and_wishes_with_a_sentence(sheet, wishes, sentence):
    with pytest.raises(LayoutError, match=sentence):
        improve([Piece("dot", 5, 5)], sheet, **wishes)


def test_it_names_the_widest_piece_a_strip_takes():
    with pytest.raises(LayoutError, match="‘wing’.*larger than the strip.*80 mm across"):
        lay_out_strip([Piece("wing", 90, 100)], 80)


def test_it_takes_a_piece_that_just_fits():
    layout = lay_out([Piece("whole", 200, 287), Piece("whole too", 287, 200)], A4, iterations=1)
    assert [len(sheet.placements) for sheet in layout.sheets] == [1, 1]
    with pytest.raises(LayoutError, match="larger than the sheet"):
        improve([Piece("hair too long", 200.0004, 287)], A4)


def test_the_checks_themselves_can_fail():
    pinwheel = [
        Box("a", 0, 0, 2, 1),
        Box("b", 2, 0, 1, 2),
        Box("c", 1, 2, 2, 1),
        Box("d", 0, 1, 1, 2),
    ]
    assert not comes_apart(pinwheel)
    assert comes_apart(pinwheel[:3])
    assert closest_pair(pinwheel, 0) is None
    assert closest_pair(pinwheel, 0.1) is not None
    assert outside(pinwheel, 0, 0, 3, 2.9) == [pinwheel[2], pinwheel[3]]
    assert wrong_counts(pinwheel, {"a": (1, 2, 2)}) == ["a", "b", "c", "d"]


@pytest.mark.parametrize("seed", range(12))
def test_a_very_short_search_still_lays_everything_out(seed):
    pick = random.Random(seed)
    pieces = [
        Piece(f"p{number}", round(pick.uniform(6.5, 60), 1), round(pick.uniform(6.5, 60), 1), 3)
        for number in range(14)
    ]
    layout = lay_out(pieces, Sheet(196, 283, 0), gap=2, seconds=0.02, seed=seed)
    laid = Counter(placed.name for sheet in layout.sheets for placed in sheet.placements)
    assert laid == {piece.name: 3 for piece in pieces}
