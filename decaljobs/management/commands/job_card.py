"""A project's job card as a PDF file."""

import json
from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management.base import CommandError
from django.urls import reverse
from django.utils import timezone

from decaljobs.craft.units import PAPERS
from decaljobs.management.base import WorkshopCommand, write_file
from decaljobs.models import Project
from decaljobs.pdf.jobcard import job_card_pdf
from decaljobs.services.projects.jobcard import job_card


class Command(WorkshopCommand):
    help = "Write the job card of a project as PDF."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("project", help="the project's code, such as P-04")
        parser.add_argument("-o", "--output", required=True, type=Path, metavar="FILE")
        parser.add_argument("--paper", choices=list(PAPERS), default="A4")
        parser.add_argument("--json", action="store_true", help="answer as JSON")

    def handle(self, *args: Any, **options: Any) -> None:
        project = Project.objects.coded(options["project"]).first()
        if project is None:
            raise CommandError(f"There is no project {options['project']}.")
        address = settings.SITE_ADDRESS + reverse("project", args=[project.code])
        card = job_card(project=project, address=address, moment=timezone.now())
        pdf = job_card_pdf(card, paper=options["paper"])
        write_file(options["output"], pdf)
        said = {"project": project.code, "file": str(options["output"]), "decals": len(card.decals)}
        self.stdout.write(
            json.dumps(said) if options["json"] else f"{project}: {said['decals']} decals."
        )
