"""The calendar, parsed back by the icalendar library and measured against RFC 5545."""

from datetime import UTC, date, datetime, timedelta

import pytest
import time_machine
from django.db import connection
from icalendar import Calendar

from decaljobs.craft.doings import Doing
from decaljobs.craft.stages import Build, Stage
from decaljobs.services.bench import steps
from decaljobs.services.film import sheets
from decaljobs.services.plan import calendars, plans
from decaljobs.services.plan.benchminutes import keep_minutes
from decaljobs.services.refused import Refused
from tests.factories import EVENING, make_decal, make_project, make_sheet, sealed_decal

pytestmark = pytest.mark.django_db


def file_at(moment, person):
    with time_machine.travel(moment, tick=False):
        plans.make_now(moment=moment, iterations=10)
        plan = plans.newest()
        return calendars.calendar_of(person=person, found=plan.found, made=plan.made_at)


def events(data):
    return {str(event["uid"]): event for event in Calendar.from_ical(data).walk("VEVENT")}


def sessions(data):
    return {uid: event for uid, event in events(data).items() if uid.startswith("session-")}


@pytest.mark.parametrize(
    ("moment", "starts"),
    [
        # London's clocks go forward at 01:00 UTC on 29 March 2026: 19:00 is then 18:00 UTC.
        (datetime(2026, 3, 27, 12, tzinfo=UTC), {"0327": 19, "0328": 9, "0330": 18}),
        # They go back at 01:00 UTC on 25 October 2026.
        (datetime(2026, 10, 23, 12, tzinfo=UTC), {"1023": 18, "1024": 8, "1026": 19}),
    ],
)
def test_sessions_stand_at_their_wall_clock_in_both_clock_change_weeks(maker, moment, starts):
    begun = moment - timedelta(days=10)
    keep_minutes(minutes={Doing.BASE: 120})  # so that the work lasts over the weekend
    for number in range(4):
        project = make_project(name=f"Model {number}", moment=begun)
        decal = sealed_decal_at(maker, begun, project)
    data = file_at(moment, maker)
    found = {f"{event['dtstart'].dt:%m%d}": event for event in sessions(data).values()}
    assert set(starts) <= set(found)
    for day, hour in starts.items():
        start = found[day]["dtstart"].dt
        assert (start.hour, start.utcoffset()) == (hour, timedelta(0)), day
    assert b"DTSTART:" in data and b"TZID" not in data
    first = str(found[min(found)]["description"])
    assert first.startswith("19:00 base layer: "), first  # by the clock on the wall
    assert decal.project.name in "".join(str(event["description"]) for event in found.values())


def sealed_decal_at(maker, begun, project):
    """A decal with both films sealed the day after."""
    decal = make_decal(project=project, moment=begun)
    for film in ("white", "clear"):
        sheet = make_sheet(film, coats_wanted=1, moment=begun)
        sheets.put_on_sheet(sheet=sheet.pk, decals=[decal.pk], copies=1)
        sheets.log_printed(sheet=sheet.pk, by=maker, moment=begun)
        sheets.log_coat(sheet=sheet.pk, by=maker, moment=begun + timedelta(hours=14))
    return decal


def test_names_of_events_stay_when_the_plan_is_made_anew(maker):
    decal = sealed_decal(maker)
    before = events(file_at(EVENING, maker))
    decal.project.due = date(2026, 11, 30)
    decal.project.save()
    after = events(file_at(EVENING + timedelta(minutes=1), maker))
    assert set(before) <= set(after)
    assert len(before) >= 2


def test_what_dries_is_told_when_it_is_ready(maker):
    decal = sealed_decal(maker)
    steps.log_step(decals=[decal.pk], step=Stage.BASE_APPLIED, by=maker, moment=EVENING)
    decal.refresh_from_db()
    event = events(file_at(EVENING, maker))[
        f"ready-decal-{decal.pk}-clear_applied@decaljobs.invalid"
    ]
    start = event["dtstart"].dt
    assert timedelta(0) <= start - decal.ready_at < timedelta(minutes=1)
    assert str(event["summary"]) == f"Ready: {decal.words}, {decal.project.name}"


def test_due_dates_are_whole_days(maker):
    make_decal(project=make_project(due=date(2026, 11, 30)))
    event = next(e for uid, e in events(file_at(EVENING, maker)).items() if uid.startswith("due-"))
    assert (event["dtstart"].dt, event["dtend"].dt) == (date(2026, 11, 30), date(2026, 12, 1))


def test_everybody_has_their_own_sessions(maker, owner):
    for number in range(4):
        sealed_decal(maker, Build.CLEAR_ALONE, project=make_project(name=f"Model {number}"))
    mine, theirs = (sessions(file_at(EVENING, person)) for person in (maker, owner))
    assert not set(mine) & set(theirs)


NAME = (
    "Fair, wagon; \\ one\r\nBEGIN:VEVENT\r\nSUMMARY:false\nBEGIN:VALARM\x00\x07 ünïcödé 🚤"
    + "x" * 40
)


def test_no_name_breaks_out_of_its_text(maker):
    """RFC 5545, 3.3.11: commas, semicolons, backslashes and line ends are escaped; 3.1: lines of
    at most 75 octets end with CR LF."""
    # PostgreSQL keeps no NUL at all.
    name = NAME if connection.vendor == "sqlite" else NAME.replace("\x00", "")
    sealed_decal(maker, project=make_project(name=name, due=date(2026, 11, 30)))
    data = file_at(EVENING, maker)
    assert len(Calendar.from_ical(data).walk("VEVENT")) == data.count(b"\r\nBEGIN:VEVENT\r\n")
    due = next(e for uid, e in events(data).items() if uid.startswith("due-"))
    plain = "Due: Fair, wagon; \\ one BEGIN:VEVENT SUMMARY:false BEGIN:VALARM ünïcödé 🚤" + "x" * 40
    assert str(due["summary"]) == plain
    assert not Calendar.from_ical(data).walk("VALARM")
    assert data.endswith(b"END:VCALENDAR\r\n")
    assert b"\x00" not in data and b"\x07" not in data
    for line in data.split(b"\r\n"):
        assert len(line) <= 75
        assert b"\n" not in line and b"\r" not in line


def test_it_has_what_the_standard_asks_for(maker):
    """RFC 5545, 3.6: PRODID and VERSION once; 3.6.1: UID and DTSTAMP in every event."""
    sealed_decal(maker, project=make_project(due=date(2026, 11, 30)))
    data = file_at(EVENING, maker)
    calendar = Calendar.from_ical(data)
    assert calendar["version"] == "2.0"
    assert calendar["prodid"]
    for event in calendar.walk("VEVENT"):
        assert event["uid"]
        assert event["dtstamp"].dt == EVENING
    assert b"REFRESH-INTERVAL;VALUE=DURATION:PT1H\r\n" in data  # RFC 7986, 5.7


def test_without_a_plan_it_is_a_calendar_all_the_same(maker):
    data = calendars.calendar_of(person=maker, found={}, made=EVENING)
    assert Calendar.from_ical(data).walk("VEVENT") == []


def test_a_renewed_secret_ends_the_one_before(maker):
    first = calendars.renew_secret(person=maker)
    assert calendars.person_of(secret=first) == maker
    second = calendars.renew_secret(person=maker)
    assert calendars.person_of(secret=second) == maker
    for secret in (first, "", second[:-1]):
        with pytest.raises(Refused):
            calendars.person_of(secret=secret)


def test_whoever_may_no_longer_sign_in_has_no_calendar(maker):
    secret = calendars.renew_secret(person=maker)
    maker.is_active = False
    maker.save()
    with pytest.raises(Refused):
        calendars.person_of(secret=secret)
