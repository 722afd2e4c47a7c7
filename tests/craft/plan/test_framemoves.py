"""Random changes of frames."""

from decaljobs.craft.plan.framemoves import FrameMoves
from decaljobs.craft.plan.moves import seeded

COUNT = 5
LAST = [0, 2, 2, 4]


def test_ends_of_one_or_two_projects_move_within_the_sessions():
    moves = FrameMoves(COUNT, seeded(1))
    drawn = [changes for _ in range(500) if (changes := moves.ends(LAST))]
    assert all(0 <= there < COUNT for changes in drawn for there in changes.values())
    assert all(there != LAST[one] for changes in drawn for one, there in changes.items())
    assert {len(changes) for changes in drawn} == {1, 2}
    assert {one for changes in drawn for one in changes} == {0, 1, 2, 3}
    assert {0: 4, 3: 0} in drawn  # these two change places


def test_spraying_begins_or_ends_in_a_session_or_goes_from_one_to_another():
    moves = FrameMoves(COUNT, seeded(1))
    drawn = {moves.spraying(0b00110) for _ in range(500)}
    assert all(0 <= spraying < 1 << COUNT for spraying in drawn)
    flips = {0b00110 ^ 1 << session for session in range(COUNT)}
    moved = {0b00110 ^ 1 << one ^ 1 << other for one in (1, 2) for other in (0, 3, 4)}
    assert flips <= drawn <= flips | moved | {0b00110}
    assert drawn & moved


def test_changes_of_spraying_are_the_rarer_ones():
    moves = FrameMoves(COUNT, seeded(1))
    drawn = sum(moves.is_of_spraying() for _ in range(1000))
    assert 100 < drawn < 200  # 15 in 100
