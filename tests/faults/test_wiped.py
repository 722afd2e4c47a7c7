"""Backup, wipe, restore by the command line alone: every row and every file is the same again.

The disk is gone with all that was on it; the backup lay elsewhere. One made on SQLite comes up on
PostgreSQL too, and one made there on SQLite again.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import pytest

from tests import postgres
from tests.faults.workshops import Workshop

pytestmark = pytest.mark.slow


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
