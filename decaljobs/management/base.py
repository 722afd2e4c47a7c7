"""What all commands have in common: how they refuse, and how they write a file."""

from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from decaljobs.services.refused import Refused


class WorkshopCommand(BaseCommand):
    """A command that says what a service refuses in one line and ends.

    after_refusal: a sentence that follows it.
    """

    after_refusal = ""

    def execute(self, *args: Any, **options: Any) -> str | None:
        try:
            return super().execute(*args, **options)
        except Refused as refusal:
            raise CommandError(f"{refusal} {self.after_refusal}".strip()) from refusal


def write_file(path: Path, data: bytes) -> None:
    """Write a file that was asked for at the terminal."""
    try:
        path.write_bytes(data)
    except OSError as error:
        raise CommandError(f"{path} cannot be written: {error.strerror}.") from error
