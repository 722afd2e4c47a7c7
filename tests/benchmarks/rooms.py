"""How long the rooms take, with a year of minute readings: `python -m tests.benchmarks.rooms`.

Works on a data folder of its own, which is thrown away.
"""

import os
import tempfile
import time
from collections.abc import Callable
from datetime import timedelta

os.environ["DECALJOBS_DATA"] = tempfile.mkdtemp(prefix="decaljobs-rooms-")
os.environ.setdefault("DJANGO_SETTINGS_MODULE", "workshop.settings")

import django  # noqa: E402

django.setup()

import numpy as np  # noqa: E402
from django.core.management import call_command  # noqa: E402
from django.utils import timezone  # noqa: E402

from decaljobs.craft.stages import Build, Stage  # noqa: E402
from decaljobs.craft.waits import WaitKind  # noqa: E402
from decaljobs.models import Decal, Room  # noqa: E402
from decaljobs.models.rooms import minute_of  # noqa: E402
from decaljobs.services import air, recompute, rooms  # noqa: E402
from decaljobs.services.waits import legs_after, rules_of  # noqa: E402
from tests.factories import make_artwork, make_project  # noqa: E402

YEAR = 525_600
WAITS = 1000
NOW = timezone.now().replace(second=0, microsecond=0)


def minute_readings(rows: int) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """A noisy workshop read every minute until NOW: minutes, °C and %RH."""
    rng = np.random.default_rng(7)
    minutes = minute_of(NOW) - np.arange(rows)[::-1]
    day = 2 * np.pi * minutes / 1440
    drift = 2 * np.sin(day / 9)
    temperature = np.round(17 + 3 * np.sin(day) + drift + rng.normal(0, 0.15, rows), 2)
    humidity = np.round(60 - 9 * np.sin(day) + 3 * drift + rng.normal(0, 0.8, rows), 2)
    return minutes, temperature, np.clip(humidity, 0, 100)


def running_decals(room: Room) -> None:
    """A thousand decals that dry, begun over the last 13 days."""
    project, artwork = make_project(overcoat=True), make_artwork()
    rules = rules_of(WaitKind)
    stages = [Stage.BASE_APPLIED, Stage.CLEAR_APPLIED, Stage.OVERCOATED]
    made = []
    for number in range(WAITS):
        stage = stages[number % len(stages)]
        begun = NOW - number * timedelta(days=13) / WAITS
        legs = legs_after(Build.LAMINATED, stage, overcoat=True, rules=rules)
        made.append(
            Decal(
                project=project, artwork=artwork, place=f"Place {number}", build="laminated",
                made_at=begun, stage=stage.value, stage_at=begun,
                waits=[leg.to_dict() for leg in legs], stays=[[begun.isoformat(), room.pk]],
            )
        )  # fmt: skip
    Decal.objects.bulk_create(made)


def timed(what: str, work: Callable[[], object], target: float | None = None) -> None:
    begun = time.perf_counter()
    work()
    taken = time.perf_counter() - begun
    said = f", target {target:g} s: {'met' if taken <= target else 'MISSED'}" if target else ""
    print(f"{what}: {taken:.3f} s{said}", flush=True)


def forget() -> None:
    """As a process that has just begun."""
    air._loaded.cache_clear()
    air._moved.cache_clear()


def main() -> None:
    call_command("migrate", verbosity=0)
    room = Room.objects.get(is_default=True)
    columns = minute_readings(YEAR)
    names = ("minutes", "temperatures", "humidities")
    fortnight = {k: v[-14 * 1440 :] for k, v in zip(names, columns, strict=True)}
    rooms.keep_readings(room=room.pk, **fortnight)
    running_decals(room)
    forget()
    since = NOW - timedelta(days=14)
    timed(
        f"{WAITS:,} running waits over 14 days of minute readings, ready times stored anew",
        lambda: recompute.recompute(since=since, rooms=[room.pk]),
        2.0,
    )
    ready = Decal.objects.filter(ready_at__isnull=False).count()
    print(f"  {ready:,} of them with a ready time")
    year = dict(zip(names, columns, strict=True))
    timed(f"{YEAR:,} readings saved", lambda: rooms.keep_readings(room=room.pk, **year), 30.0)


if __name__ == "__main__":
    main()
