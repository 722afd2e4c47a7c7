"""Twenty makers at once, each logging steps and taking them back on decals of their own.

python -m tests.faults.crowd SECONDS, on the records that DECALJOBS_DATA or DATABASE_URL names.
Prints what came of it as JSON.
"""

from __future__ import annotations

import json
import os
import sys
import threading
import time
from collections.abc import Iterator
from dataclasses import dataclass, field

MAKERS = 20
#: Lines in each decal's log before the makers begin: printed, sealed.
BEFORE = 2


@dataclass
class Maker:
    """What one thread did: how long each change took, and what went wrong."""

    decal: int
    took: list[float] = field(default_factory=list)
    wrong: list[str] = field(default_factory=list)


def main() -> None:
    """As many seconds as were asked for."""
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "workshop.settings")
    import django

    django.setup()
    makers = [Maker(decal) for decal in lay_out(MAKERS)]
    begun, busy = time.monotonic(), time.process_time()
    end = begun + float(sys.argv[1])
    threads = [threading.Thread(target=at_work, args=[maker, end]) for maker in makers]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    seconds, busy = time.monotonic() - begun, time.process_time() - busy
    print(json.dumps(summary(makers, seconds, busy)))


def lay_out(number: int) -> list[int]:
    """So many decals of clear film alone, their pieces on a sheet that is sealed and dry."""
    from datetime import timedelta

    from django.utils import timezone

    from decaljobs.craft.stages import Build, Film
    from decaljobs.models import Artwork, Person
    from decaljobs.services.film import sheets
    from decaljobs.services.projects import projects

    moment, by = timezone.now(), Person.objects.earliest("pk")
    project = projects.make_project(
        name="Regatta", scale_ratio=72, overcoat=False, moment=moment - timedelta(days=9)
    )
    decals = projects.add_decals(
        project=project,
        artwork=Artwork.objects.earliest("pk"),
        place="Stern",
        build=Build.CLEAR_ALONE,
        count=number,
        moment=moment - timedelta(days=9),
    )
    sheet = sheets.make_sheet(
        film=Film.CLEAR,
        printer="inkjet",
        sealer="water",
        width_mm=210,
        height_mm=297,
        coats_wanted=1,
        moment=moment - timedelta(days=9),
    )
    numbers = [decal.pk for decal in decals]
    sheets.put_on_sheet(sheet=sheet.pk, decals=numbers, copies=1)
    for log, days in ((sheets.log_printed, 8), (sheets.log_coat, 6)):
        log(sheet=sheet.pk, by=by, moment=moment, at=moment - timedelta(days=days))
    return numbers


def at_work(maker: Maker, end: float) -> None:
    """Log and undo until the time is over."""
    from django.db import connection

    for change in changes(maker.decal):
        begun = time.monotonic()
        if begun >= end:
            break
        try:
            change()
        except Exception as error:
            maker.wrong.append(f"{type(error).__name__}: {error}")
        maker.took.append(time.monotonic() - begun)
    connection.close()


def changes(decal: int) -> Iterator:
    """A step, its undoing, and so on without end."""
    from functools import partial

    from django.utils import timezone

    from decaljobs.craft.stages import Stage
    from decaljobs.models import Person
    from decaljobs.services.bench.steps import log_step
    from decaljobs.services.bench.undoing import undo_last

    by = Person.objects.earliest("pk")
    while True:
        yield partial(
            log_step, decals=[decal], step=Stage.CLEAR_APPLIED, by=by, moment=timezone.now()
        )
        yield partial(undo_last, decal=decal, by=by, moment=timezone.now())


def summary(makers: list[Maker], seconds: float, busy: float) -> dict:
    """The figures, and how many lines the logs have gained, by their rows and by the decals."""
    from decaljobs.models import Decal, StageEvent

    took = sorted(each for maker in makers for each in maker.took)
    numbers = [maker.decal for maker in makers]
    counted = Decal.objects.filter(pk__in=numbers).values_list("events_logged", flat=True)
    return {
        "makers": len(makers),
        "changes": len(took),
        "a_second": len(took) / seconds,
        "p99": took[int(len(took) * 0.99)],
        "busy_ms": 1000 * busy / len(took),
        "wrong": [words for maker in makers for words in maker.wrong],
        "lines": StageEvent.objects.filter(decal__in=numbers).count() - BEFORE * len(makers),
        "counted": sum(counted) - BEFORE * len(makers),
    }


if __name__ == "__main__":
    main()
