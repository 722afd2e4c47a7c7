"""Which worker is gone is known by its number and by when it began."""

import os
import subprocess
import sys

import pytest

from workshop.working import born, is_gone, prefix, worker_name

pytestmark = pytest.mark.skipif(os.name == "nt", reason="Windows has one worker, minded by one")


@pytest.fixture
def another():
    """A process of another program."""
    command = [sys.executable, "-c", "input()"]
    with subprocess.Popen(command, stdin=subprocess.PIPE) as process:
        yield process
        process.kill()


def test_a_worker_that_runs_is_not_gone(another):
    assert not is_gone(f"{prefix()}{another.pid}-{born(another.pid)}")


def test_a_worker_that_ended_is_gone(another):
    name = f"{prefix()}{another.pid}-{born(another.pid)}"
    another.kill()
    another.wait()
    assert is_gone(name)


def test_a_worker_that_ended_is_gone_also_while_nobody_asked_how_it_ended(another):
    name = f"{prefix()}{another.pid}-{born(another.pid)}"
    if not born(another.pid):
        pytest.skip("the system does not say when a process began")
    another.kill()
    os.waitid(os.P_PID, another.pid, os.WEXITED | os.WNOWAIT)
    assert is_gone(name)


def test_whoever_came_by_its_number_later_is_not_the_worker(another):
    """As after a pulled plug: the machine is started anew and gives the same numbers again."""
    if not born(another.pid):
        pytest.skip("the system does not say when a process began")
    assert is_gone(f"{prefix()}{another.pid}-1")


def test_what_this_worker_left_by_its_own_name_is_left_indeed():
    assert is_gone(worker_name())


def test_of_a_worker_elsewhere_nothing_is_known():
    assert not is_gone("00000000-1-1")


@pytest.mark.parametrize("server_lives", [True, False])
def test_a_process_beside_the_server_ends_without_complaint(server_lives):
    """By itself while the server's end of the pipe is open, or because that is closed."""
    program = (
        "import threading, time\n"
        "from workshop.working import end_with_the_server\n"
        "threading.Thread(target=end_with_the_server, daemon=True).start()\n"
        f"time.sleep({0.3 if server_lives else 60})\n"
    )
    with subprocess.Popen(
        [sys.executable, "-c", program], stdin=subprocess.PIPE, stderr=subprocess.PIPE, text=True
    ) as process:
        if not server_lives:
            process.stdin.close()
        complaint = process.stderr.read()
    assert (process.returncode, complaint) == (0, "")
