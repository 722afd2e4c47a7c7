"""The first steps, tried for real: old Pythons, a missing network, a taken port, an end asked for.

The commands run in copies of the checkout, so that nothing here touches its own .venv or records.
"""

import ast
import os
import shutil
import signal
import socket
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.checkout import (
    BASE_PYTHON,
    TOP,
    copy_of_set_up,
    manage,
    surroundings,
)

FIRST_STEPS = ("bootstrap", "environment", "options", "refusal")
STAMPS = ("requirements.txt.installed", "tests-requirements.txt.installed")
NEW_SYNTAX = (
    ast.AnnAssign,
    ast.AsyncFunctionDef,
    ast.JoinedStr,
    ast.Match,
    ast.NamedExpr,
    ast.Nonlocal,
    ast.YieldFrom,
)

in_an_environment = pytest.mark.skipif(
    sys.prefix == sys.base_prefix, reason="the tests run in no virtual environment"
)
posix = pytest.mark.skipif(os.name == "nt", reason="Windows has no SIGTERM to send")


@pytest.fixture
def checkout(tmp_path: Path) -> Path:
    return copy_of_set_up(tmp_path / "checkout")


@pytest.fixture
def listener() -> Iterator[socket.socket]:
    with socket.create_server(("127.0.0.1", 0)) as opened:
        opened.settimeout(60)
        yield opened


def port_of(listener: socket.socket) -> int:
    return int(listener.getsockname()[1])


def assert_refused(result: subprocess.CompletedProcess[str], *words: str) -> None:
    """One line that says why, no traceback, an exit code of 1."""
    last = result.stderr.splitlines()[-1:]
    assert result.returncode == 1, result
    assert "Traceback" not in result.stderr
    assert last and all(word in last[0] for word in words), result.stderr


def old_python(version: str) -> str:
    """A Python of that version on this machine, or a skip."""
    places = [*Path.home().glob(f".pyenv/versions/{version}.*/bin/python")]
    places += [Path(found) for found in [shutil.which(f"python{version}")] if found]
    for place in places:
        answer = subprocess.run([place, "--version"], capture_output=True, text=True, check=False)
        if f"Python {version}." in answer.stdout + answer.stderr:
            return str(place)
    pytest.skip(f"no Python {version} on this machine")


@pytest.mark.parametrize("version", ["2.7", "3.6", "3.8", "3.10"])
def test_it_says_which_python_is_too_old(checkout: Path, version: str) -> None:
    result = manage(checkout, "start", python=old_python(version))
    assert_refused(result, "Python 3.11 or newer is needed; this is " + version)
    assert len(result.stderr.splitlines()) == 1
    assert not (checkout / ".venv").exists()


@pytest.mark.parametrize("name", ["manage.py", *(f"workshop/{each}.py" for each in FIRST_STEPS)])
def test_it_keeps_the_first_steps_to_the_syntax_of_old_pythons(name: str) -> None:
    source = (TOP / name).read_text()
    tree = ast.parse(source)
    assert source.isascii(), "Python 2.7 wants a coding line otherwise"
    assert not [node for node in ast.walk(tree) if isinstance(node, NEW_SYNTAX)]
    for node in ast.walk(tree):
        if isinstance(node, ast.FunctionDef):
            annotated = [each.annotation for each in node.args.args if each.annotation]
            assert not (node.returns or annotated or node.args.kwonlyargs), node.name
        if isinstance(node, ast.Raise):
            assert node.cause is None, f"line {node.lineno}: raise … from"


@pytest.mark.parametrize("name", FIRST_STEPS)
def test_it_imports_only_the_standard_library_at_first(name: str) -> None:
    tree = ast.parse((TOP / "workshop" / f"{name}.py").read_text())
    imported = {
        alias.name.split(".")[0]
        for node in tree.body
        if isinstance(node, ast.Import)
        for alias in node.names
    } | {
        (node.module or "").split(".")[0] for node in tree.body if isinstance(node, ast.ImportFrom)
    }
    assert imported <= set(sys.stdlib_module_names) | {"workshop"}


def test_it_keeps_manage_py_short() -> None:
    assert len((TOP / "manage.py").read_text().splitlines()) <= 15


@pytest.mark.slow
def test_it_makes_the_environment_once_and_again_when_the_requirements_change(
    checkout: Path,
) -> None:
    environment = checkout / ".venv"
    first = manage(checkout, "test", "--version", python=BASE_PYTHON)
    assert "No module named pytest" in first.stderr  # the new, empty environment was used
    assert all((environment / name).exists() for name in STAMPS)

    kept = environment / "kept"
    kept.touch()
    second = manage(checkout, "test", "--version", python=BASE_PYTHON)
    assert "Installing" not in second.stderr
    assert kept.exists()

    (checkout / "requirements.txt").write_text("# nothing either\n")
    third = manage(checkout, "test", "--version", python=BASE_PYTHON)
    assert "Installing" in third.stderr
    assert not kept.exists()


@pytest.mark.slow
def test_it_says_so_when_there_is_no_network(checkout: Path) -> None:
    (checkout / "requirements.txt").write_text("Django~=5.2.0\n")
    with socket.create_server(("127.0.0.1", 0)) as closed:
        nowhere = f"http://127.0.0.1:{port_of(closed)}/"
    result = manage(
        checkout,
        "migrate",
        python=BASE_PYTHON,
        PIP_INDEX_URL=nowhere,
        PIP_CONFIG_FILE=os.devnull,
        PIP_FIND_LINKS="",
        PIP_RETRIES=0,
    )
    assert_refused(result, "requirements.txt", "is there no network?")
    assert not (checkout / ".venv" / STAMPS[0]).exists()


@posix
@pytest.mark.slow
def test_it_counts_an_interrupted_installation_as_none(
    checkout: Path, listener: socket.socket
) -> None:
    (checkout / "requirements.txt").write_text("Django~=5.2.0\n")
    silent = {
        "PIP_INDEX_URL": f"http://127.0.0.1:{port_of(listener)}/",
        "PIP_CONFIG_FILE": os.devnull,
        "PIP_FIND_LINKS": "",
    }
    command = [BASE_PYTHON, str(checkout / "manage.py"), "migrate"]
    with subprocess.Popen(command, env=surroundings(**silent), stderr=subprocess.PIPE) as running:
        asking, _ = listener.accept()  # pip waits for an answer that never comes
        running.send_signal(signal.SIGTERM)
        assert running.wait(timeout=20) == 128 + signal.SIGTERM
    asking.settimeout(20)
    while asking.recv(65536):  # ends once pip is gone
        pass
    asking.close()
    assert not (checkout / ".venv" / STAMPS[0]).exists()


@posix
@pytest.mark.slow
def test_it_lets_one_installation_at_a_time_into_the_environment(checkout: Path) -> None:
    command = [BASE_PYTHON, str(checkout / "manage.py"), "test", "--version"]
    both = [
        subprocess.Popen(command, env=surroundings(), stderr=subprocess.PIPE, text=True)
        for _ in range(2)
    ]
    words = sorted(each.communicate(timeout=120)[1] for each in both)
    assert "Installing" in words[0] and "Waiting" not in words[0]
    assert "Waiting for another installation" in words[1] and "Installing" not in words[1]
    assert all("No module named pytest" in each for each in words)  # both used what was made


def test_it_names_the_debian_package_when_venv_is_missing(checkout: Path, tmp_path: Path) -> None:
    (tmp_path / "ensurepip.py").write_text("raise ImportError('left out by the distribution')\n")
    result = manage(checkout, "start", "--port", 0, python=BASE_PYTHON, PYTHONPATH=tmp_path)
    assert_refused(result, "python3-venv")


@in_an_environment
def test_it_uses_an_active_environment_as_it_is(checkout: Path) -> None:
    result = manage(checkout, "test", "--version")
    assert f"pytest {pytest.__version__}" in result.stdout
    assert not (checkout / ".venv").exists()


@in_an_environment
def test_it_names_what_an_active_environment_lacks(checkout: Path) -> None:
    (checkout / "requirements.txt").write_text("Django~=5.2.0  # there\nabsent-from-here~=1.0\n")
    result = manage(checkout, "migrate")
    assert_refused(result, "absent-from-here", "-m pip install -r", "requirements.txt")
    assert "Django" not in result.stderr


@in_an_environment
def test_it_passes_on_the_arguments_and_the_result_of_the_tests(checkout: Path) -> None:
    (checkout / "tests" / "test_some.py").write_text("def test_a(): pass\ndef test_b(): assert 0\n")
    assert manage(checkout, "test", "-q", "-k", "test_a").returncode == 0
    failed = manage(checkout, "test", "-q")
    assert failed.returncode == 1
    assert "1 failed, 1 passed" in failed.stdout


@pytest.mark.parametrize("port", ["-1", "65536", "http", "80.5", ""])
def test_it_rejects_what_is_no_port(checkout: Path, port: str) -> None:
    result = manage(checkout, "start", "--port=" + port)
    assert result.returncode == 2
    assert "a port is a number from 0 to 65535" in result.stderr


def test_it_says_so_when_the_port_is_taken(checkout: Path, listener: socket.socket) -> None:
    result = manage(checkout, "start", "--port", port_of(listener), python=BASE_PYTHON)
    assert_refused(result, f"Port {port_of(listener)} is taken", "--port")
    assert not (checkout / ".venv").exists()


@pytest.mark.parametrize("command", [["start"], ["migrate"], ["start", "--data"]])
def test_it_says_so_when_the_data_folder_cannot_be_written_to(
    checkout: Path, tmp_path: Path, command: list[str]
) -> None:
    (tmp_path / "file").touch()
    folder = tmp_path / "file" / "data"
    told = {"DECALJOBS_DATA": tmp_path if "--data" in command else folder}
    result = manage(checkout, *command, *([folder] if "--data" in command else []), **told)
    assert_refused(result, str(folder), "cannot be written to", "--data FOLDER")


@posix
def test_it_passes_a_termination_on_and_reports_the_result(tmp_path: Path) -> None:
    child = "import sys, time; print('up', flush=True); time.sleep(60)"
    parent = (
        "import sys; from workshop.bootstrap import hand_over;"
        f"sys.exit(hand_over([sys.executable, '-c', {child!r}]))"
    )
    command = [sys.executable, "-c", parent]
    with subprocess.Popen(command, cwd=TOP, stdout=subprocess.PIPE, text=True) as running:
        assert running.stdout and running.stdout.readline() == "up\n"
        running.send_signal(signal.SIGTERM)
        assert running.wait(timeout=20) == 128 + signal.SIGTERM
        assert running.stdout.read() == ""  # the child is gone, its end of the pipe closed


def test_it_hands_over_the_result_of_the_command() -> None:
    from workshop.bootstrap import hand_over

    before = signal.getsignal(signal.SIGTERM), signal.getsignal(signal.SIGINT)
    try:
        assert hand_over([sys.executable, "-c", "raise SystemExit(7)"]) == 7
    finally:
        signal.signal(signal.SIGTERM, before[0])
        signal.signal(signal.SIGINT, before[1])
