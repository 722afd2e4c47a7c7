"""Random readings, moves, touches, changed rules and undos: what is stored is what the log says."""

from datetime import datetime, timedelta

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from decaljobs.craft.stages import Build, Stage
from decaljobs.models import Decal, Room, Sheet, StageEvent, WaitRule
from decaljobs.services.bench import logbook, moving, steps, touch, undoing
from decaljobs.services.bench.outlooks import AHEAD_FIELDS, look_ahead
from decaljobs.services.drying import rooms
from decaljobs.services.drying.air import Airs
from decaljobs.services.drying.rule_changes import change_rule
from decaljobs.services.film.sheet_undoing import stand_where_sheet_log_says
from decaljobs.services.refused import Refused
from tests.factories import EVENING, make_person, make_project, sealed_decal

pytestmark = pytest.mark.django_db
MINUTE = timedelta(minutes=1)

DOINGS = st.one_of(
    st.tuples(st.just("read"), st.integers(2, 30), st.integers(20, 95)),
    st.tuples(st.just("read"), st.integers(15, 30), st.integers(30, 60)),
    st.tuples(st.just("move"), st.integers(0, 2), st.none()),
    st.tuples(st.just("not_yet"), st.none(), st.none()),
    st.tuples(st.just("dry"), st.none(), st.none()),
    st.tuples(st.just("next"), st.booleans(), st.none()),
    st.tuples(st.just("rule"), st.integers(6, 20), st.booleans()),
    st.tuples(st.just("undo"), st.none(), st.none()),
    st.tuples(st.just("state"), st.integers(8, 25), st.none()),
    st.tuples(st.just("usual"), st.integers(0, 2), st.none()),
)
CHAINS = st.lists(st.tuples(DOINGS, st.integers(0, 20)), min_size=6, max_size=16)


def do(what, which, extra, *, decal, maker, moment) -> None:
    here = list(Room.objects.order_by("pk"))
    if what == "read":
        room = moving.lies_in(decal, Airs())
        rooms.add_reading(room=room.pk, at=moment, temperature=which, humidity=extra, moment=moment)
    elif what == "move":
        moving.move_decals(decals=[decal.pk], room=here[which], by=maker, moment=moment)
    elif what == "not_yet":
        touch.log_not_yet(decal=decal.pk, by=maker, moment=moment)
    elif what == "dry":
        dried = Stage.CURED if decal.stage == "base_applied" else Stage.SET
        steps.log_step(decals=[decal.pk], step=dried, by=maker, moment=moment)
    elif what == "next":
        step = Stage(decal.next_step or "overcoated")
        reason = "for practice" if which else ""
        steps.log_step(decals=[decal.pk], step=step, by=maker, moment=moment, reason=reason)
    elif what == "rule":
        rule = WaitRule.objects.get(kind="base_cured")
        rule.reference_hours, rule.floor_hours = which, 4
        change_rule(rule=rule, follow=extra, by=maker, moment=moment)
    elif what == "undo":
        undoing.undo_last(decal=decal.pk, by=maker, moment=moment)
    elif what == "state":
        room = here[1]
        room.day_temperature = room.night_temperature = which
        rooms.change_room(room=room, moment=moment)
    else:
        rooms.make_usual(room=here[which].pk)


def check_agreement(decal: Decal, moment: datetime, stated: datetime) -> None:
    """Read back from the log alone, the decal stands, waits and lies as it is stored.

    stated: when the air of a room was last stated anew; a wait that was over then keeps the time
    it had.
    """
    decal.refresh_from_db()
    again = Decal.objects.select_related("project").get(pk=decal.pk)
    logbook.stand_where_log_says(again)
    for name in ("stage", "stage_at", "waits", "clean_surface", "stays"):
        assert getattr(again, name) == getattr(decal, name), name
    assert moving.lies_in(again, Airs()) == moving.lies_in(decal, Airs())
    look_ahead([again], Airs())
    for name in AHEAD_FIELDS:
        stored, reckoned = getattr(decal, name), getattr(again, name)
        if isinstance(stored, datetime) and isinstance(reckoned, datetime):
            if stored > stated and (stored > moment or reckoned > moment):
                assert abs(stored - reckoned) < timedelta(seconds=1), name
        else:
            assert stored == reckoned, name


@pytest.mark.slow
@settings(
    max_examples=20,
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
)
@given(overcoat=st.booleans(), chain=CHAINS)
def test_stored_and_logged_agree_after_each_doing(overcoat, chain, settings):
    maker = make_person()
    rooms.make_usual(room=Room.objects.order_by("pk").first().pk)
    for number in range(Room.objects.count(), 3):
        rooms.add_room(name=f"Room {number}", kind="shed", day_temperature=18)
    decal = sealed_decal(maker, Build.LAMINATED, project=make_project(overcoat=overcoat))
    steps.log_step(decals=[decal.pk], step=Stage.BASE_APPLIED, by=maker, moment=EVENING)
    moment = stated = EVENING
    for (what, which, extra), hours in chain:
        moment += timedelta(hours=hours, minutes=1)
        decal.refresh_from_db()
        before = StageEvent.objects.count()
        try:
            do(what, which, extra, decal=decal, maker=maker, moment=moment)
        except Refused:
            assert StageEvent.objects.count() == before
        stated = moment if what == "state" else stated
        check_agreement(decal, moment, stated)


def test_a_sheet_read_back_from_its_log_is_what_is_stored(maker):
    decal = sealed_decal(maker)
    sheet = decal.pieces.first().sheet
    shed = rooms.add_room(name="Shed", kind="shed", day_temperature=15, night_temperature=15)
    moving.move_sheet(sheet=sheet.pk, room=shed, by=maker, moment=EVENING)
    touch.log_sheet_touch(sheet=sheet.pk, dry=False, by=maker, moment=EVENING + MINUTE)
    stored, again = (Sheet.objects.get(pk=sheet.pk) for _ in range(2))
    stand_where_sheet_log_says(again, Airs())
    for name in ("room_id", "stays", "wait", "worked_at", "coats_done", "rested_at"):
        assert getattr(again, name) == getattr(stored, name), name
