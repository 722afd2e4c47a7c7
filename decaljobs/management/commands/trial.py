"""Colour trials from a terminal: begun, printed, answered by photo or by eye."""

import json
from argparse import ArgumentParser
from dataclasses import replace
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management.base import CommandError
from django.urls import reverse
from django.utils import timezone

from decaljobs.craft.colour import format_hex, parse_hex
from decaljobs.craft.paper.roundpaper import RoundPaper
from decaljobs.craft.trial.eye import WORDS
from decaljobs.craft.trial.records import Prediction, PrintSettings
from decaljobs.craft.units import PAPERS
from decaljobs.management.base import WorkshopCommand, write_file
from decaljobs.models import Trial, TrialRound
from decaljobs.pdf.roundsheet import round_sheet_pdf
from decaljobs.services.files import place_of
from decaljobs.services.refused import Refused
from decaljobs.services.trials import trials
from decaljobs.services.trials.rounds import settings_ahead, sheet_for, standing_of


class Command(WorkshopCommand):
    help = "Begin a colour trial, print its rounds, answer them by photo or by eye."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--json", action="store_true", help="answer as JSON")
        tasks = parser.add_subparsers(dest="task", required=True)
        new = _task(tasks, "new", "begin a trial")
        new.add_argument("--start", required=True, metavar="#rrggbb", help="a first guess")
        new.add_argument("--name", required=True, help="what the paint is called")
        _add_settings(new)
        sheet = _task(tasks, "sheet", "write the sheet to print next as PDF")
        sheet.add_argument("trial", type=int)
        sheet.add_argument("-o", "--output", required=True, type=Path, metavar="FILE")
        sheet.add_argument("--paper", default="A4", choices=list(PAPERS))
        _add_settings(sheet)
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
        except ValueError as error:
            raise CommandError(str(error)) from error
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


def _add_settings(parser: ArgumentParser) -> None:
    """How a round is printed; what is not said stays as it was."""
    parser.add_argument("--printer")
    parser.add_argument("--material", choices=["paper", "film"])
    parser.add_argument("--quality", help="quality set in the driver")
    parser.add_argument("--colours", help="colour settings of the driver")


def _settings(options: dict[str, Any], usual: PrintSettings) -> PrintSettings:
    names = ("printer", "material", "quality", "colours")
    return replace(usual, **{name: options[name] for name in names if options[name] is not None})


def _new(options: dict[str, Any]) -> dict[str, Any]:
    trial = trials.begin_trial(
        paint=options["name"],
        start=format_hex(parse_hex(options["start"])),
        settings=_settings(options, PrintSettings("printer")),
        by=None,
        moment=timezone.now(),
    )
    return {"trial": trial.pk, "round": 1, "patches": _patches(_last_round(trial))}


def _sheet(options: dict[str, Any]) -> dict[str, Any]:
    kept = _round_to_print(_get_trial(options), options)
    paper = RoundPaper(
        sheet=sheet_for(kept),
        name=kept.trial.paint,
        settings=kept.settings_words,
        address=settings.SITE_ADDRESS + reverse("trial", args=[kept.trial_id]),
    )
    write_file(options["output"], round_sheet_pdf(paper, paper=options["paper"]))
    return {
        "trial": kept.trial_id,
        "round": kept.number,
        "file": str(options["output"]),
        "patches": _patches(kept),
    }


def _round_to_print(trial: Trial, options: dict[str, Any]) -> TrialRound:
    """The round that waits for its answer, or the next one, made now."""
    last = _last_round(trial)
    if not last.is_answered:
        made_for = settings_ahead(last, None)
        if _settings(options, made_for) != made_for:
            raise Refused(f"Round {last.number} is for {last.settings_words}; answer it first.")
        return last
    usual = settings_ahead(last, standing_of(trial))
    made = trials.print_next(
        trial=trial.pk, settings=_settings(options, usual), moment=timezone.now()
    )
    return TrialRound.objects.select_related("trial").get(pk=made.pk)


def _photo(options: dict[str, Any]) -> dict[str, Any]:
    trial = _get_trial(options)
    kept = _last_round(trial)
    try:
        ahead = trials.answer_by_photo(
            trial=trial.pk,
            number=kept.number,
            data=options["file"].read_bytes(),
            by=None,
            moment=timezone.now(),
        )
    except Refused as refusal:
        kept.refresh_from_db()
        raise Refused(f"{refusal}{_what_was_found(kept)}") from refusal
    kept.refresh_from_db()
    said = _ahead(kept, ahead)
    for patch, difference in zip(said["patches"], kept.photo["differences"], strict=True):
        patch["difference"] = [round(value, 2) for value in difference]
    return said


def _what_was_found(kept: TrialRound) -> str:
    return f" What was found on it: {place_of(kept.refused.name)}" if kept.refused else ""


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


def _ahead(kept: TrialRound, ahead: Prediction) -> dict[str, Any]:
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
    places = sheet_for(kept).layout.patches
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
