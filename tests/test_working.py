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
