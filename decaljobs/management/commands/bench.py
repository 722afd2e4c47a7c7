"""What is ready, drying and held, on the terminal."""

import json
from argparse import ArgumentParser
from dataclasses import asdict
from typing import Any

from django.core.management.base import BaseCommand
from django.utils import timezone

from decaljobs.management.moments import moment_argument
from decaljobs.services.bench.before import bench_then
from decaljobs.services.bench.entries import BenchEntry, bench_at
from decaljobs.services.words import say_moment


class Command(BaseCommand):
    help = "Show what is ready, what dries and what is held on the bench."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument(
            "--at",
            type=moment_argument,
            metavar="MOMENT",
            help="2026-11-24T21:40, gone by or to come; now if left out",
        )
        parser.add_argument("--json", action="store_true", help="answer as JSON")

    def handle(self, *args: Any, **options: Any) -> None:
        now = timezone.now()
        moment = options["at"] or now
        bench = bench_then(moment=moment) if moment < now else bench_at(moment=moment)
        if options["json"]:
            plain = {name: [_plain(entry) for entry in rows] for name, rows in bench.items()}
            self.stdout.write(json.dumps({"at": moment.isoformat(), **plain}, indent=2))
            return
        for name, rows in bench.items():
            self.stdout.write(f"{name.capitalize()}: {len(rows)}")
            for entry in rows:
                self.stdout.write(f"  {_line(entry, moment)}")


def _plain(entry: BenchEntry) -> dict[str, Any]:
    ready_at = entry.ready_at.isoformat() if entry.ready_at else None
    return {**asdict(entry), "ready_at": ready_at}


def _line(entry: BenchEntry, moment: Any) -> str:
    when = say_moment(entry.ready_at, now=moment) if entry.ready_at else "not yet known"
    step = entry.next.replace("_", " ") or "finished then"
    return f"{entry.project}  {entry.decal}: {step}, {when}. {entry.reason}"
