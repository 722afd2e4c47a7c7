"""Lay decals out on film, from a request in a JSON file."""

import json
import sys
from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from decaljobs.craft.layout.model import LayoutError
from decaljobs.craft.layout.request import layout_request


class Command(BaseCommand):
    help = "Lay decals out on offcuts and sheets, or on one endless strip. All lengths in mm."
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("request", metavar="REQUEST.json", help="the request; - reads it in")
        parser.add_argument("--seconds", type=float, default=1.0, help="how long to search")
        parser.add_argument(
            "--straight-cuts", action="store_true", help="only cuts from edge to edge"
        )
        parser.add_argument(
            "--apart", action="store_true", help="copies of a decal need not lie together"
        )
        parser.add_argument("--seed", type=int, default=0, help="start of the chance in the search")
        parser.add_argument(
            "--iterations", type=int, help="tries instead of seconds, for an equal answer each time"
        )
        parser.add_argument("--json", action="store_true", help="answer as JSON")

    def handle(self, *args: Any, **options: Any) -> None:
        data = _read(options["request"])
        try:
            answer = layout_request(
                data,
                seconds=options["seconds"],
                iterations=options["iterations"],
                seed=options["seed"],
                straight_cuts=options["straight_cuts"],
                together=not options["apart"],
            )
        except LayoutError as error:
            raise CommandError(str(error)) from error
        if options["json"]:
            self.stdout.write(json.dumps(answer, indent=2, ensure_ascii=False))
            return
        for line in _lines(answer):
            self.stdout.write(line)


def _read(name: str) -> object:
    try:
        text = sys.stdin.read() if name == "-" else Path(name).read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError) as error:
        raise CommandError(f"The request {name} cannot be read: {error}") from error
    try:
        return json.loads(text)
    except (ValueError, RecursionError) as error:
        raise CommandError(f"The request {name} is not JSON: {error}") from error


def _lines(answer: dict[str, Any]) -> list[str]:
    sheets = answer.get("sheets") or [{"source": "strip", "offcut": None, **answer}]
    lines = []
    for sheet in sheets:
        lines.append(f"{sheet['source']}: {len(sheet['placements'])} pieces")
        lines += [f"  {_placement_line(placed)}" for placed in sheet["placements"]]
        rest = sheet["offcut"]
        if rest:
            lines.append(f"  rest after one cut: {rest['width']:.1f} × {rest['height']:.1f} mm")
    if "length" in answer:
        lines.append(f"Length: {answer['length']:.1f} mm")
    lines.append(f"Film: {answer['film_mm2'] / 100:.1f} cm²")
    lines.append(f"Used: {answer['utilisation']:.1%}")
    return lines


def _placement_line(placed: dict[str, Any]) -> str:
    turned = ", turned" if placed["turned"] else ""
    return (
        f"{placed['name']} at {placed['x']:.1f}, {placed['y']:.1f}, "
        f"{placed['width']:.1f} × {placed['height']:.1f} mm{turned}"
    )
