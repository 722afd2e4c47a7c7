"""How long a hundred projects take to be planned and shown: `python -m tests.benchmarks.planpage`.

Fills a temporary workshop with a hundred models of ten laminated decals, prints the processor's
time for gathering their work, the first plan by rule, one of five seconds, and the plan's page
with its queries.
"""

import time
from collections.abc import Callable
from datetime import datetime, timedelta
from random import Random
from typing import Any

from tests.benchmarks.bench import signed_in_client, temporary_workshop
from tests.benchmarks.figures import Figure, tell

PROJECTS, PLACES, EACH = 100, 5, 2
MOST_FIRST_S, MOST_PAGE_S, MOST_QUERIES = 1.0, 0.2, 20


def timed(what: str, ask: Callable[[], Any], most: float | None = None) -> Any:
    """What a call answers, its processor's time printed and held against the most there may be."""
    start = time.process_time()
    answer = ask()
    what = f"{what}, {PROJECTS} projects"
    tell(Figure(what, time.process_time() - start, "s of processor", most))
    return answer


def fill(now: datetime) -> None:
    """Models with decals on film printed four days ago, or not printed yet."""
    from PIL import Image

    from decaljobs.craft.stages import Build
    from decaljobs.models import Person, Role
    from decaljobs.services.artwork.keeping import keep_artwork
    from decaljobs.services.film import sheets
    from decaljobs.services.projects import projects

    maker = Person.objects.create_user(username="planner", role=Role.MAKER)
    begun, random = now - timedelta(days=5), Random(1)
    art = keep_artwork(name="x", width_mm=20, picture=Image.new("RGB", (200, 100)), moment=begun)
    for number in range(PROJECTS):
        due = (now + timedelta(days=random.randint(5, 120))).date()
        named = {"name": f"Model {number}", "due": due, "overcoat": number % 2 == 0}
        project = projects.make_project(scale_ratio=72, moment=begun, **named)
        decals = [
            decal.pk
            for place in range(PLACES)
            for decal in projects.add_decals(
                project=project,
                artwork=art,
                place=f"Place {place}",
                build=Build.LAMINATED,
                count=EACH,
                moment=begun,
            )
        ]
        for film in ("white", "clear") if number % 5 == 0 else ():
            size = {"width_mm": 210, "height_mm": 297, "coats_wanted": 2}
            sheet = sheets.make_sheet(film=film, moment=begun, **size)
            sheets.put_on_sheet(sheet=sheet.pk, decals=decals, copies=1)
            at = now - timedelta(days=4)
            sheets.log_printed(sheet=sheet.pk, by=maker, moment=now, at=at)


def main() -> None:
    with temporary_workshop():
        from django.db import connection
        from django.test.utils import CaptureQueriesContext
        from django.utils import timezone

        from decaljobs.craft.benchplan import make_plan
        from decaljobs.services.plan import plans
        from decaljobs.services.plan.planwork import gather

        now = timezone.now()
        fill(now)
        work = timed("gathering", lambda: gather(moment=now))
        print(f"  {len(work.jobs)} tasks, {len(work.input.sessions)} sessions")
        first = timed("first plan", lambda: make_plan(work.input, iterations=0), MOST_FIRST_S)
        clock = {"seconds": 5.0, "clock": time.process_time}
        better = timed("five seconds", lambda: make_plan(work.input, **clock))
        gain = 1 - better.objective / first.objective
        print(f"  {first.objective:.0f} to {better.objective:.0f} min, {gain:.1%} less")
        plans.make_now(moment=now, iterations=10)
        client = signed_in_client()
        client.get("/plan/")  # the templates are read by the first page
        page = timed("plan page", lambda: client.get("/plan/"), MOST_PAGE_S)
        with CaptureQueriesContext(connection) as caught:
            client.get("/plan/")
        print(f"  {len(page.content) / 1000:.0f} kB")
        tell(Figure("queries of the plan page", len(caught), "", MOST_QUERIES))


if __name__ == "__main__":
    main()
