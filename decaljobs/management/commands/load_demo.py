"""The example workshop: load it."""

from typing import Any

from django.utils import timezone

from decaljobs.management.base import WorkshopCommand
from decaljobs.services.demo import loading


class Command(WorkshopCommand):
    help = "Fill the workshop with the example: invented models in every stage."

    def handle(self, *args: Any, **options: Any) -> None:
        loading.load_demo(moment=timezone.now())
        self.stdout.write("The example workshop is loaded.")
