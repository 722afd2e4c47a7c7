"""A decal's log: what is undone never was, and what became of a piece is its last line's word."""

import pytest

from decaljobs.craft.decallog import Entry, EntryKind, in_force, piece_states, stage_of
from decaljobs.craft.stages import Stage


def step(number, stage, pieces=()):
    return Entry(number, EntryKind.STEP, Stage.PLANNED, stage, pieces=pieces)


def undo(number, line):
    return Entry(number, EntryKind.UNDO, Stage.PLANNED, Stage.PLANNED, undoes=line)


PRINTED = step(1, Stage.PRINTED)
SEALED = step(2, Stage.SEALED)
LAID = step(3, Stage.BASE_APPLIED, pieces=(7, 8))
SPOILED = Entry(4, EntryKind.SPOILED, Stage.BASE_APPLIED, Stage.SEALED, pieces=(7,))
LOST = Entry(4, EntryKind.PIECE_SPOILED, Stage.BASE_APPLIED, Stage.BASE_APPLIED, pieces=(9,))


def test_a_line_that_is_undone_does_not_stand_and_neither_does_its_undo():
    assert in_force([PRINTED, SEALED, undo(3, line=2)]) == (PRINTED,)


def test_lines_are_read_in_the_order_of_their_numbers():
    assert in_force([SEALED, PRINTED]) == (PRINTED, SEALED)
    assert stage_of([SEALED, PRINTED]) == Stage.SEALED


@pytest.mark.parametrize(
    ("lines", "stage"),
    [
        ([], Stage.PLANNED),
        ([PRINTED, SEALED], Stage.SEALED),
        ([PRINTED, SEALED, undo(3, line=2)], Stage.PRINTED),
        ([PRINTED, SEALED, LAID, SPOILED], Stage.SEALED),
    ],
)
def test_a_decal_is_where_its_last_standing_step_or_mishap_brought_it(lines, stage):
    assert stage_of(lines) == stage


@pytest.mark.parametrize(
    "kind", [EntryKind.PIECE_SPOILED, EntryKind.NOT_YET, EntryKind.MOVED, EntryKind.RULE]
)
def test_a_line_that_is_no_step_leaves_the_decal_where_it_is(kind):
    note = Entry(3, kind, Stage.SEALED, Stage.BASE_APPLIED)
    assert stage_of([PRINTED, SEALED, note]) == Stage.SEALED


@pytest.mark.parametrize(
    ("lines", "states"),
    [
        ([PRINTED, SEALED], {}),
        ([LAID], {7: "used", 8: "used"}),
        ([LAID, SPOILED], {7: "spoiled", 8: "used"}),
        ([LAID, SPOILED, undo(5, line=4)], {7: "used", 8: "used"}),
        ([LAID, LOST], {7: "used", 8: "used", 9: "spoiled"}),
    ],
)
def test_a_piece_is_what_the_last_line_that_names_it_says(lines, states):
    assert piece_states(lines) == states
