"""All records and pictures into one file."""

from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.utils import timezone

from decaljobs.management.base import WorkshopCommand
from decaljobs.services.safekeeping.backups import take_backup


class Command(WorkshopCommand):
    help = "Write all records and pictures into one file, also while the workshop is open."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("file", type=Path, metavar="FILE", help="a zip that is not there yet")

    def handle(self, *args: Any, **options: Any) -> None:
        target: Path = options["file"].resolve()
        take_backup(target, moment=timezone.now())
        self.stdout.write(f"{target}, {target.stat().st_size / 1e6:,.1f} MB.")
