"""All records and pictures into one file."""

from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone

from decaljobs.services.refused import Refused
from decaljobs.services.safekeeping.backups import take_backup


class Command(BaseCommand):
    help = "Write all records and pictures into one file, also while the workshop is open."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("file", type=Path, metavar="FILE", help="a zip that is not there yet")

    def handle(self, *args: Any, **options: Any) -> None:
        target: Path = options["file"].resolve()
        try:
            take_backup(target, moment=timezone.now())
        except Refused as refusal:
            raise CommandError(str(refusal)) from refusal
        self.stdout.write(f"{target}, {target.stat().st_size / 1e6:,.1f} MB.")
