"""Readings of a room, from a file on this machine."""

import json
from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management.base import CommandError
from django.utils import timezone

from decaljobs.craft.room.readings_file import ReadingsLayout
from decaljobs.craft.room.readings_guess import guess_layout
from decaljobs.craft.room.readings_times import TimeFormat
from decaljobs.craft.textfile import SEPARATORS, FileRefused, Text, decode
from decaljobs.management.base import WorkshopCommand
from decaljobs.models import Room
from decaljobs.services.drying.imports import zone_named
from decaljobs.services.drying.readings import FileCompared, compare, first_lines, save

NAMES = {name: separator for separator, name in SEPARATORS.items()}


class Command(WorkshopCommand):
    help = "Bring a file of readings (time, °C, %RH) into a room's records."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("file", type=Path, metavar="FILE")
        parser.add_argument("--room", required=True, metavar="NAME", help="the room that was read")
        parser.add_argument("--yes", action="store_true", help="save the good lines all the same")
        parser.add_argument("--separator", choices=NAMES, help="guessed if left out")
        parser.add_argument("--decimal", choices=["point", "comma"], help="guessed if left out")
        parser.add_argument(
            "--columns",
            metavar="T,°C,RH",
            help="numbers from 1 of time, temperature and humidity: 1,2,3; guessed if left out",
        )
        parser.add_argument("--times", choices=[str(form) for form in TimeFormat])
        parser.add_argument("--zone", metavar="ZONE", help="the workshop's zone if left out")
        parser.add_argument("--json", action="store_true", help="answer as JSON")

    def handle(self, *args: Any, **options: Any) -> None:
        room = Room.objects.filter(name__iexact=options["room"]).first()
        if room is None:
            names = ", ".join(f"‘{name}’" for name in Room.objects.values_list("name", flat=True))
            raise CommandError(f"There is no room ‘{options['room']}’; there are {names}.")
        try:
            text = decode(_bytes(options["file"]))
            layout = _layout(text, options)
            zone = zone_named(options["zone"] or timezone.get_current_timezone_name())
            compared = compare(text, layout, zone, room, timezone.now())
        except FileRefused as refusal:
            raise CommandError(str(refusal)) from refusal
        saves = compared.is_clean or options["yes"]
        moved = save(compared, room) if saves else 0
        self._tell(compared, saves, moved, options["json"])
        if not saves:
            raise CommandError("Nothing is saved. --yes saves the good lines.")

    def _tell(self, compared: FileCompared, saved: bool, moved: int, as_json: bool) -> None:
        found = compared.found
        if as_json:
            self.stdout.write(json.dumps({"saved": saved, "moved": moved, **found}, indent=2))
            return
        for line, reason in found["bad"]:
            self.stdout.write(f"Line {line}: {reason}.")
        said = f"{found['new']:,} new readings, {found['known']:,} known, "
        self.stdout.write(said + f"{found['repeats']:,} repeated, {found['bad_count']:,} bad.")
        if found["note"]:
            self.stdout.write(found["note"])
        if saved:
            self.stdout.write(f"Saved; {moved:,} running waits moved.")


def _bytes(path: Path) -> bytes:
    try:
        return path.read_bytes()
    except OSError as error:
        raise CommandError(f"{path} cannot be read: {error.strerror}.") from error


def _layout(text: Text, options: dict[str, Any]) -> ReadingsLayout:
    """The layout that fits best, with what the command line says put in its place."""
    said: dict[str, Any] = {}
    if options["separator"]:
        said["separator"] = NAMES[options["separator"]]
    if options["decimal"]:
        said["decimal"] = {"point": ".", "comma": ","}[options["decimal"]]
    if options["times"]:
        said["time_format"] = TimeFormat(options["times"])
    if options["columns"]:
        names = ("time_column", "temperature_column", "humidity_column")
        said |= dict(zip(names, _columns(options["columns"]), strict=True))
    # Said in full, nothing has to be guessed, so that a file no guess fits is read all the same.
    guessed = {} if len(said) == 6 else guess_layout(first_lines(text)).to_dict()
    return ReadingsLayout(**{**guessed, **said, **_form(guessed, said)})


def _form(guessed: dict[str, Any], said: dict[str, Any]) -> dict[str, TimeFormat]:
    form = said.get("time_format") or guessed.get("time_format")
    return {"time_format": TimeFormat(form)} if form else {}


def _columns(text: str) -> list[int]:
    numbers = text.split(",")
    if len(numbers) != 3 or not all(number.isdecimal() and int(number) > 0 for number in numbers):
        raise CommandError(f"‘{text}’ are no columns: write three numbers from 1, such as 1,2,3.")
    return [int(number) - 1 for number in numbers]
