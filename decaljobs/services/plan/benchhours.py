"""Bench hours: when each maker has time, changed by the maker and read for the plan."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, datetime, time

from django.db import IntegrityError, transaction
from django.utils import timezone

from decaljobs.craft.plan.hours import WeeklyHours, overlapping_hours, sessions_between
from decaljobs.craft.plan.tasks import Session
from decaljobs.models import BenchDay, BenchHours, Person
from decaljobs.services.locking import lock_record
from decaljobs.services.refused import Refused
from decaljobs.shown import ways

#: More stretches a week than anybody needs.
MOST_STRETCHES = 28
#: Days that differ, kept for one person.
MOST_DAYS = 200


def sessions_of_all(*, since: datetime, until: datetime) -> tuple[Session, ...]:
    """The sessions of everybody who works at the bench, in order of time (two queries)."""
    zone = timezone.get_default_timezone()
    hours: dict[str, list[BenchHours]] = {}
    days: dict[str, list[BenchDay]] = {}
    for stretch in BenchHours.objects.of_makers():
        hours.setdefault(stretch.person.username, []).append(stretch)
    for day in BenchDay.objects.of_makers():
        days.setdefault(day.person.username, []).append(day)
    found = [
        session
        for name in sorted(hours.keys() | days.keys())
        for session in sessions_between(
            [stretch.hours for stretch in hours.get(name, [])],
            [day.exception for day in days.get(name, [])],
            since,
            until,
            zone,
            name,
        )
    ]
    return tuple(sorted(found, key=lambda session: (session.start, session.maker)))


@transaction.atomic
def keep_week(*, person: Person, week: Sequence[WeeklyHours]) -> None:
    """Keep a person's week in place of the one before. Raises Refused where hours overlap."""
    if len(week) > MOST_STRETCHES:
        raise Refused(f"A week holds at most {MOST_STRETCHES} stretches of bench hours.")
    overlaps = overlapping_hours(week, ways())
    if overlaps:
        raise Refused(" ".join(overlaps))
    # Of two weeks sent at once the second takes the first one's place, not a place beside it.
    lock_record(Person.objects.all(), person.pk, "person")
    person.bench_hours.all().delete()
    BenchHours.objects.bulk_create(
        BenchHours(person=person, weekday=h.weekday, starts=h.start, ends=h.end) for h in week
    )


def add_day(
    *, person: Person, day: date, starts: time | None, ends: time | None, note: str = ""
) -> BenchDay:
    """A day that differs: closed without times, an extra session with them. Raises Refused."""
    if (starts is None) != (ends is None):
        raise Refused("An extra session needs both a start and an end.")
    if starts is not None and starts == ends:
        raise Refused("An extra session must not start and end at the same time.")
    if person.bench_days.count() >= MOST_DAYS:
        raise Refused(f"{MOST_DAYS} days that differ are kept at most: drop some first.")
    if starts is None and person.bench_days.filter(day=day, starts=None).exists():
        raise Refused("This day is closed already.")
    try:
        with transaction.atomic():
            return BenchDay.objects.create(
                person=person, day=day, starts=starts, ends=ends, note=note
            )
    except IntegrityError as error:
        raise Refused("There is an extra session at this time already.") from error


def drop_day(*, person: Person, pk: int) -> None:
    """Forget a day that differs; one's own only. Raises Refused."""
    dropped, _ = person.bench_days.filter(pk=pk).delete()
    if not dropped:
        raise Refused("This day is no longer there.")
