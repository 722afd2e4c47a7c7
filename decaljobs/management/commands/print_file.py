"""The print file of a sheet as PDF."""

import json
from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management.base import CommandError
from django.urls import reverse
from django.utils import timezone

from decaljobs.craft.paper.printfile import BaseArt
from decaljobs.management.base import WorkshopCommand, write_file
from decaljobs.models import Sheet
from decaljobs.pdf.printfile import print_file_pdf
from decaljobs.services.film.printfile import PrintWishes, print_sheet


class Command(WorkshopCommand):
    help = "Write the print file of a sheet as PDF, to be printed at 100 %."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("sheet", help="the sheet's code, such as W-07")
        parser.add_argument("-o", "--output", required=True, type=Path, metavar="FILE")
        parser.add_argument(
            "--base-art", choices=[art.value for art in BaseArt], default=BaseArt.FULL.value
        )
        parser.add_argument("--guides", action="store_true", help="print hairline cut guides")
        parser.add_argument("--no-ticks", action="store_true", help="print no corner ticks")
        parser.add_argument("--json", action="store_true", help="answer as JSON")

    def handle(self, *args: Any, **options: Any) -> None:
        sheet = Sheet.objects.coded(options["sheet"]).first()
        if sheet is None:
            raise CommandError(f"There is no sheet {options['sheet']}.")
        wishes = PrintWishes(
            base_art=BaseArt(options["base_art"]),
            guides=options["guides"],
            ticks=not options["no_ticks"],
        )
        address = settings.SITE_ADDRESS + reverse("sheet", args=[sheet.code])
        gathered = print_sheet(sheet=sheet, wishes=wishes, address=address, moment=timezone.now())
        write_file(options["output"], print_file_pdf(gathered))
        said = {
            "sheet": sheet.code,
            "file": str(options["output"]),
            "pieces": len(gathered.pieces),
        }
        self.stdout.write(
            json.dumps(said) if options["json"] else f"{sheet}: {said['pieces']} pieces."
        )
