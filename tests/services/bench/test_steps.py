"""The chain of steps, as the bench keeps it."""

from datetime import timedelta

import pytest

from decaljobs.craft.stages import Build, Layer, Stage
from decaljobs.models import StageEvent
from decaljobs.services.bench import spoiling, steps, undoing
from decaljobs.services.refused import Overtaken, Refused, TooEarly
from tests.factories import EVENING, make_decal, make_person, sealed_decal

pytestmark = pytest.mark.django_db

HOURS = timedelta(hours=1)


def log(decal, step, moment, **fields):
    steps.log_step(decals=[decal.pk], step=step, moment=moment, **fields)
    decal.refresh_from_db()


def test_it_takes_a_laminated_decal_through_the_whole_chain(maker):
    decal = sealed_decal(maker)
    assert (decal.stage, decal.next_step, decal.held_because) == ("sealed", "base_applied", "")
    log(decal, Stage.BASE_APPLIED, EVENING, by=maker)
    assert decal.ready_at == EVENING + 12 * HOURS
    log(decal, Stage.CLEAR_APPLIED, EVENING + 13 * HOURS, by=maker)
    assert decal.stage == "clear_applied"
    assert decal.stage_now(EVENING + 25 * HOURS) is Stage.SET
    stages = list(decal.events.order_by("number").values_list("to_stage", "how"))
    assert stages[-3:] == [("base_applied", "hand"), ("cured", "clock"), ("clear_applied", "hand")]


def test_it_refuses_the_clear_layer_while_the_base_dries_unless_told_why(maker):
    decal = sealed_decal(maker)
    log(decal, Stage.BASE_APPLIED, EVENING, by=maker)
    with pytest.raises(TooEarly, match="not ready"):
        log(decal, Stage.CLEAR_APPLIED, EVENING + 2 * HOURS, by=maker)
    assert decal.events.count() == 3
    log(decal, Stage.CLEAR_APPLIED, EVENING + 2 * HOURS, by=maker, reason="a scrap, for practice")
    early = decal.events.get(to_stage="clear_applied")
    assert (early.how, early.reason) == ("early", "a scrap, for practice")


def test_it_lets_the_finger_end_the_wait(maker):
    decal = sealed_decal(maker)
    log(decal, Stage.BASE_APPLIED, EVENING, by=maker)
    log(decal, Stage.CURED, EVENING + 6 * HOURS, by=maker)
    assert decal.events.get(to_stage="cured").how == "touch"
    assert decal.ready_at <= EVENING + 6 * HOURS


def test_it_undoes_the_last_step_and_gives_the_piece_back(maker):
    decal = sealed_decal(maker)
    log(decal, Stage.BASE_APPLIED, EVENING, by=maker)
    assert decal.pieces.filter(state="used").count() == 1
    undoing.undo_last(decal=decal.pk, by=maker, moment=EVENING + HOURS)
    decal.refresh_from_db()
    assert decal.stage == "sealed"
    assert decal.pieces.filter(state="good").count() == 4
    assert decal.events.count() == 4


def test_it_falls_back_to_cured_when_the_clear_layer_is_spoiled(maker):
    decal = sealed_decal(maker)
    log(decal, Stage.BASE_APPLIED, EVENING, by=maker)
    log(decal, Stage.CLEAR_APPLIED, EVENING + 13 * HOURS, by=maker)
    spoiling.spoil_layer(
        decal=decal.pk, layer=Layer.CLEAR, by=maker, moment=EVENING + 14 * HOURS, reason="torn"
    )
    decal.refresh_from_db()
    assert (decal.stage, decal.next_step, decal.clean_surface) == ("cured", "clear_applied", False)
    assert decal.pieces.filter(layer="clear", state="spoiled").count() == 1


def test_it_falls_back_to_sealed_when_the_base_is_spoiled(maker):
    decal = sealed_decal(maker)
    log(decal, Stage.BASE_APPLIED, EVENING, by=maker)
    spoiling.spoil_layer(
        decal=decal.pk, layer=Layer.BASE, by=maker, moment=EVENING + HOURS, reason="slipped"
    )
    decal.refresh_from_db()
    assert (decal.stage, decal.clean_surface) == ("sealed", True)


def test_it_holds_a_decal_with_no_good_piece_left(maker):
    decal = sealed_decal(maker)
    for piece in decal.pieces.filter(layer="base"):
        spoiling.spoil_piece(piece=piece.pk, by=maker, moment=EVENING, reason="scratched")
    decal.refresh_from_db()
    assert decal.held_because == "no_base_piece"


def test_it_tells_the_second_of_two_makers(maker):
    decal = sealed_decal(maker)
    seen = {decal.pk: decal.events_logged}
    log(decal, Stage.BASE_APPLIED, EVENING, by=maker, seen=seen)
    with pytest.raises(Overtaken, match="moved on"):
        log(decal, Stage.BASE_APPLIED, EVENING, by=make_person(), seen=seen)
    assert StageEvent.objects.filter(decal=decal, to_stage="base_applied").count() == 1


@pytest.mark.parametrize("ahead", [timedelta(seconds=1), timedelta(days=400)])
def test_it_refuses_a_time_in_the_future(maker, ahead):
    decal = sealed_decal(maker)
    with pytest.raises(Refused, match="still to come"):
        log(decal, Stage.BASE_APPLIED, EVENING, by=maker, at=EVENING + ahead)


def test_it_refuses_a_skipped_stage(maker):
    decal = sealed_decal(maker)
    with pytest.raises(Refused, match="base applied comes next"):
        log(decal, Stage.CLEAR_APPLIED, EVENING, by=maker)


def test_it_holds_a_new_decal_until_it_lies_on_a_sheet():
    decal = make_decal(Build.CLEAR_ALONE)
    decal.refresh_from_db()
    assert decal.held_because == "no_clear_piece"
