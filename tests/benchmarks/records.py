"""How long the records page takes: `python -m tests.benchmarks.records`.

Fills a temporary workshop with 2,000 projects of ten finished decals each (20,000 decals, six log
lines each: 120,000 events), asks for the page through the test client and prints the queries and
the median server time, with the processor's time beside it.
"""

from __future__ import annotations

from datetime import datetime, timedelta

from tests.benchmarks.bench import measure, signed_in_client, temporary_workshop
from tests.benchmarks.figures import Figure, tell

PROJECTS, DECALS, LINES = 2_000, 20_000, 6
MOST_MS, MOST_QUERIES = 300, 15
STAGES = ("planned", "printed", "sealed", "base_applied", "cured", "clear_applied", "set")


def fill(moment: datetime) -> None:
    """Finished projects over three years; one decal in ten had a spoiled base on its way."""
    from decaljobs.models import Artwork, Decal, Person, Project, Sheet

    person = Person.objects.earliest("pk")
    projects = Project.objects.bulk_create(
        Project(code=f"R-{n}", name=f"Model {n}", scale_ratio=87, made_at=_at(n, moment))
        for n in range(PROJECTS)
    )
    artworks = Artwork.objects.bulk_create(
        Artwork(
            name=f"Art {n}",
            picture=f"{n}.png",
            preview=f"{n}.png",
            width_px=240,
            height_px=120,
            width_mm=5 + n % 80,
            made_at=moment,
        )
        for n in range(200)
    )
    sheet = Sheet.objects.create(
        code="R", film="white", width_mm=210, height_mm=297, made_at=moment, printed_at=moment
    )
    decals = Decal.objects.bulk_create(
        (
            Decal(
                project=projects[n // 10],
                artwork=artworks[n % 200],
                place=f"Place {n}",
                build="laminated",
                made_at=moment,
                stage="set",
                stage_at=_at(n // 10, moment),
                ready_at=_at(n // 10, moment),
                events_logged=LINES,
            )
            for n in range(DECALS)
        ),
        batch_size=500,
    )
    _lay_pieces(decals, sheet)
    _write_logs(decals, person, moment)


def _lay_pieces(decals: list, sheet) -> None:
    from decaljobs.models import Piece

    Piece.objects.bulk_create(
        (
            Piece(
                decal=decal,
                sheet=sheet,
                layer=layer,
                copy=copy,
                state="used" if copy < 3 else "spoiled",
            )
            for n, decal in enumerate(decals)
            for copy, layer in ((1, "base"), (2, "clear"), (3, "base"))
            if copy < 3 or n % 10 == 0
        ),
        batch_size=500,
    )


def _at(project: int, moment: datetime) -> datetime:
    return moment - timedelta(hours=1 + project * 13)


def _write_logs(decals: list, person, moment: datetime) -> None:
    from decaljobs.models import StageEvent

    StageEvent.objects.bulk_create(
        (
            StageEvent(
                decal=decal,
                number=number,
                at=_at(n // 10, moment),
                logged_at=moment,
                by=person,
                kind="piece_spoiled" if n % 10 == 0 and number == 4 else "step",
                cause="torn" if n % 10 == 0 and number == 4 else "",
                from_stage=STAGES[number - 1],
                to_stage=STAGES[number],
            )
            for n, decal in enumerate(decals)
            for number in range(1, LINES + 1)
        ),
        batch_size=500,
    )


def main() -> int:
    """The command line; 1 where the page takes more than it may."""
    with temporary_workshop():
        from django.utils import timezone

        signed_in_client()  # brings along the person whose log it is
        fill(timezone.now())
        queries, median, busy = measure("/records/")
    over = f"{PROJECTS:,} projects, {DECALS:,} decals and {DECALS * LINES:,} events"
    print(f"{busy:.0f} ms of processor")
    tell(Figure(f"records page of {over}", median, "ms, median", MOST_MS))
    tell(Figure("queries of the records page", queries, "", MOST_QUERIES))
    return int(queries > MOST_QUERIES or median > MOST_MS)


if __name__ == "__main__":
    raise SystemExit(main())
