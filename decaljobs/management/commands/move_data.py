"""All records from another database into the one in use."""

from argparse import ArgumentParser
from typing import Any

from decaljobs.management.base import WorkshopCommand
from decaljobs.services.safekeeping.moving_house import move_data


class Command(WorkshopCommand):
    help = (
        "Copy all records from an SQLite file or a PostgreSQL address into the database in use "
        "(DATABASE_URL, or the file in the data folder). Pictures stay where they are."
    )
    after_refusal = "Nothing is changed."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("source", metavar="FILE_OR_ADDRESS")
        parser.add_argument(
            "--replace", action="store_true", help="also if there are records here; they go"
        )

    def handle(self, *args: Any, **options: Any) -> None:
        copied = move_data(options["source"], replace=options["replace"])
        self.stdout.write(f"{copied:,} rows are here now.")
