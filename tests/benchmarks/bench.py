"""How long the bench page takes: `python -m tests.benchmarks.bench`.

Fills a temporary workshop with 100, then with 10,000 live decals (six log lines
and six pieces each), asks for the page thirty times through the test client and
prints the queries and the median server time. The processor's time beside it
tells a slow page from a machine that is busy with something else.
"""

import os
import statistics
import tempfile
import time
from collections.abc import Callable
from contextlib import contextmanager
from datetime import datetime, timedelta
from itertools import count

from tests.benchmarks.figures import Figure, tell

REQUESTS = 30
KINDS = 10
LINES = 6
MOST_MS, MOST_QUERIES = 100, 12


@contextmanager
def temporary_workshop():
    """A migrated database of its own, gone afterwards; the settings are read only in here."""
    with tempfile.TemporaryDirectory() as folder:
        os.environ["DECALJOBS_DATA"] = folder
        os.environ["DJANGO_SETTINGS_MODULE"] = "workshop.settings"
        import django

        django.setup()
        from django.core.management import call_command
        from django.db import connections

        call_command("migrate", verbosity=0)
        yield
        connections.close_all()


def fill(decals: int, moment: datetime) -> None:
    """Projects of forty decals on sheets of fifty; some ready, some drying, some held."""
    from decaljobs.models import Artwork, Decal, Project, Sheet

    have = Decal.objects.count()
    decals -= have

    projects = Project.objects.bulk_create(
        Project(code=f"P-{have}-{n}", name=f"Model {n}", scale_ratio=87, made_at=moment)
        for n in range(max(decals // 40, 1))
    )
    artworks = Artwork.objects.bulk_create(
        Artwork(
            name=f"Art {n}",
            picture=f"{n}.png",
            preview=f"{n}.png",
            width_px=240,
            height_px=120,
            width_mm=24,
            made_at=moment,
        )
        for n in range(max(decals // 20, 1))
    )
    sheets = Sheet.objects.bulk_create(_sheets(have, max(decals // 50, 1), moment))
    made = Decal.objects.bulk_create(
        (_decal(have + n, projects, artworks, moment) for n in range(decals)), batch_size=500
    )
    _lay_pieces(made, sheets)
    _write_logs(made, moment)


def _sheets(have: int, number: int, moment: datetime):
    """Sheets of both films in turn, sealed and dry, and as many again that want a coat."""
    from decaljobs.craft.waits import WaitKind
    from decaljobs.models import Sheet
    from decaljobs.services.drying.waits import single_leg

    wait = single_leg("cutting", WaitKind.LAST_COAT_INKJET_WATER).to_dict()
    for n in range(4 * number):
        sealed = n < 2 * number
        rested = moment + timedelta(hours=-1 if sealed or n % 4 < 2 else 3)
        yield Sheet(
            code=f"S-{have}-{n}",
            film="white" if n % 2 == 0 else "clear",
            width_mm=210,
            height_mm=297,
            coats_wanted=4,
            coats_done=4 if sealed else 2,
            printed_at=moment - timedelta(days=3),
            worked_at=rested - timedelta(hours=12),
            rested_at=rested,
            wait=wait,
            made_at=moment,
        )


def _decal(n: int, projects: list, artworks: list, moment: datetime):
    from decaljobs.craft.stages import Build, Stage
    from decaljobs.craft.waits import WaitKind
    from decaljobs.models import Decal
    from decaljobs.services.drying.waits import legs_after, rules_of

    if not hasattr(_decal, "legs"):
        rules = rules_of(WaitKind)
        _decal.legs = legs_after(Build.LAMINATED, Stage.BASE_APPLIED, overcoat=True, rules=rules)
    turns = n % KINDS - 4  # hours until the base is dry: below 0 it is
    at = moment + timedelta(hours=turns, seconds=n % 3599) - timedelta(hours=12)
    held = "no_clear_piece" if n % KINDS == KINDS - 1 else ""
    return Decal(
        project=projects[n % len(projects)],
        artwork=artworks[n % len(artworks)],
        place=f"Place {n}",
        build="laminated",
        made_at=moment,
        stage="base_applied",
        stage_at=at,
        waits=[leg.to_dict() for leg in _decal.legs],
        turns_to="cured",
        turns_at=at + timedelta(hours=12),
        next_step="clear_applied",
        ready_at=None if held else at + timedelta(hours=12),
        held_because=held,
        events_logged=LINES,
    )


def _lay_pieces(decals: list, sheets: list) -> None:
    from decaljobs.models import Piece

    half = len(sheets) // 2
    Piece.objects.bulk_create(
        (
            Piece(
                decal=decal,
                sheet=sheets[2 * (n // 50) % half + side + half * (copy == 3)],
                layer="base" if side == 0 else "clear",
                copy=copy,
                state="used" if side == 0 and copy == 1 else "good",
            )
            for n, decal in enumerate(decals)
            for side in (0, 1)
            for copy in (1, 2, 3)
        ),
        batch_size=500,
    )


def _write_logs(decals: list, moment: datetime) -> None:
    from decaljobs.models import StageEvent

    stages = ["planned", "printed", "sealed", "base_applied", "base_applied", "base_applied"]
    StageEvent.objects.bulk_create(
        (
            StageEvent(
                decal=decal,
                number=number,
                at=moment - timedelta(days=2),
                logged_at=moment,
                kind="step",
                from_stage=stages[number - 1],
                to_stage=stages[min(number, LINES - 1)],
            )
            for decal in decals
            for number in range(1, LINES + 1)
        ),
        batch_size=500,
    )


def signed_in_client():
    from django.test import Client

    from decaljobs.models import Person

    client = Client(SERVER_NAME="127.0.0.1")
    client.force_login(Person.objects.create_user(username=f"mara{next(_names)}"))
    return client


_names = count(1)


def queries_of(ask: Callable[[], object]) -> int:
    """How many queries one request makes."""
    from django.db import connection
    from django.test.utils import CaptureQueriesContext

    with CaptureQueriesContext(connection) as caught:
        ask()
    return len(caught)


def median_ms(ask: Callable[[], object], clock: Callable[[], float]) -> float:
    """The median time of thirty requests by a clock, in milliseconds."""
    times = []
    for _ in range(REQUESTS):
        start = clock()
        ask()
        times.append((clock() - start) * 1000)
    return statistics.median(times)


def measure(page: str) -> tuple[int, float, float]:
    """Queries, median milliseconds and processor milliseconds of a page of the bench."""
    client = signed_in_client()

    def ask() -> None:
        response = client.get(page)
        if response.status_code != 200:
            raise RuntimeError(f"{page} answered {response.status_code}")

    ask()
    by_the_wall = median_ms(ask, time.perf_counter)
    return queries_of(ask), by_the_wall, median_ms(ask, time.process_time)


def main() -> int:
    missed = 0
    with temporary_workshop():
        from django.utils import timezone

        for decals in (100, 10_000):
            fill(decals, timezone.now())
            for page in ("/", "/?ready=3&drying=2&held=2", "/?layer=clear&q=place"):
                queries, median, busy = measure(page)
                said = f"{page} with {decals:,} decals and {decals * LINES:,} events"
                print(f"{said}: {busy:.1f} ms of processor")
                tell(Figure(said, median, "ms, median", MOST_MS))
                tell(Figure(f"queries of {said}", queries, "", MOST_QUERIES))
                missed += queries > MOST_QUERIES or median > MOST_MS
    print("within" if not missed else "NOT within", f"{MOST_QUERIES} queries and {MOST_MS} ms")
    return 1 if missed else 0


if __name__ == "__main__":
    raise SystemExit(main())
