"""The example workshop: clear it."""

from typing import Any

from django.core.management.base import BaseCommand, CommandError

from decaljobs.services.demo import loading
from decaljobs.services.refused import Refused


class Command(BaseCommand):
    help = "Remove the example workshop and nothing else."

    def handle(self, *args: Any, **options: Any) -> None:
        try:
            loading.clear_demo()
        except Refused as refusal:
            raise CommandError(str(refusal)) from refusal
        self.stdout.write("The example workshop is gone.")
