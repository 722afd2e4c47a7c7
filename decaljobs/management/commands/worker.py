"""One worker for what takes longer than a page may."""

import threading
from argparse import ArgumentParser
from datetime import timedelta
from typing import Any

from django.core.management import call_command
from django.core.management.base import BaseCommand
from django.utils import timezone

from decaljobs.services.behind import begin_again, forget_done
from workshop.working import beat, end_with_the_server, is_gone, worker_name

#: How long the traces of work that is done are kept.
KEPT = timedelta(days=7)
#: Between two looks into the empty queue, seconds.
LOOK_EVERY = 0.5


class Command(BaseCommand):
    help = (
        "Do the work behind the pages: measuring, layouts, plans, files of readings. `start` runs "
        "one by itself; with several web processes on PostgreSQL, run as many as you like."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument(
            "--with-server", action="store_true", help="end when standard input is closed"
        )

    def handle(self, *args: Any, **options: Any) -> None:
        begin_again(is_gone)
        forget_done(timezone.now() - KEPT)
        threading.Thread(target=beat, daemon=True, name="beat").start()
        if options["with_server"]:
            threading.Thread(target=end_with_the_server, daemon=True, name="server's end").start()
        call_command(
            "db_worker",
            worker_id=worker_name(),
            interval=LOOK_EVERY,
            startup_delay=False,
            reload=False,
            verbosity=0,
        )
