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
from django.conf import settings  # noqa: E402
from django.core.management import call_command  # noqa: E402
from django.db import connection  # noqa: E402
from django.test import Client  # noqa: E402
from django.test.utils import CaptureQueriesContext  # noqa: E402
from django.utils import timezone  # noqa: E402

from decaljobs.craft.stages import Build, Stage  # noqa: E402
from decaljobs.craft.waits import WaitKind  # noqa: E402
from decaljobs.models import Decal, Piece, Room, Sheet  # noqa: E402
from decaljobs.models.rooms import minute_of, moment_of  # noqa: E402
from decaljobs.services.drying import air, imports, recompute, rooms  # noqa: E402
from decaljobs.services.drying.waits import legs_after, rules_of  # noqa: E402
from tests.benchmarks.figures import Figure, tell  # noqa: E402
from tests.factories import make_artwork, make_person, make_project, make_sheet  # noqa: E402

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
    sheet = make_sheet("clear", coats_wanted=1)
    Sheet.objects.filter(pk=sheet.pk).update(
        printed_at=NOW, coats_done=1, worked_at=NOW, rested_at=NOW
    )
    Piece.objects.bulk_create(
        Piece(decal=decal, sheet=sheet, layer="clear", copy=1) for decal in made
    )


def timed(what: str, work: Callable[[], object], target: float | None = None) -> None:
    """Elapsed time; on a busy machine the processor's own beside it tells more."""
    begun, busy = time.perf_counter(), time.process_time()
    work()
    taken, worked = time.perf_counter() - begun, time.process_time() - busy
    print(f"  {worked:.3f} s of processor")
    tell(Figure(what, taken, "s", at_least=target))


def forget() -> None:
    """As a process that has just begun."""
    air._loaded.cache_clear()
    air._moved.cache_clear()


def csv_lines(columns: tuple[np.ndarray, ...]) -> bytes:
    rows = zip(*(column.tolist() for column in columns), strict=True)
    lines = [f"{moment_of(m):%Y-%m-%d %H:%M},{t:.2f},{h:.2f}" for m, t, h in rows]
    return "\n".join(["time,temperature,humidity", *lines]).encode()


def import_file(room: Room, data: bytes) -> None:
    """The whole way of a file: kept, guessed, read line by line, compared, saved."""
    found = imports.keep_upload(room=room, by=make_person(), moment=NOW, name="year.csv", data=data)
    imports.begin_reading(pk=found.pk, layout=imports.layout_of(found), zone="UTC", moment=NOW)
    found.refresh_from_db()
    print(f"  {found.state}: {found.found['new']:,} new readings")


def queries_of(client: Client, url: str) -> int:
    with CaptureQueriesContext(connection) as caught:
        client.get(url)
    return len(caught)


def pages(room: Room) -> None:
    client = Client(SERVER_NAME="127.0.0.1")
    client.force_login(make_person())
    url = f"/drying/?room={room.pk}"
    client.get("/people/")  # the templates and addresses are read by the first page
    forget()
    timed("Drying page, as a process that has just begun", lambda: client.get(url), 0.3)
    timed("Drying page again", lambda: client.get(url), 0.3)
    forget()
    count = queries_of(client, url)
    tell(Figure("queries of the Drying page", count, at_least=15))
    timed("its chart on paper", lambda: client.get(f"/drying/chart/?room={room.pk}"))
    timed("the bench with a thousand decals that dry", lambda: client.get("/"))
    timed("the bench again", lambda: client.get("/"), 0.1)
    print(f"  {queries_of(client, '/')} queries")


def main() -> None:
    settings.WORK_BEHIND = "page"
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
    data = csv_lines(columns)
    timed(
        f"a file of {YEAR:,} readings ({len(data) / 1e6:.0f} MB) brought in",
        lambda: import_file(room, data),
        30.0,
    )
    pages(room)


if __name__ == "__main__":
    main()
