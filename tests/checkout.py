"""A copy of the checkout to start for real, and the ways to run manage.py in it."""

import os
import re
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

TOP = Path(__file__).resolve().parent.parent
BASE_PYTHON = getattr(sys, "_base_executable", sys.executable)
#: Seconds that a new database takes at most on a busy machine.
PATIENCE = 180
STEERING = ("DECALJOBS_", "DJANGO_", "PYTEST_", "VIRTUAL_ENV", "PYTHONPATH")


def copy_of_set_up(folder: Path) -> Path:
    """The files that the first steps need and no more: no program, no package to install."""
    folder.mkdir(exist_ok=True)
    shutil.copy(TOP / "manage.py", folder)
    shutil.copytree(TOP / "workshop", folder / "workshop", ignore=_leftovers)
    (folder / "requirements.txt").write_text("# nothing\n")
    (folder / "tests").mkdir()
    (folder / "tests" / "requirements.txt").write_text("-r ../requirements.txt\n")
    return folder


def _leftovers(folder: str, names: list[str]) -> set[str]:
    return {name for name in names if name == "__pycache__"}


def surroundings(**settings: object) -> dict[str, str]:
    """The environment variables of a fresh terminal, and those given."""
    kept = {name: value for name, value in os.environ.items() if not name.startswith(STEERING)}
    return kept | {name: str(value) for name, value in settings.items()}


def manage(
    checkout: Path, *arguments: object, python: str = sys.executable, **settings: object
) -> subprocess.CompletedProcess[str]:
    """One command of manage.py, run to its end."""
    return subprocess.run(
        [python, str(checkout / "manage.py"), *map(str, arguments)],
        env=surroundings(**settings),
        cwd=checkout,
        capture_output=True,
        text=True,
        timeout=600,
        check=False,
    )


@dataclass
class Started:
    """A workshop being served from this checkout, and the file of all it says."""

    process: subprocess.Popen[bytes]
    log: Path

    @property
    def words(self) -> str:
        return self.log.read_text()

    @property
    def link(self) -> str:
        found = re.search(r"http://127\.0\.0\.1:\d+/\S+", self.words)
        assert found, self.words
        return found.group()

    @property
    def port(self) -> int:
        return int(self.link.split(":")[2].split("/")[0])

    @property
    def site(self) -> str:
        return f"http://127.0.0.1:{self.port}"


@contextmanager
def started(
    data: Path, *arguments: str, patience: float = PATIENCE, **settings: object
) -> Iterator[Started]:
    """`start` on a free port with the records in that folder; killed at the end if still there.

    patience: seconds until it must serve, for as long as its process lives.
    """
    command = [sys.executable, str(TOP / "manage.py"), "start", "--no-browser"]
    command += ["--port", "0", "--data", str(data), *arguments]
    handle, name = tempfile.mkstemp(prefix=f"{data.name}-", suffix=".log", dir=data.parent)
    with (
        os.fdopen(handle, "wb") as opened,
        subprocess.Popen(
            command, env=surroundings(**settings), stdout=opened, stderr=subprocess.STDOUT
        ) as process,
    ):
        log = Path(name)
        try:
            yield _ready(Started(process, log), patience)
        finally:
            process.kill()


def _ready(workshop: Started, patience: float) -> Started:
    """The workshop once it serves."""
    end = time.monotonic() + patience
    while "Ctrl-C stops" not in workshop.words:
        gone = workshop.process.poll() is not None
        assert not gone and time.monotonic() < end, f"it did not start: {workshop.words}"
        time.sleep(0.02)
    return workshop
