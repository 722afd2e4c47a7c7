"""The processes beside the one that was started: they answer too, come again, and go with it."""

import os
import time
import urllib.request
from collections.abc import Callable
from pathlib import Path

import pytest

from tests.checkout import Started, started

pytestmark = pytest.mark.skipif(
    not Path("/proc/self/stat").exists(), reason="the system does not list its processes in /proc"
)
PATIENCE = 60  # seconds; a process that starts on a busy machine


def children(workshop: Started) -> list[int]:
    """The page servers that were started by this one."""
    found = []
    for folder in Path("/proc").glob("[0-9]*"):
        try:
            parent = int((folder / "stat").read_text().rpartition(")")[2].split()[1])
            words = (folder / "cmdline").read_bytes()
        except (FileNotFoundError, ProcessLookupError):  # it has just ended
            continue
        if parent == workshop.process.pid and b"workshop.beside" in words:
            found.append(int(folder.name))
    return found


def wait_until(so: Callable[[], object], what: str) -> None:
    end = time.monotonic() + PATIENCE
    while not so():
        assert time.monotonic() < end, what
        time.sleep(0.05)


def answered_by(process: int, workshop: Started) -> bool:
    """Whether this process answers when the one that was started does not."""
    try:
        with urllib.request.urlopen(workshop.site + "/health", timeout=PATIENCE) as answer:  # noqa: S310
            return answer.status == 200 and is_there(process)
    except OSError:
        return False


def is_there(process: int) -> bool:
    try:
        return "Z" not in Path(f"/proc/{process}/stat").read_text().rpartition(")")[2].split()[0]
    except FileNotFoundError:
        return False


@pytest.mark.slow
def test_another_process_answers_comes_again_and_goes_with_the_first(tmp_path: Path) -> None:
    with started(tmp_path / "data", "--processes", "2") as workshop:
        wait_until(lambda: len(children(workshop)) == 1, "no process beside the first")
        (one,) = children(workshop)
        os.kill(one, 9)
        wait_until(lambda: children(workshop) not in ([], [one]), "none came again")
        (other,) = children(workshop)
        stop = 19  # the first one stands still, so that only the other can answer
        os.kill(workshop.process.pid, stop)
        wait_until(lambda: answered_by(other, workshop), "the other does not answer")
        workshop.process.kill()
        workshop.process.wait()
        wait_until(lambda: not is_there(other), "it outlives the first")
    assert other != one and not is_there(one) and children(workshop) == []


@pytest.mark.parametrize("number", ["0", "-1", "17", "two", "1e1"])
def test_it_refuses_a_number_of_processes_that_makes_no_sense(number, tmp_path: Path) -> None:
    with (
        pytest.raises(AssertionError, match="a number from 1 to 16"),
        started(tmp_path / "data", "--processes", number),
    ):
        pass
