"""Records of an earlier version: backed up before anything of theirs is changed, or left alone."""

from __future__ import annotations

import time
from collections.abc import Iterator
from pathlib import Path

import pytest

from decaljobs.services.safekeeping.backup_file import read_contents
from tests import postgres
from tests.checkout import TOP, manage, started
from tests.faults.workshops import Workshop

pytestmark = pytest.mark.slow
EARLIER = "0017"
PATIENCE = 120.0  # seconds
STATE = """
from django.db.migrations.recorder import MigrationRecorder
print(MigrationRecorder.Migration.objects.filter(app="decaljobs").latest("name").name)
"""


@pytest.fixture(params=["sqlite", "postgresql"])
def earlier(request, tmp_path: Path) -> Iterator[Workshop]:
    """The example workshop as an earlier version kept it."""
    if request.param == "sqlite":
        yield _taken_back(Workshop(tmp_path / "data"))
        return
    if postgres.programs() is None:
        pytest.skip("no PostgreSQL server (Debian's package postgresql)")
    with postgres.server() as server:
        yield _taken_back(Workshop(tmp_path / "data", server))


def _taken_back(workshop: Workshop) -> Workshop:
    workshop.run("migrate", "-v0")
    workshop.run("load_demo")
    workshop.run("migrate", "-v0", "decaljobs", EARLIER)
    return workshop


def start_words(workshop: Workshop) -> str:
    command = ("start", "--no-browser", "--port", 0, "--data", workshop.folder)
    run = manage(TOP, *command, **workshop.settings)
    assert run.returncode == 1
    return run.stderr


def test_they_are_backed_up_brought_up_to_date_and_the_day_has_its_backup(earlier: Workshop):
    home = earlier.folder / "backups"
    if home.is_dir():
        home.rmdir()
    home.write_text("no folder")  # as where nothing can be written
    assert "not brought up to date without" in start_words(earlier)
    assert earlier.run("shell", "-v0", "-c", STATE).startswith(EARLIER), "left alone"
    home.unlink()
    with started(earlier.folder, "--processes", "1", **_database(earlier)) as workshop:
        assert "Backed up to" in workshop.words and "Bringing the records" in workshop.words
        _wait_for(home, "daily-*.zip")
    (first,) = home.glob("before-update-*.zip")
    assert len(read_contents(first).files) > 10
    after = earlier.rows()
    with started(earlier.folder, "--processes", "1", **_database(earlier)) as workshop:
        assert "Backed up" not in workshop.words
    assert list(home.glob("before-update-*.zip")) == [first]
    earlier.run("restore", first)  # a backup of an earlier version is brought up to date as well
    assert earlier.rows() == after


def _database(workshop: Workshop) -> dict[str, str]:
    return {name: value for name, value in workshop.settings.items() if name == "DATABASE_URL"}


def _wait_for(folder: Path, names: str) -> None:
    end = time.monotonic() + PATIENCE
    while not list(folder.glob(names)):
        assert time.monotonic() < end, f"no {names}"
        time.sleep(0.05)
