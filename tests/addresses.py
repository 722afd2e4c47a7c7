"""Every address of the workshop, taken from its URL configuration, with records that are there."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from datetime import datetime, timedelta
from typing import Any

from django.contrib.sessions.backends.db import SessionStore
from django.db import transaction
from django.db.models import Model
from django.test import Client
from django.urls import URLPattern, reverse

from decaljobs.models import (
    Artwork,
    BenchDay,
    BenchPlan,
    Decal,
    Device,
    Panel,
    Person,
    Photo,
    Piece,
    Project,
    QueuedDecal,
    Reading,
    ReadingsImport,
    Room,
    Sheet,
    StockLine,
    Supply,
    Trial,
    WaitRule,
)
from decaljobs.services.drying.imports import keep_upload
from decaljobs.services.people.devices import note_device
from decaljobs.services.plan.benchhours import add_day
from decaljobs.services.safekeeping import backups
from decaljobs.services.safekeeping.backup_file import pack
from decaljobs.urls import urlpatterns
from decaljobs.views.plan_rows import moment_of, stamp_of
from tests.example import lay_out_example
from workshop import VERSION

#: What only somebody who is not signed in gets to see.
DOORS = frozenset({"sign-in", "enter"})
#: What everybody may set, for themselves or for the device in their hand.
THEIR_OWN = frozenset({"device-new", "keys", "looks", "looks-theme", "password", "sign-out"})
#: Files of which the example has none.
NOT_IN_THE_EXAMPLE = frozenset({"calendar", "printer-cross", "sheet-print-file", "trial-refused"})
#: What shows no page of its own, but leads to one.
LEADS_ON = frozenset({"decal-sheet"})
#: What an address cannot be asked without.
QUESTIONS = {"artwork-on-paint": "?paint=1d2f57&build=laminated"}


def furnish(moment: datetime) -> Person:
    """The example workshop and what it lacks, so that no address stands empty; its owner."""
    lay_out_example(moment)
    owner = Person.objects.get()
    room = Room.objects.earliest("pk")
    lines = b"Time,Temperature,Humidity\n2026-11-01 20:00,20.5,48\n2026-11-01 21:00,20.1,49\n"
    _lay_down_a_backup(moment)
    add_day(
        person=owner, day=moment.date() + timedelta(days=9), starts=None, ends=None, note="away"
    )
    keep_upload(room=room, by=owner, moment=moment, name="readings.csv", data=lines)
    away = SessionStore()
    away.create()
    note_device(session_key=away.session_key, person=owner, agent="", moment=moment)
    return owner


def _lay_down_a_backup(moment: datetime) -> None:
    home = backups.folder()
    home.mkdir(parents=True, exist_ok=True)
    records = home / "records"
    records.write_bytes(b"looked at by nobody")
    name = f"by-hand-{moment:%Y-%m-%dT%H-%M-%S}.zip"
    pack(home / name, records=records, moment=moment, version=VERSION)


def names() -> list[str]:
    """The name of every address, in the order of the configuration."""
    return [str(pattern.name) for pattern in urlpatterns]


def path_of(name: str) -> str:
    """One address of this name, for the first fitting record."""
    return next(paths_of(name))


def paths_of(name: str) -> Iterator[str]:
    """The addresses of this name: one for each way a record can stand where it has a screen
    of its own, one otherwise."""
    (pattern,) = (pattern for pattern in urlpatterns if pattern.name == name)
    if not pattern.pattern.converters:
        yield reverse(name) + _question(name)
        return
    arguments = _arguments(pattern)
    for found in arguments if str(pattern.pattern).endswith(">/") else arguments[:1]:
        wanted = found[: len(pattern.pattern.converters)]
        yield reverse(name, args=wanted) + _question(name)


def pages(client: Client) -> list[str]:
    """The names of all addresses that show a page to the owner, who is signed in."""
    shown = []
    for name in names():
        answer = client.get(path_of(name))
        b"".join(answer)  # a file that is answered is closed once it was read
        usual = answer.status_code in (200, 405) or name in DOORS | NOT_IN_THE_EXAMPLE | LEADS_ON
        assert usual, f"{name} answers {answer.status_code}"
        if answer.status_code == 200 and answer["Content-Type"].startswith("text/html"):
            shown.append(name)
    return shown


def posting(client: Client) -> list[str]:
    """The names of all addresses that take a POST from the owner, who is signed in."""
    found = []
    for name in names():
        with transaction.atomic():
            if client.post(path_of(name)).status_code != 405:
                found.append(name)
            transaction.set_rollback(True)
    return found


def _arguments(pattern: URLPattern) -> list[tuple[object, ...]]:
    """Records to fill the address with; an address of a new kind wants a line here."""
    return {
        "projects/": lambda: [(Project.objects.earliest("pk").code,)],
        "decals/": lambda: _each(Decal.objects.all(), "stage"),
        "backups/": lambda: [(backups.all_kept()[0].name,)],
        "panels/": lambda: [(Panel.objects.earliest("pk").pk,)],
        "records/of/": lambda: [(Project.objects.earliest("pk").code,)],
        "stores/": lambda: [(Supply.objects.earliest("pk").pk,)],
        "stores/lines/": lambda: [(StockLine.objects.filter(kind="bought").earliest("pk").pk,)],
        "photos/": lambda: [(Photo.objects.earliest("pk").pk,)],
        "pieces/": lambda: _each(Piece.objects.all(), "state"),
        "artwork/": lambda: [(Artwork.objects.filter(measurings__state="done").first().pk,)],
        "sheets/": lambda: _each(Sheet.objects.all(), "is_printed", "is_sealed"),
        "sheets/next/copies/": lambda: QueuedDecal.objects.values_list("decal"),
        "trials/": lambda: Trial.objects.values_list("pk", "rounds__number"),
        "plan/hours/days/": lambda: BenchDay.objects.values_list("pk"),
        "plan/sessions/": _sessions,
        "calendar/": lambda: [("0" * 48,)],
        "drying/rooms/": lambda: _each(Room.objects.all(), "kind"),
        "drying/readings/": lambda: [(Reading.objects.earliest("pk").pk,)],
        "drying/imports/": lambda: _each(ReadingsImport.objects.all(), "state"),
        "drying/rules/": lambda: [(WaitRule.objects.earliest("pk").kind,)],
        "people/": lambda: [(Person.objects.earliest("pk").pk,)],
        "settings/devices/": lambda: [(Device.objects.earliest("pk").pk,)],
        "enter/": lambda: [("no-such-link",)],
    }[str(pattern.pattern).split("<")[0]]()


def _question(name: str) -> str:
    """What an address is asked with: a task of the plan has its name there."""
    if name == "plan-pin":
        return f"?task={_session_with_work()['tasks'][0]['id']}"
    return QUESTIONS.get(name, "")


def _session_with_work() -> dict[str, Any]:
    rows = BenchPlan.objects.made().first().found["sessions"]
    return next(row for row in rows if row["tasks"])


def _sessions() -> list[tuple[object, ...]]:
    """The first session of the plan with work in it."""
    row = _session_with_work()
    person = Person.objects.get(username=row["maker"])
    return [(person.pk, stamp_of(moment_of(row["start"])))]


def _each(records: Iterable[Model], *ways: str) -> list[tuple[object, ...]]:
    """What names one record for each of the ways in which they can stand."""
    stands = {tuple(getattr(record, way) for way in ways): record for record in records}
    return [(getattr(record, "code", record.pk),) for record in stands.values()]
