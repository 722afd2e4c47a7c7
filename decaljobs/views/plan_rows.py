"""The rows of the plan's pages, worked out beforehand so that its templates stay plain."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from typing import Any

from django.urls import reverse
from django.utils import timezone

from decaljobs.craft.figures import counted
from decaljobs.craft.plan.chart import PlanRow
from decaljobs.links import address
from decaljobs.models import Person
from decaljobs.services.plan.plans import newest_found
from decaljobs.services.words import say_clock, say_date, say_moment, say_stamped

#: Why a task is not sooner, where the line above it says as much.
PLAIN_TO_SEE = ("bench taken", "comes after")
#: How far ahead the bench speaks of a session.
SOON = timedelta(hours=12)
#: The hour from which a session of today is tonight's.
EVENING_BEGINS = 17
STAMP = "%Y%m%dT%H%MZ"


@dataclass(frozen=True)
class LineRow:
    """One stretch of a session: a task, or the airbrush set up or cleaned."""

    clock: str
    words: str
    minutes: int
    task: str = ""
    project_href: str = ""
    name: str = ""
    also: int = 0
    why: str = ""
    pinned: bool = False


@dataclass(frozen=True)
class SessionRow:
    """One coming session, its lines in order of time."""

    pk: int
    stamp: str
    when: str
    maker: str
    lines: list[LineRow] = field(default_factory=list)
    is_mine: bool = False

    @property
    def tasks(self) -> int:
        return sum(bool(line.task) for line in self.lines)

    @property
    def first(self) -> str:
        """The words of its first task."""
        return next((line.words for line in self.lines if line.task), "")

    @property
    def href(self) -> str:
        return reverse("plan-session", args=[self.pk, self.stamp])

    @property
    def sheet_href(self) -> str:
        return reverse("plan-session-sheet", args=[self.pk, self.stamp])


@dataclass(frozen=True)
class EndRow:
    """When a project is expected to end, against its due date."""

    code: str
    name: str
    end: str
    due: str
    verdict: str
    is_late: bool
    bench: str
    drying: str


def moment_of(text: str) -> datetime:
    """A moment as plans keep it."""
    return datetime.fromisoformat(text)


def stamp_of(start: datetime) -> str:
    """A session's start as addresses write it."""
    return start.astimezone(UTC).strftime(STAMP)


def session_rows(
    found: Mapping[str, Any], moment: datetime, me: Person, makers: Mapping[str, int]
) -> list[SessionRow]:
    """The sessions with work in them that are not over, in order of time."""
    return [
        session_row(session, moment, me, makers)
        for session in found["sessions"]
        if session["tasks"] and moment_of(session["end"]) > moment and session["maker"] in makers
    ]


def next_session(me: Person, moment: datetime) -> SessionRow | None:
    """One's own session with work in it that runs now or begins within hours (one query)."""
    for session in newest_found().get("sessions", []):
        is_mine = session["maker"] == me.username and session["tasks"]
        if is_mine and moment_of(session["end"]) > moment:
            if moment_of(session["start"]) - moment > SOON:
                return None
            return session_row(session, moment, me, {me.username: me.pk})
    return None


def session_row(
    session: Mapping[str, Any], moment: datetime, me: Person, makers: Mapping[str, int]
) -> SessionRow:
    """One session of a plan."""
    start = moment_of(session["start"])
    lines = [(row["start"], _task_line(row, moment)) for row in session["tasks"]]
    lines += [(row["start"], _airbrush_line(row)) for row in session["airbrush"]]
    return SessionRow(
        pk=makers[session["maker"]],
        stamp=stamp_of(start),
        when=session_words(start, moment_of(session["end"]), moment),
        maker=session["maker"],
        lines=[line for _, line in sorted(lines, key=lambda pair: pair[0])],
        is_mine=session["maker"] == me.username,
    )


def session_words(start: datetime, end: datetime, moment: datetime) -> str:
    """A session as it is said: 'tonight 19:00–22:00', 'Thu 19:00–22:00'."""
    return f"{_start_words(start, moment)}–{say_clock(end)}"


def _start_words(start: datetime, moment: datetime) -> str:
    said = say_moment(start, now=moment)
    if said.startswith("today") and timezone.localtime(start).hour >= EVENING_BEGINS:
        return said.replace("today", "tonight", 1)
    return said


def _clock(text: str) -> str:
    return say_clock(moment_of(text))


def _minutes(row: Mapping[str, Any]) -> int:
    return round((moment_of(row["end"]) - moment_of(row["start"])).total_seconds() / 60)


def _task_line(row: Mapping[str, Any], moment: datetime) -> LineRow:
    return LineRow(
        clock=_clock(row["start"]),
        words=capital(row["words"]),
        minutes=row["minutes"],
        task=row["id"],
        project_href=address("project", row["project"]),
        name=row["project_name"],
        also=len(row["also"]),
        why="" if row["cause"] in PLAIN_TO_SEE else say_stamped(row["why"], now=moment),
        pinned=row["pinned"],
    )


def _airbrush_line(row: Mapping[str, Any]) -> LineRow:
    return LineRow(_clock(row["start"]), capital(row["words"]), _minutes(row))


def capital(words: str) -> str:
    """Words with their first letter large."""
    return words[:1].upper() + words[1:]


def end_rows(found: Mapping[str, Any], moment: datetime) -> list[EndRow]:
    """Every project of the plan, those that end first on top."""
    rows = sorted(found["ends"], key=lambda row: (row["end"] is None, row["end"] or ""))
    return [_end_row(row, found["bars"].get(row["project"], {}), moment) for row in rows]


def _end_row(row: Mapping[str, Any], bar: Mapping[str, Any], moment: datetime) -> EndRow:
    end, due = row["end"] and moment_of(row["end"]), row["due"] and moment_of(row["due"])
    return EndRow(
        code=row["project"],
        name=row["name"],
        end=say_moment(end, now=moment) if end else "not planned to its end",
        due=_day(due) if due else "no day set",
        verdict=_verdict(row, end, due),
        is_late=bool(row["late_days"]) or (end is None and due is not None),
        bench=_hours(bar.get("bench", [])),
        drying=_hours(bar.get("drying", [])),
    )


def _day(due: datetime) -> str:
    """The day that a project is due on, which ends by the workshop's clock whoever reads it."""
    return say_date(timezone.localtime(due, timezone.get_default_timezone()).date())


def _verdict(row: Mapping[str, Any], end: datetime | None, due: datetime | None) -> str:
    if end is None or due is None:
        return ""
    late = row["late_days"]
    if late:
        return f"{counted(late, 'day')} late"
    spare = (due - end).days
    return f"{counted(spare, 'day')} to spare" if spare else "just in time"


def _hours(spans: Sequence[Sequence[str]]) -> str:
    hours = sum((moment_of(end) - moment_of(start)).total_seconds() for start, end in spans) / 3600
    return f"{hours:.1f} h" if hours < 10 else f"{hours:.0f} h"


def chart_rows(found: Mapping[str, Any]) -> list[PlanRow]:
    """The projects as the chart takes them, in the order of the table."""
    rows = sorted(found["ends"], key=lambda row: (row["end"] is None, row["end"] or ""))
    return [_chart_row(row, found["bars"].get(row["project"], {})) for row in rows]


def _chart_row(row: Mapping[str, Any], bar: Mapping[str, Any]) -> PlanRow:
    return PlanRow(
        name=row["name"],
        bench=_spans(bar.get("bench", [])),
        drying=_spans(bar.get("drying", [])),
        end=row["end"] and moment_of(row["end"]),
        due=row["due"] and moment_of(row["due"]),
    )


def _spans(spans: Sequence[Sequence[str]]) -> list[tuple[datetime, datetime]]:
    return [(moment_of(start), moment_of(end)) for start, end in spans]


def slip_words(found: Mapping[str, Any], maker: str, moment: datetime) -> tuple[str, list[str]]:
    """Which session is looked at, and a sentence for each project that would end later."""
    slips = found["slips"].get(maker)
    if slips is None:
        return "", []
    when = _start_words(moment_of(slips["start"]), moment)
    return when, [_slip(slip, moment) for slip in slips["slips"]]


def _slip(slip: Mapping[str, Any], moment: datetime) -> str:
    end = say_moment(moment_of(slip["end"]), now=moment)
    if slip["end_without"] is None:
        return f"{slip['name']} would no longer find the time to be finished (now {end})."
    later = say_moment(moment_of(slip["end_without"]), now=moment)
    return f"{slip['name']} ends {later}, not {end}."
