"""A backup in the place of all records and pictures."""

from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.utils import timezone

from decaljobs.management.base import WorkshopCommand
from decaljobs.services.safekeeping.restoring import restore


class Command(WorkshopCommand):
    help = (
        "Put a backup in the place of all records and pictures. It is checked first; "
        "what was there before is kept as a backup of its own, and everybody is signed out."
    )
    after_refusal = "Nothing is changed."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("file", type=Path, metavar="FILE")

    def handle(self, *args: Any, **options: Any) -> None:
        contents, old = restore(options["file"], moment=timezone.now())
        made = timezone.localtime(contents.made_at)
        self.stdout.write(f"Restored: the workshop of {made:%d %B %Y, %H:%M}.")
        self.stdout.write(f"What was there before is kept in {old}.")
