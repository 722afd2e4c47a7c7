"""A person's calendar (RFC 5545): sessions with their tasks, what becomes ready, due dates."""

from __future__ import annotations

import secrets
from collections.abc import Iterable, Mapping
from datetime import UTC, datetime, timedelta
from typing import Any

from django.db import transaction
from django.utils import timezone
from icalendar import Calendar, Event

from decaljobs.craft.figures import counted
from decaljobs.craft.moments import whole_minute
from decaljobs.craft.stages import Stage
from decaljobs.models import Decal, Person, Project, Sheet
from decaljobs.services.refused import Refused

#: Stands behind every event's name, so that no other calendar's names are met.
DOMAIN = "decaljobs.invalid"
MOST_EVENTS = 2000
#: How often a calendar is asked to look again.
REFRESH = timedelta(hours=1)
_NO_LETTERS = dict.fromkeys((*range(32), 127)) | {10: "\n", 9: " "}


@transaction.atomic
def renew_secret(*, person: Person) -> str:
    """A new secret for a person's calendar address; the one before stops working."""
    person.calendar_secret = secrets.token_hex(24)
    person.save(update_fields=["calendar_secret"])
    return person.calendar_secret


def person_of(*, secret: str) -> Person:
    """Whose calendar a secret opens. Raises Refused for one that opens none."""
    person = Person.objects.with_calendar(secret).first()
    if not secret or person is None:
        raise Refused("This calendar's address is no longer in use.")
    return person


def calendar_of(*, person: Person, found: Mapping[str, Any], made: datetime) -> bytes:
    """The calendar as a file: a plan's sessions of this person, and what everybody shares.

    found: what the newest plan tells; made: when it was made (four queries).
    """
    calendar = Calendar()
    calendar.add("prodid", "-//decaljobs//bench plan//EN")
    calendar.add("version", "2.0")
    calendar.add("method", "PUBLISH")
    calendar.add("x-wr-calname", _plain(f"Bench, {person}"))
    calendar.add("refresh-interval", REFRESH, parameters={"value": "DURATION"})
    for event in (*_sessions(person, found), *_ready(made), *_due_dates()):
        event.add("dtstamp", made.astimezone(UTC))
        calendar.add_component(event)
    plain: bytes = calendar.to_ical()
    return plain


def _sessions(person: Person, found: Mapping[str, Any]) -> Iterable[Event]:
    for session in found.get("sessions", []):
        if session["maker"] != person.username or not session["tasks"]:
            continue
        start, end = (datetime.fromisoformat(session[name]) for name in ("start", "end"))
        name = f"session-{person.pk}-{start.astimezone(UTC):%Y%m%dT%H%M}"
        event = _event(name, _title(session["tasks"]), "\n".join(_lines(session)))
        event.add("dtstart", start.astimezone(UTC))
        event.add("dtend", end.astimezone(UTC))
        yield event


def _title(tasks: list[dict[str, Any]]) -> str:
    return f"Bench: {counted(len(tasks), 'task')}"


def _lines(session: Mapping[str, Any]) -> Iterable[str]:
    """The session line by line, by the clock on the wall."""
    rows = [(row["start"], f"{row['words']} ({row['project_name']})") for row in session["tasks"]]
    rows += [(row["start"], row["words"]) for row in session["airbrush"]]
    for start, words in sorted(rows):
        yield f"{timezone.localtime(datetime.fromisoformat(start)):%H:%M} {words}"


def _ready(made: datetime) -> Iterable[Event]:
    """The moments at which decals and sheets become ready for their next step."""
    drying = Decal.objects.at_work().filter(ready_at__gt=made, held_because="")
    for decal in drying.select_related("project").order_by("ready_at", "pk")[:MOST_EVENTS]:
        step = Stage(decal.next_step).words if decal.next_step else "finished"
        name = f"ready-decal-{decal.pk}-{decal.next_step or 'finished'}"
        said = f"Ready: {decal.words}, {decal.project.name}"
        yield _moment(name, said, f"Next: {step}.", decal.ready_at)
    sheets = Sheet.objects.filter(rested_at__gt=made, lost_at=None)
    for sheet in sheets.order_by("rested_at", "pk")[:MOST_EVENTS]:
        done = f"coat {sheet.coats_done}" if sheet.coats_done else "the print"
        name = f"ready-sheet-{sheet.pk}-{sheet.coats_done}"
        yield _moment(name, f"Ready: sheet {sheet.code}", f"Dry: {done}.", sheet.rested_at)


def _due_dates() -> Iterable[Event]:
    """Due dates of the projects on which something is left to do."""
    left = Decal.objects.at_work().exclude(next_step="").values("project")
    projects = Project.objects.filter(pk__in=left, due__isnull=False).order_by("pk")
    for project in projects:
        if project.due is None:
            continue
        event = _event(f"due-{project.pk}", f"Due: {project.name}", project.code)
        event.add("dtstart", project.due)
        event.add("dtend", project.due + timedelta(days=1))
        event.add("transp", "TRANSPARENT")
        yield event


def _moment(name: str, title: str, words: str, at: datetime | None) -> Event:
    """Something that happens at one moment and takes no time."""
    event = _event(name, title, words)
    if at is not None:
        event.add("dtstart", whole_minute(at))
    event.add("transp", "TRANSPARENT")
    return event


def _event(name: str, title: str, words: str) -> Event:
    event = Event()
    event.add("uid", f"{name}@{DOMAIN}")
    event.add("summary", _plain(title).replace("\n", " "))
    event.add("description", _plain(words))
    return event


def _plain(text: str) -> str:
    """Text without letters that no calendar may hold; line ends become single ones."""
    return text.replace("\r\n", "\n").replace("\r", "\n").translate(_NO_LETTERS)
