"""Every record in one file: CSV files in a zip, or one JSON file."""

from __future__ import annotations

import json
from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone

from decaljobs.services.safekeeping import giving_out

ENDINGS = (".zip", ".json")


class Command(BaseCommand):
    help = "Write every record into a .zip of CSV files, or into one .json file"

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("file", type=Path)
        parser.add_argument("--json", action="store_true", help="tell the outcome as JSON")

    def handle(self, *args: Any, **options: Any) -> None:
        path: Path = options["file"]
        if path.suffix not in ENDINGS:
            raise CommandError(f"The file must end in {' or '.join(ENDINGS)}, not ‘{path.name}’.")
        try:
            # A file that is there already is not written over.
            with path.open("xb") as file:
                if path.suffix == ".zip":
                    giving_out.write_zip(file)
                else:
                    giving_out.write_json(file, moment=timezone.now())
        except OSError as error:
            raise CommandError(f"{path} cannot be written: {error.strerror}.") from error
        tables = [giving_out.table_name(kind) for kind in giving_out.tables()]
        if options["json"]:
            told = {"file": str(path), "bytes": path.stat().st_size, "tables": tables}
            self.stdout.write(json.dumps(told))
        else:
            self.stdout.write(f"{len(tables)} tables are in {path}.")
