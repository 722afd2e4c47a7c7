"""Records of every earlier version come up to this one with nothing lost."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

import pytest
from django.db import connection, connections
from django.db.migrations.executor import MigrationExecutor
from django.db.migrations.loader import MigrationLoader

from decaljobs.models import Person, Project
from decaljobs.services.demo.loading import load_demo
from decaljobs.services.safekeeping.row_copy import bring_up_to_date, copy_rows, open_file
from tests.attacks.conftest import records
from tests.factories import EVENING, make_person

APP, FIRST_ROOM = "decaljobs", "0004_first_room"
pytestmark = pytest.mark.django_db


def states() -> list[str]:
    """Every state that the records have ever been in, the newest first."""
    loader = MigrationLoader(None)
    return sorted((name for app, name in loader.disk_migrations if app == APP), reverse=True)


def counts(file: Path) -> dict[str, int]:
    """How many rows each table of ours has."""
    with closing(sqlite3.connect(file)) as opened:
        listed = opened.execute("SELECT name FROM sqlite_master WHERE type = 'table'")
        ours = [name for (name,) in listed if name.startswith(f"{APP}_")]
        return {
            name: opened.execute(f"SELECT COUNT(*) FROM {name}").fetchone()[0]  # noqa: S608
            for name in ours
        }


def forget_moves(file: Path) -> None:
    """Nothing can have moved between rooms before there were any."""
    with closing(sqlite3.connect(file)) as opened:
        for table in ("stageevent", "sheetevent"):
            opened.execute(f"DELETE FROM {APP}_{table} WHERE kind = 'moved'")  # noqa: S608
        opened.commit()


def earlier(file: Path) -> Iterator[str]:
    """Take the file back state by state; at each, its name."""
    for state in states():
        if state < FIRST_ROOM:
            forget_moves(file)
        with open_file(file) as alias:
            MigrationExecutor(connections[alias]).migrate([(APP, state)])
        yield state


@pytest.mark.slow
@pytest.mark.skipif(
    connection.vendor != "sqlite",
    reason="it takes an SQLite file back through the states, whichever database is in use",
)
def test_records_of_every_earlier_state_come_up_with_their_counts_kept(tmp_path):
    load_demo(moment=EVENING)
    file, now = tmp_path / "records.sqlite3", tmp_path / "now.sqlite3"
    with open_file(file) as alias:
        bring_up_to_date(alias)
        copy_rows(source="default", target=alias)
    whole = counts(file)
    assert sum(whole.values()) > 300
    tried = 0
    for state in earlier(file):
        before = counts(file)
        assert before["decaljobs_decal"] == whole["decaljobs_decal"] > 0, state
        now.write_bytes(file.read_bytes())
        with open_file(now) as alias:
            bring_up_to_date(alias)
        after = counts(now)
        lost = {name: (rows, after.get(name, 0)) for name, rows in before.items()}
        # What was empty may be filled by a step on the way: the first room, the first rules.
        changed = {name: each for name, each in lost.items() if each[0] and each[0] != each[1]}
        assert changed == {}, state
        tried += 1
    assert tried == len(states()) >= 17


def test_bringing_another_database_up_to_date_leaves_this_one_alone(tmp_path):
    make_person(username="mara")
    load_demo(moment=EVENING)
    before = records()
    with open_file(tmp_path / "other.sqlite3") as alias:
        bring_up_to_date(alias)
        assert not Person.objects.using(alias).exists()
        assert not Project.objects.using(alias).exists()
    assert records() == before
