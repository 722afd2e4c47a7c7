"""The example workshop: load it."""

from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone

from decaljobs.services.demo import loading
from decaljobs.services.refused import Refused


class Command(BaseCommand):
    help = "Fill the workshop with the example: invented models in every stage."

    def handle(self, *args: Any, **options: Any) -> None:
        try:
            loading.load_demo(moment=timezone.now())
        except Refused as refusal:
            raise CommandError(str(refusal)) from refusal
        self.stdout.write("The example workshop is loaded.")
