"""The plan of the coming sessions, made on the spot, in the terminal."""

from __future__ import annotations

import json
from argparse import ArgumentTypeError
from datetime import datetime
from typing import Any

from django.core.management.base import BaseCommand, CommandParser
from django.utils import timezone

from decaljobs.craft.figures import counted
from decaljobs.services.plan.planstore import to_plain
from decaljobs.services.plan.planwork import FEWEST_WEEKS, MOST_WEEKS, gather
from decaljobs.services.plan.searches import searched
from decaljobs.services.words import say_moment, say_stamped

MOST_SECONDS = 600


def _number(text: str, least: float, most: float, kind: type) -> Any:
    try:
        value = kind(text)
    except ValueError:
        value = None
    if value is None or not least <= value <= most:
        raise ArgumentTypeError(f"‘{text}’ is not a number from {least} to {most}.")
    return value


def _weeks(text: str) -> int:
    weeks: int = _number(text, 1, MOST_WEEKS, int)
    return weeks


def _seconds(text: str) -> float:
    seconds: float = _number(text, 0, MOST_SECONDS, float)
    return seconds


class Command(BaseCommand):
    help = "What to do in which session, and when each project is expected to end."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument(
            "--weeks",
            type=_weeks,
            default=FEWEST_WEEKS,
            help=f"how far to look ahead, 1 to {MOST_WEEKS}",
        )
        parser.add_argument(
            "--seconds", type=_seconds, default=5.0, help="how long to search for a better order"
        )
        parser.add_argument("--json", action="store_true", help="as JSON, moments in UTC")

    def handle(self, *args: Any, **options: Any) -> None:
        moment = timezone.now()
        work = gather(moment=moment, weeks=options["weeks"])
        plan = searched(work.input, seconds=options["seconds"])
        found = to_plain(plan, work, {})
        if options["json"]:
            kept = ("moment", "objective", "first_objective", "sessions", "ends", "unplanned")
            told = {name: found[name] for name in (*kept, "notes")}
            text = json.dumps(told, indent=2, ensure_ascii=False)
            self.stdout.write(say_stamped(text, now=moment))
            return
        for note in found["notes"]:
            self.stdout.write(say_stamped(note, now=moment))
        for session in found["sessions"]:
            self._session(session, moment)
        self._ends(found, moment)

    def _session(self, session: dict[str, Any], moment: Any) -> None:
        if not session["tasks"]:
            return
        rows = [(row["start"], f"{row['project']}  {row['words']}") for row in session["tasks"]]
        rows += [(row["start"], row["words"]) for row in session["airbrush"]]
        self.stdout.write(f"\n{_said(session['start'], moment)}, {session['maker']}")
        for start, words in sorted(rows):
            clock = timezone.localtime(datetime.fromisoformat(start))
            self.stdout.write(f"  {clock:%H:%M}  {words}")

    def _ends(self, found: dict[str, Any], moment: Any) -> None:
        self.stdout.write("\nExpected ends")
        for row in found["ends"]:
            end = _said(row["end"], moment) if row["end"] else "not planned to its end"
            late = f", {counted(row['late_days'], 'day')} late" if row["late_days"] else ""
            self.stdout.write(f"  {row['project']}  {row['name']}: {end}{late}")
        for left in found["unplanned"]:
            self.stdout.write(f"  {left['project']}  {say_stamped(left['words'], now=moment)}")
        better = f"{found['first_objective']} by rule, {found['objective']} now"
        self.stdout.write(f"Objective in minutes: {better}")


def _said(moment: str, now: Any) -> str:
    return say_moment(datetime.fromisoformat(moment), now=now)
