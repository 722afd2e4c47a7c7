"""Bench hours: where a person starts, what is kept, what is refused, and clock changes."""

from datetime import UTC, date, datetime, time, timedelta
from functools import partial

import pytest

from decaljobs.craft.doings import Doing
from decaljobs.craft.plan.hours import WeeklyHours
from decaljobs.craft.stages import Build, Stage
from decaljobs.models import BenchDay, StageEvent
from decaljobs.services.bench import steps
from decaljobs.services.people import people
from decaljobs.services.plan import benchhours, benchminutes
from decaljobs.services.refused import Refused
from tests.factories import EVENING, sealed_decal
from tests.services.layout.test_layouts import at_once

pytestmark = pytest.mark.django_db


def sessions(since, days):
    found = benchhours.sessions_of_all(since=since, until=since + timedelta(days=days))
    return [(s.start.isoformat()[:16], s.end.isoformat()[11:16]) for s in found]


def test_a_new_person_starts_with_five_evenings_and_saturday_morning():
    person = people.add_person(name="Nora", role="maker")
    assert [(h.weekday, h.starts, h.ends) for h in person.bench_hours.all()] == [
        *((day, time(19), time(22)) for day in range(5)),
        (5, time(9), time(13)),
    ]


def test_keeping_a_person_again_gives_no_second_week(maker):
    maker.email = "mara@example.org"
    maker.save()
    assert maker.bench_hours.count() == 6


def test_a_week_takes_the_place_of_the_one_before(maker):
    benchhours.keep_week(person=maker, week=[WeeklyHours(6, time(10), time(12))])
    assert sessions(EVENING, 7) == [("2026-11-08T10:00", "12:00")]


@pytest.mark.django_db(transaction=True, serialized_rollback=True)
def test_of_two_weeks_kept_at_once_one_is_left(maker):
    weeks = [
        [WeeklyHours(day, time(hour), time(hour + 2)) for day in range(7)] for hour in (9, 14, 18)
    ]
    at_once([partial(benchhours.keep_week, person=maker, week=week) for week in weeks])
    kept = list(maker.bench_hours.order_by("weekday").values_list("weekday", "starts"))
    assert kept in [[(h.weekday, h.start) for h in week] for week in weeks]


def test_hours_that_overlap_are_refused_in_plain_words(maker):
    week = [WeeklyHours(0, time(19), time(22)), WeeklyHours(0, time(21), time(23))]
    with pytest.raises(Refused, match="Mon 19:00–22:00 and Mon 21:00–23:00 overlap."):
        benchhours.keep_week(person=maker, week=week)
    assert maker.bench_hours.count() == 6


def test_a_holiday_closes_a_day_and_an_extra_session_opens_one(maker):
    benchhours.add_day(person=maker, day=date(2026, 11, 3), starts=None, ends=None)
    benchhours.add_day(person=maker, day=date(2026, 11, 8), starts=time(14), ends=time(16))
    days = [start[:10] for start, _ in sessions(EVENING, 7)]
    assert "2026-11-03" not in days
    assert "2026-11-08" in days


def test_a_day_is_dropped_by_its_own_person_only(maker, owner):
    day = benchhours.add_day(person=maker, day=date(2026, 11, 3), starts=None, ends=None)
    with pytest.raises(Refused, match="no longer there"):
        benchhours.drop_day(person=owner, pk=day.pk)
    benchhours.drop_day(person=maker, pk=day.pk)
    assert not BenchDay.objects.exists()


def test_a_day_is_closed_once_and_a_session_starts_once(maker):
    for starts, ends in ((None, None), (time(14), time(16))):
        benchhours.add_day(person=maker, day=date(2026, 11, 8), starts=starts, ends=ends)
        with pytest.raises(Refused, match="already"):
            benchhours.add_day(person=maker, day=date(2026, 11, 8), starts=starts, ends=ends)


@pytest.mark.parametrize(
    ("week", "hours"),
    [
        # London's clocks go forward on 29 March 2026 and back on 25 October 2026.
        (datetime(2026, 3, 27, 12, tzinfo=UTC), ["19:00", "09:00", "18:00"]),
        (datetime(2026, 10, 23, 12, tzinfo=UTC), ["18:00", "08:00", "19:00"]),
    ],
)
def test_sessions_keep_their_wall_clock_across_both_changes(maker, week, hours):
    starts = [start[11:] for start, _ in sessions(week, 4)]
    assert starts == hours


def test_minutes_are_usual_then_learned_then_set(maker):
    def base():
        taken = benchminutes.minutes_taken()[Doing.BASE]
        return taken.minutes, taken.source

    assert base() == (15, "common practice")
    decals = [sealed_decal(maker, Build.WHITE_ALONE) for _ in range(6)]
    for number, decal in enumerate(decals):
        at = EVENING + timedelta(minutes=11 * number)
        steps.log_step(decals=[decal.pk], step=Stage.BASE_APPLIED, by=maker, moment=at)
    assert base() == (11, "the median of 5 times in the log")
    benchminutes.keep_minutes(minutes={Doing.BASE: 8})
    assert base() == (8, "set by hand")
    benchminutes.keep_minutes(minutes={Doing.BASE: None})
    assert base()[0] == 11


def test_what_was_written_down_later_teaches_nothing(maker):
    decals = [sealed_decal(maker, Build.WHITE_ALONE) for _ in range(6)]
    for number, decal in enumerate(decals):
        at = EVENING + timedelta(minutes=11 * number)
        steps.log_step(
            decals=[decal.pk],
            step=Stage.BASE_APPLIED,
            by=maker,
            moment=EVENING + timedelta(hours=20),
            at=at,
        )
    assert StageEvent.objects.filter(kind="step", to_stage="base_applied").count() == 6
    assert benchminutes.minutes_taken()[Doing.BASE].learned is None
