"""The squeeze by outline: kept only where it holds and saves film, and never hangs."""

import json
import signal
import subprocess
import sys
from collections import Counter
from math import cos, pi, sin
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapely import Polygon, box
from shapely.affinity import translate

from decaljobs.services.refused import Refused
from decaljobs.services.squeeze import lanes, parts
from decaljobs.services.squeeze import nesting as squeezing
from decaljobs.services.squeeze.nesting import OutlinePiece, OutlinePlacement, closest, squeeze
from decaljobs.services.squeeze.settling import closer, settled

TOP = Path(__file__).parents[3]
TRIANGLE = ((0.0, 0.0), (40.0, 0.0), (0.0, 40.0))
SQUARE = ((0.0, 0.0), (20.0, 0.0), (20.0, 20.0), (0.0, 20.0))


@pytest.fixture
def nesting():
    """Eight triangles that lie in pairs: 86 × 86 mm by outline, 169 mm long in boxes."""
    return squeeze(
        [OutlinePiece("pennant", TRIANGLE, copies=8)], width=86, length=169, gap=3, seconds=8
    )


@pytest.mark.slow
def test_it_nests_triangles_into_each_other(nesting):
    assert nesting.length < 150
    assert nesting.saved == pytest.approx(169 - nesting.length)
    assert [placed.name for placed in nesting.placements] == ["pennant"] * 8
    assert closest(nesting.placements, 3) >= 2.99
    for placed in nesting.placements:
        assert Polygon(placed.outline).area == pytest.approx(800)
        assert box(-0.01, -0.01, 86.01, nesting.length + 0.01).covers(Polygon(placed.outline))
        assert placed.degrees in (0, 90, 180, 270)


@pytest.mark.slow
def test_it_keeps_nothing_that_saves_no_film():
    pieces = [OutlinePiece("square", SQUARE, copies=4)]
    assert squeeze(pieces, width=43, length=43, gap=3, seconds=2) is None


@pytest.mark.slow
def test_it_leaves_upright_what_may_not_be_turned():
    flag = ((0.0, 0.0), (30.0, 0.0), (30.0, 10.0), (0.0, 10.0))
    laid = squeeze(
        [OutlinePiece("flag", flag, copies=4, turn=False)], width=70, length=90, seconds=2
    )
    assert {placed.degrees for placed in laid.placements} == {0}
    assert {(round(p.width, 6), round(p.height, 6)) for p in laid.placements} == {(30, 10)}


@pytest.mark.slow
def test_it_reports_progress_and_stops_when_told():
    told = []
    squeeze(
        [OutlinePiece("pennant", TRIANGLE, copies=12)],
        width=86,
        length=300,
        seconds=30,
        progress=lambda share, shortest: told.append((share, shortest)),
        stopped=lambda: len(told) > 5,
    )
    assert len(told) == 7  # six looks, and the end
    assert told[0][1] is None
    assert [share for share, _ in told] == sorted(share for share, _ in told)
    assert told[-1][0] == 1.0


@pytest.mark.slow
@pytest.mark.parametrize(
    ("script", "end"),
    [
        ("import time; time.sleep(60)", -signal.SIGKILL),
        ("import sys; sys.exit(3)", 3),
        ("print('not JSON', end='')", 0),
        ("import os; os.abort()", -signal.SIGABRT),
    ],
)
def test_it_gives_up_on_a_worker_that_hangs_or_dies(monkeypatch, tmp_path, script, end):
    (tmp_path / "worker.py").write_text(script)
    monkeypatch.setattr(lanes, "WORKER", tmp_path / "worker.py")
    begun = []

    class Followed(lanes._Child):
        def __init__(self, *job):
            super().__init__(*job)
            begun.append(self.process)

    monkeypatch.setattr(lanes, "_Child", Followed)
    assert squeeze([OutlinePiece("square", SQUARE)], width=50, length=90, seconds=2) is None
    assert begun
    # One that ends by itself may be killed while it does.
    assert {process.returncode for process in begun} <= {end, -signal.SIGKILL}


WRONG = {
    "overlapping": "[[0, 0, 0, 0], [0, 0, 5, 0]]",
    "one missing": "[[0, 0, 0, 0]]",
    "over the edge": "[[0, 0, 0, 0], [0, 0, 0, 40]]",
    "gap too small": "[[0, 0, 0, 0], [0, 0, 22, 0]]",
}
RIGHT = "[[0, 0, 0, 0], [0, 0, 23, 0]]"


def answer(monkeypatch, tmp_path, placed):
    line = f'{{"length": 1, "placed": {placed}}}'
    (tmp_path / "worker.py").write_text(f"print('''{line}''')")
    monkeypatch.setattr(lanes, "WORKER", tmp_path / "worker.py")
    pieces = [OutlinePiece("square", SQUARE, copies=2)]
    return squeeze(pieces, width=50, length=90, gap=3, seconds=5)


@pytest.mark.parametrize("fault", WRONG)
def test_it_throws_away_a_nesting_that_does_not_hold(monkeypatch, tmp_path, fault):
    assert answer(monkeypatch, tmp_path, WRONG[fault]) is None


def test_it_keeps_a_nesting_that_holds(monkeypatch, tmp_path):
    kept = answer(monkeypatch, tmp_path, RIGHT)
    assert kept.length == pytest.approx(43)
    assert kept.saved == pytest.approx(47)


ROWS = """
import json, sys
job = json.load(sys.stdin)
copies = [at for at, (_, number, *_) in enumerate(job["items"]) for _ in range(number)]
placed = [[at, 0, 23 * row, 0] for row, at in enumerate(copies)]
print(json.dumps({"length": 23 * len(copies), "placed": placed}))
"""


@pytest.fixture
def rows(monkeypatch, tmp_path):
    """A worker that lays squares of 20 mm one below the other, 3 mm apart."""
    (tmp_path / "worker.py").write_text(ROWS)
    monkeypatch.setattr(lanes, "WORKER", tmp_path / "worker.py")


@pytest.mark.parametrize("copies", [(40, 1), (100, 30), (17, 300)])
def test_many_pieces_are_nested_in_parts_that_follow_each_other(rows, copies):
    pieces = [OutlinePiece(f"square {at}", SQUARE, number) for at, number in enumerate(copies)]
    laid = squeeze(pieces, width=40, length=1e5, gap=3, seconds=20)
    count = sum(copies)
    assert laid.length == pytest.approx(23 * count - 3, abs=0.1)
    assert Counter(placed.name for placed in laid.placements) == {
        f"square {at}": number for at, number in enumerate(copies)
    }
    assert closest(laid.placements, 3) == pytest.approx(3, abs=0.01)


@pytest.mark.parametrize(
    "shortens, seconds, nesting", [(True, 20, lanes.NESTING), (False, 20, 1), (True, 3, 1)]
)
def test_the_library_leaves_time_for_making_its_nesting_shorter(
    monkeypatch, tmp_path, shortens, seconds, nesting
):
    echo = "import json, sys; print(json.dumps({'length': json.load(sys.stdin)['nesting']}))"
    (tmp_path / "worker.py").write_text(echo)
    monkeypatch.setattr(lanes, "WORKER", tmp_path / "worker.py")
    wishes = {"progress": lambda share, length: None, "stopped": lambda: False}
    part = lanes.StripPart((), 50, 3, shortens)
    (found,) = lanes.nested([part], lanes=1, seconds=seconds, seed=0, **wishes)
    assert found["length"] == nesting


@pytest.mark.slow
def test_the_worker_makes_shorter_what_the_library_nested():
    """The library is told of 5 mm round squares of 20 mm; by their real outlines 3 mm are kept."""
    corners = [[-2.5, -2.5], [22.5, -2.5], [22.5, 22.5], [-2.5, 22.5]]
    job = {"items": [[corners, 4, [0], list(SQUARE)]], "width": 51.0, "gap": 3.0, "seed": 0}
    told = json.dumps(job | {"seconds": 8, "nesting": 0.3, "explore": 0.7})
    done = subprocess.run(
        [sys.executable, "-I", lanes.WORKER], input=told, capture_output=True, text=True, check=True
    )
    lengths = [json.loads(line)["length"] for line in done.stdout.splitlines()]
    assert lengths[0] >= 50
    assert lengths[-1] == pytest.approx(46, abs=0.1)


def test_a_part_slides_into_the_one_before():
    """The first part ends in a step, and the second begins in one that fits it."""
    corners = ((0, 0), (50, 0), (50, 20), (20, 20), (20, 40), (0, 40))
    half_turn = tuple((50 - x, 40 - y) for x, y in corners)
    step = OutlinePlacement("step", 0, 0, 0, 50, 40, corners)
    turned = OutlinePlacement("step", 180, 0, 0, 50, 40, half_turn)
    strip = parts.joined([[step], [turned]], 3, 50, half_turns=False)
    assert strip[1].y == pytest.approx(23, abs=0.01)
    assert closest(strip, 3) == pytest.approx(3, abs=0.01)


def test_a_part_is_turned_by_a_half_where_that_slides_deeper():
    corners = ((0, 0), (50, 0), (50, 20), (20, 20), (20, 40), (0, 40))
    step = OutlinePlacement("step", 0, 0, 0, 50, 40, corners)
    same = [[step], [step]]
    assert parts.joined(same, 3, 50, half_turns=False)[1].y == pytest.approx(43, abs=0.01)
    upright, turned = parts.joined(same, 3, 50, half_turns=True)
    assert (turned.degrees, turned.x) == (180, 0)
    assert turned.y == pytest.approx(23, abs=0.01)
    assert closest([upright, turned], 3) == pytest.approx(3, abs=0.01)


DISC = tuple((10 + 10 * cos(pi * at / 24), 10 + 10 * sin(pi * at / 24)) for at in range(48))


def test_few_pieces_are_nested_all_together_and_without_what_fills_its_box():
    pieces = [OutlinePiece("bar", SQUARE, 3), OutlinePiece("disc", DISC, 4)]
    whole, mixed = parts.divisions(pieces, shapes_of(pieces), 3, lanes=2)
    assert (whole.boxed, whole.nested) == ({}, ({0: 3, 1: 4},))
    assert (mixed.boxed, mixed.nested) == ({0: 3}, ({1: 4},))
    (alone,) = parts.divisions(pieces[:1], shapes_of(pieces[:1]), 3, lanes=2)
    assert (alone.boxed, alone.nested) == ({}, ({0: 3},))


def test_of_many_pieces_only_those_are_nested_that_leave_their_box_empty():
    pieces = [OutlinePiece("bar", SQUARE, 100), OutlinePiece("disc", DISC, 200)]
    (mixed,) = parts.divisions(pieces, shapes_of(pieces), 3, lanes=2)
    assert mixed.boxed == {0: 100}
    assert [part[1] for part in mixed.nested] == [50, 50, 50, 50]


def test_bars_are_laid_in_boxes_and_the_nested_discs_follow(rows):
    """The worker lays its pieces 23 mm apart, one below the other."""
    pieces = [OutlinePiece("bar", SQUARE, 60), OutlinePiece("disc", DISC, 60)]
    told = []
    laid = squeeze(
        pieces, width=66, length=1e5, gap=3, seconds=10, progress=lambda *said: told.append(said)
    )
    bars = [placed for placed in laid.placements if placed.name == "bar"]
    assert max(placed.y + placed.height for placed in bars) == pytest.approx(20 * 23 - 3, abs=0.01)
    assert Counter(placed.name for placed in laid.placements) == {"bar": 60, "disc": 60}
    assert closest(laid.placements, 3) >= 2.99
    assert told[-1][1] == pytest.approx(20 * 23 + 60 * 23, abs=0.1)
    assert laid.length <= told[-1][1] - 3 + 0.01


COMB = [(x, y) for at in range(0, 60, 6) for x, y in ((at, 0), (at, 9), (at + 3, 9), (at + 3, 0))]


@pytest.mark.parametrize("gap", [0, 2, 3, 4])
@pytest.mark.parametrize("corners", [DISC, TRIANGLE, [(0, -20), *COMB, (60, -20)]], ids=range(3))
def test_the_library_is_given_half_the_gap_round_an_outline_and_few_corners(corners, gap):
    shape = Polygon(corners)
    given = squeezing._simplified(shape, gap)
    assert given.contains(shape)
    assert shape.distance(given.exterior) >= gap / 2 - 1e-9
    assert shape.hausdorff_distance(given) < gap / 2 + 9.2
    assert len(given.exterior.coords) <= squeezing.MOST_OF_ONE
    # A bay of 3 mm is closed, which is no place for another piece.
    assert not given.interiors


def shapes_of(pieces):
    return [Polygon(piece.outline) for piece in pieces]


def lying(name, x, y, corners=DISC):
    shape = translate(Polygon(corners), x, y)
    return parts.placement(name, 0, shape)


def test_loose_pieces_are_let_down_no_nearer_than_the_gap():
    loose = [lying("low", 5, 8), lying("high", 11, 40), lying("beside", 40, 90)]
    down = settled(loose, 3, 66)
    assert [placed.name for placed in down] == ["low", "high", "beside"]
    assert [placed.y for placed in (down[0], down[2])] == [pytest.approx(0, abs=0.01)] * 2
    assert closest(down, 3) == pytest.approx(3, abs=0.02)
    # Straight down the middles come to lie 23 mm apart, 6 of them across.
    assert down[1].y < (23**2 - 6**2) ** 0.5 + 0.01
    for before, after in zip(loose, down, strict=True):
        assert after.y <= before.y
        assert 0 <= after.x <= 66 - 20
        assert Polygon(after.outline).bounds[:2] == pytest.approx((after.x, after.y))
    assert settled(down, 3, 66)[0] == down[0]
    assert settled(loose, 3, 66, over=lambda: True) == loose


def test_pieces_let_down_are_pressed_together_too():
    """The upper disc rests on two that stand loosely; only moved all at once it sinks between."""
    loose = [lying("left", 0, 0), lying("right", 30, 0), lying("upper", 15, 24)]
    down = settled(loose, 3, 60)
    tight = closer(loose, 3, 60)
    assert [placed.name for placed in tight] == ["left", "right", "upper"]
    assert tight[2].y < down[2].y - 1
    assert closest(tight, 3) >= 2.99
    for placed in tight:
        assert Polygon(placed.outline).bounds[:2] == pytest.approx((placed.x, placed.y))
    assert closer(loose, 3, 60, over=lambda: True) == loose


@given(
    st.lists(st.tuples(st.floats(0, 60), st.floats(0, 60)), min_size=1, max_size=9),
    st.floats(0, 5),
)
def test_settling_never_overlaps_lifts_or_leaves_the_strip(places, gap):
    loose = [lying(f"{at}", x, 30 * at + y) for at, (x, y) in enumerate(places)]
    apart = closest(loose, gap) >= gap
    down = settled(loose, gap, 80)
    assert all(0 <= placed.x <= 60 + 1e-9 and placed.y >= -1e-9 for placed in down)
    assert all(new.y <= old.y + 1e-9 for new, old in zip(down, loose, strict=True))
    if apart:
        assert closest(down, gap) >= gap - 1e-9


@pytest.mark.parametrize(
    "pieces, sentence",
    [
        ([], "nothing to squeeze"),
        ([OutlinePiece("dot", ())], "‘dot’ has no outline of"),
        ([OutlinePiece("dot", ((0, 0), (1, 1), (2, 2)))], "encloses no area"),
        ([OutlinePiece("dot", SQUARE, copies=0)], "nothing to squeeze"),
        ([OutlinePiece("dot", SQUARE, copies=1001)], "1001 pieces are too many"),
        ([OutlinePiece("big", ((0, 0), (90, 0), (90, 80), (0, 80)))], "‘big’ .90.0 × 80.0 mm."),
        ([OutlinePiece("nan", ((0, 0), (float("nan"), 0), (1, 1)))], "‘nan’"),
    ],
    ids=range(7),
)
def test_it_refuses_what_cannot_be_nested(pieces, sentence):
    with pytest.raises(Refused, match=sentence):
        squeeze(pieces, width=50, length=90)


@pytest.mark.slow
def test_it_takes_a_piece_as_wide_as_the_strip():
    bar = ((0.0, 0.0), (50.0, 0.0), (50.0, 8.0), (0.0, 8.0))
    laid = squeeze([OutlinePiece("bar", bar, copies=2)], width=50, length=60, seconds=2)
    assert laid.length == pytest.approx(19, abs=0.5)


def test_it_refuses_more_than_forty_seconds():
    with pytest.raises(Refused, match="1 to 40 seconds"):
        squeeze([OutlinePiece("square", SQUARE)], width=50, length=90, seconds=41)


def test_it_never_loads_the_nesting_library_into_the_program():
    program = (
        "import sys, decaljobs.services.squeeze.nesting as s; sys.exit('spyrrow' in sys.modules)"
    )
    done = subprocess.run([sys.executable, "-c", program], cwd=TOP, check=False)
    assert done.returncode == 0


@pytest.mark.parametrize("parts, begun", [(1, [0, 1]), (2, [0, 0]), (5, [0, 0])])
def test_all_lanes_work_side_by_side(monkeypatch, parts, begun):
    """One part is begun with two seeds; of several, one in each lane."""
    seeds = []

    class Endless:
        def __init__(self, part, seconds, seed):
            seeds.append(seed)

        def lines(self):
            return []

        def end(self):
            pass

    monkeypatch.setattr(lanes, "_Child", Endless)
    wishes = {"progress": lambda share, length: None, "stopped": lambda: False}
    part = lanes.StripPart((), 50)
    found = lanes.nested([part] * parts, lanes=2, seconds=0.25, seed=0, **wishes)
    assert seeds[:2] == begun
    assert found == [None] * parts
