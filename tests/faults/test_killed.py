"""The plug pulled in the middle of writing: what was acknowledged is there, and nothing is torn."""

import random
import signal
import sqlite3
import subprocess
import sys
import time
from contextlib import closing
from pathlib import Path

import pytest
from django.db.backends.sqlite3._functions import register

from tests.checkout import TOP, manage, started, surroundings

KILLS = 20


@pytest.fixture
def data(tmp_path: Path) -> Path:
    """The data folder of an example workshop."""
    data = tmp_path / "data"
    with started(data, "--demo"):
        pass
    return data


def ask(data: Path, question: str, *values: object) -> list[tuple]:
    with closing(sqlite3.connect(data / "workshop.sqlite3")) as records:
        register(records)  # the functions that Django's constraints ask for
        return records.execute(question, values).fetchall()


def writing(data: Path, decal: int) -> subprocess.Popen[bytes]:
    return subprocess.Popen(
        [sys.executable, "-m", "tests.faults.writer", str(decal)],
        cwd=TOP,
        env=surroundings(DECALJOBS_DATA=data),
        stdout=subprocess.PIPE,
    )


@pytest.mark.slow
def test_no_acknowledged_line_of_a_log_is_lost(data: Path) -> None:
    question = "SELECT id FROM decaljobs_decal WHERE stage = 'sealed' AND build = 'laminated'"
    ((decal,), *_) = ask(data, question)
    chance = random.Random(20)
    for _ in range(KILLS):
        with writing(data, decal) as writer:
            assert writer.stdout is not None
            said = [int(writer.stdout.readline()) for _ in range(chance.randint(1, 5))]
            time.sleep(chance.uniform(0, 0.03))  # in the middle of whatever it is at
            writer.send_signal(signal.SIGKILL)
            said += map(int, writer.stdout.read().split())
        kept = ask(
            data, "SELECT MAX(number), COUNT(*) FROM decaljobs_stageevent WHERE decal_id = ?", decal
        )
        assert kept[0][0] == kept[0][1], "a line is missing in between"
        assert kept[0][0] >= max(said), "an acknowledged line is lost"
        assert ask(data, "PRAGMA integrity_check") == [("ok",)]
    assert manage(TOP, "backup", data / "b.zip", DECALJOBS_DATA=data).returncode == 0
    look = manage(TOP, "doctor", "--json", DECALJOBS_DATA=data)
    assert "log" not in look.stdout, look.stdout


def test_it_serves_again_after_it_was_killed(data: Path, capsys) -> None:
    with started(data) as workshop:
        workshop.process.kill()
        workshop.process.wait()
    before = time.perf_counter()
    with started(data) as again:
        took = time.perf_counter() - before
        assert "damaged" not in again.words
    with capsys.disabled():
        print(f"\nback after a kill: {took:.2f} s")
