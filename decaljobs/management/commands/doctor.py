"""The records looked over."""

import json
from argparse import ArgumentParser
from dataclasses import asdict
from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone

from decaljobs.services.safekeeping.doctor import look_over, sweep


class Command(BaseCommand):
    help = "Look the records over: logs, pieces, pictures, disk, backups. Changes nothing."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--sweep", action="store_true", help="remove files no record names")
        parser.add_argument("--json", action="store_true", help="answer as JSON")

    def handle(self, *args: Any, **options: Any) -> None:
        moment = timezone.now()
        swept = sweep(moment) if options["sweep"] else 0
        findings = look_over(moment)
        if options["json"]:
            found = [asdict(finding) for finding in findings]
            self.stdout.write(json.dumps({"findings": found, "swept": swept}, indent=2))
        else:
            if swept:
                self.stdout.write(f"{swept} files removed.")
            for finding in findings:
                self.stdout.write(f"{finding.words} {finding.mend}")
        if findings:
            raise CommandError(f"{len(findings)} things want mending.")
        if not options["json"]:
            self.stdout.write("All is well.")
