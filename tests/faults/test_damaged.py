"""Damaged records are not served; the last good backup brings the workshop back."""

import os
from pathlib import Path

import pytest

from tests.checkout import TOP, manage, started

GOOD = "by-hand-2030-01-01T00-00-00.zip"


@pytest.fixture
def data(tmp_path: Path) -> Path:
    """The data folder of an example workshop with a backup, its database overwritten in part."""
    data = tmp_path / "data"
    with started(data, "--demo"):
        pass
    (data / "backups").mkdir(exist_ok=True)
    run = manage(TOP, "backup", data / "backups" / GOOD, DECALJOBS_DATA=data)
    assert run.returncode == 0, run.stderr
    file = data / "workshop.sqlite3"
    with file.open("r+b") as records:
        records.seek(4096 * 3)
        records.write(os.urandom(4096 * 20))
    return data


def test_it_refuses_to_start_and_names_the_backup_that_mends_it(data: Path) -> None:
    refused = manage(TOP, "start", "--no-browser", "--port", 0, "--data", data)
    assert refused.returncode == 1
    assert "are damaged" in refused.stderr and "Traceback" not in refused.stderr
    good = data / "backups" / GOOD
    assert f"restore {good}" in refused.stderr
    mended = manage(TOP, "restore", good, DECALJOBS_DATA=data)
    assert mended.returncode == 0, mended.stderr
    assert "damaged-" in mended.stdout, "what was there is kept as it was"
    with started(data) as workshop:
        assert "Bringing" not in workshop.words
    well = manage(TOP, "doctor", DECALJOBS_DATA=data)
    assert well.returncode == 0, well.stdout + well.stderr
