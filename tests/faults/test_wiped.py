"""Backup, wipe, restore by the command line alone: every row and every file is the same again.

The disk is gone with all that was on it; the backup lay elsewhere. One made on SQLite comes up on
PostgreSQL too, and one made there on SQLite again.
"""

from __future__ import annotations

import hashlib
import json
import shutil
from dataclasses import dataclass
from pathlib import Path

import pytest

from tests import postgres
from tests.checkout import TOP, manage

pytestmark = pytest.mark.slow
#: What lets somebody in, or answers a form sent twice: left out of every backup on purpose.
LEFT_OUT = {"Device", "EnterLink", "KeptAnswer"}
#: Each kind of record with how many there are and a checksum of all their values.
ROWS = """
import hashlib, json, re
from django.apps import apps
found = {}
for kind in apps.get_app_config("decaljobs").get_models(include_auto_created=True):
    values = kind._base_manager.order_by("pk").values_list()
    # PostgreSQL keeps the keys inside a value in an order of its own, and knows no -0.
    rows = "\\n".join(json.dumps(row, sort_keys=True, default=str) for row in values)
    whole = hashlib.sha256(re.sub(r"-0\\.0\\b", "0.0", rows).encode()).hexdigest()
    found[kind.__name__] = [len(values), whole]
print(json.dumps(found))
"""


class Workshop:
    """Records in one kind of database and files in a folder, reached by commands alone."""

    def __init__(self, folder: Path, server: postgres.Server | None = None) -> None:
        self.folder, self.server = folder, server
        self.settings = {"DECALJOBS_DATA": folder}
        if server is not None:
            self.settings["DATABASE_URL"] = server.address

    def run(self, *command: object) -> str:
        done = manage(TOP, *command, **self.settings)
        assert done.returncode == 0, done.stdout + done.stderr
        return done.stdout

    def rows(self) -> dict[str, list]:
        found = json.loads(self.run("shell", "-v0", "-c", ROWS))
        return {kind: each for kind, each in found.items() if kind not in LEFT_OUT}

    def files(self) -> dict[str, str]:
        media = self.folder / "media"
        return {
            path.relative_to(media).as_posix(): hashlib.sha256(path.read_bytes()).hexdigest()
            for path in media.rglob("*")
            if path.is_file()
        }

    def wipe(self) -> None:
        """Nothing is left of it."""
        shutil.rmtree(self.folder)
        if self.server is not None:
            self.server.empty()
        assert not self.folder.exists()


@dataclass(frozen=True)
class Kept:
    """A backup that lies elsewhere, and all that was there when it was made."""

    path: Path
    rows: dict[str, list]
    files: dict[str, str]

    def is_again(self, workshop: Workshop) -> bool:
        """Compared kind by kind, so that a failure names what is not the same."""
        assert workshop.rows() == self.rows
        assert workshop.files() == self.files
        return True


@pytest.fixture(scope="module")
def wiped(tmp_path_factory: pytest.TempPathFactory) -> Kept:
    """The example workshop on SQLite, backed up and then wiped."""
    home = tmp_path_factory.mktemp("wiped")
    workshop = Workshop(home / "data")
    workshop.run("migrate", "-v0")
    workshop.run("load_demo")
    rows, files = workshop.rows(), workshop.files()
    assert sum(number > 0 for number, _ in rows.values()) > 25, "too few kinds to tell much"
    assert len(files) > 10
    workshop.run("backup", home / "kept.zip")
    workshop.wipe()
    return Kept(home / "kept.zip", rows, files)


def test_a_workshop_that_was_wiped_comes_back_whole(wiped: Kept, tmp_path: Path) -> None:
    workshop = Workshop(tmp_path / "data")
    assert "Restored" in workshop.run("restore", wiped.path)
    assert wiped.is_again(workshop)


@pytest.mark.skipif(
    postgres.programs() is None, reason="no PostgreSQL server (Debian's package postgresql)"
)
def test_so_does_one_on_postgresql_and_the_way_back_is_open(wiped: Kept, tmp_path: Path) -> None:
    with postgres.server() as server:
        club, own = Workshop(tmp_path / "club", server), tmp_path / "own.zip"
        club.run("restore", wiped.path)
        assert wiped.is_again(club)
        club.run("backup", own)
        club.wipe()
        club.run("restore", own)
        assert wiped.is_again(club)
    alone = Workshop(tmp_path / "alone")
    alone.run("restore", own)
    assert wiped.is_again(alone)
