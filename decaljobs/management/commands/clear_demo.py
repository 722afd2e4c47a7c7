"""The example workshop: clear it."""

from typing import Any

from decaljobs.management.base import WorkshopCommand
from decaljobs.services.demo import loading


class Command(WorkshopCommand):
    help = "Remove the example workshop and nothing else."

    def handle(self, *args: Any, **options: Any) -> None:
        loading.clear_demo()
        self.stdout.write("The example workshop is gone.")
