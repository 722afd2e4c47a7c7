"""Logs a step and takes it back, over and over, saying each line of the log once it is kept.

python -m tests.faults.writer DECAL
"""

import os
import sys


def main() -> None:
    """Until killed."""
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "workshop.settings")
    import django

    django.setup()
    from django.utils import timezone

    from decaljobs.craft.stages import Stage
    from decaljobs.models import Decal, Person, StageEvent
    from decaljobs.services.bench.steps import log_step
    from decaljobs.services.bench.undoing import undo_last

    decal, maker = int(sys.argv[1]), Person.objects.earliest("pk")
    if Decal.objects.get(pk=decal).stage == Stage.BASE_APPLIED:  # the last writer was killed so
        undo_last(decal=decal, by=maker, moment=timezone.now())
    while True:
        log_step(
            decals=[decal],
            step=Stage.BASE_APPLIED,
            by=maker,
            moment=timezone.now(),
            reason="for practice",
        )
        say(StageEvent.objects.filter(decal=decal).latest("number").number)
        undo_last(decal=decal, by=maker, moment=timezone.now())
        say(StageEvent.objects.filter(decal=decal).latest("number").number)


def say(number: int) -> None:
    os.write(1, f"{number}\n".encode())


if __name__ == "__main__":
    main()
