"""Colour trials from a terminal: begun, printed, answered by photo or by eye."""

import json
from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError
from django.urls import reverse
from django.utils import timezone

from decaljobs.craft.colour import format_hex, parse_hex
from decaljobs.craft.roundpaper import RoundPaper
from decaljobs.craft.trialeye import WORDS
from decaljobs.craft.trialrecords import Forecast, PrintSettings
from decaljobs.models import Trial, TrialRound
from decaljobs.pdf.roundsheet import round_sheet_pdf
from decaljobs.services import trials
from decaljobs.services.refused import Refused


class Command(BaseCommand):
    help = "Begin a colour trial, print its rounds, answer them by photo or by eye."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--json", action="store_true", help="answer as JSON")
        tasks = parser.add_subparsers(dest="task", required=True)
        new = _task(tasks, "new", "begin a trial")
        new.add_argument("--start", required=True, metavar="#rrggbb", help="a first guess")
        new.add_argument("--name", required=True, help="what the paint is called")
        new.add_argument("--printer", default="printer")
        sheet = _task(tasks, "sheet", "write the sheet of the last round as PDF")
        sheet.add_argument("trial", type=int)
        sheet.add_argument("-o", "--output", required=True, type=Path, metavar="FILE")
        photo = _task(tasks, "photo", "read a photo of the last round")
        photo.add_argument("trial", type=int)
        photo.add_argument("file", type=Path)
        pick = _task(tasks, "pick", "name the best three patches of the last round")
        pick.add_argument("trial", type=int)
        pick.add_argument("patches", type=int, nargs=3)
        pick.add_argument("--off", action="append", default=[], choices=list(WORDS))

    def handle(self, *args: Any, **options: Any) -> None:
        tasks = {"new": _new, "sheet": _sheet, "photo": _photo, "pick": _pick}
        try:
            said = tasks[options["task"]](options)
        except (Refused, ValueError) as refusal:
            raise CommandError(str(refusal)) from refusal
        except OSError as error:
            raise CommandError(f"{error.filename}: {error.strerror}.") from error
        if options["json"]:
            self.stdout.write(json.dumps(said))
            return
        for name, value in said.items():
            if name != "patches":
                self.stdout.write(f"{name.replace('_', ' ')}: {value}")


def _task(tasks: Any, name: str, told: str) -> ArgumentParser:
    parser = tasks.add_parser(name, help=told)
    parser.add_argument("--json", action="store_true", help="answer as JSON")
    return parser


def _new(options: dict[str, Any]) -> dict[str, Any]:
    trial = trials.begin_trial(
        paint=options["name"],
        start=format_hex(parse_hex(options["start"])),
        settings=PrintSettings(options["printer"]),
        by=None,
        moment=timezone.now(),
    )
    return {"trial": trial.pk, "round": 1, "patches": _patches(_last_round(trial))}


def _sheet(options: dict[str, Any]) -> dict[str, Any]:
    kept = _last_round(_get_trial(options))
    paper = RoundPaper(
        sheet=trials.sheet_for(kept),
        name=kept.trial.paint,
        settings=kept.settings_words,
        address=settings.SITE_ADDRESS + reverse("trial", args=[kept.trial_id]),
    )
    options["output"].write_bytes(round_sheet_pdf(paper))
    return {
        "trial": kept.trial_id,
        "round": kept.number,
        "file": str(options["output"]),
        "patches": _patches(kept),
    }


def _photo(options: dict[str, Any]) -> dict[str, Any]:
    trial = _get_trial(options)
    kept = _last_round(trial)
    ahead = trials.answer_by_photo(
        trial=trial.pk,
        number=kept.number,
        data=options["file"].read_bytes(),
        by=None,
        moment=timezone.now(),
    )
    kept.refresh_from_db()
    said = _ahead(kept, ahead)
    for patch, difference in zip(said["patches"], kept.photo["differences"], strict=True):
        patch["difference"] = [round(value, 2) for value in difference]
    return said


def _pick(options: dict[str, Any]) -> dict[str, Any]:
    trial = _get_trial(options)
    kept = _last_round(trial)
    ahead = trials.answer_by_eye(
        trial=trial.pk,
        number=kept.number,
        picks=options["patches"],
        off=options["off"],
        by=None,
        moment=timezone.now(),
    )
    return _ahead(kept, ahead)


def _ahead(kept: TrialRound, ahead: Forecast) -> dict[str, Any]:
    return {
        "trial": kept.trial_id,
        "round": kept.number,
        "next_centre": format_hex(ahead.rgb),
        "expected": round(ahead.expected, 2),
        "limit": ahead.limit and round(ahead.limit, 2),
        "found": ahead.found,
        "remarks": list(ahead.remarks),
        "patches": _patches(kept),
    }


def _patches(kept: TrialRound) -> list[dict[str, Any]]:
    """Number, RGB and place (x, y, width, height in mm) of each patch."""
    places = trials.sheet_for(kept).layout.patches
    return [
        {
            "number": number,
            "rgb": colour,
            "box_mm": [box.x, box.y, box.width, box.height],
        }
        for number, (colour, box) in enumerate(zip(kept.colours, places, strict=True), start=1)
    ]


def _get_trial(options: dict[str, Any]) -> Trial:
    trial = Trial.objects.filter(pk=options["trial"]).first()
    if trial is None:
        raise Refused(f"There is no trial {options['trial']}.")
    return trial


def _last_round(trial: Trial) -> TrialRound:
    return trial.rounds.select_related("trial").latest("number")
