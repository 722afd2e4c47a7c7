"""A copy of the checkout to start for real, and the ways to run manage.py in it."""

import os
import shutil
import subprocess
import sys
from pathlib import Path

TOP = Path(__file__).resolve().parent.parent
BASE_PYTHON = getattr(sys, "_base_executable", sys.executable)
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


def copy_of_program(folder: Path) -> Path:
    """The set-up and the whole program."""
    copy_of_set_up(folder)
    for part in ("decaljobs", "templates", "static"):
        shutil.copytree(TOP / part, folder / part, ignore=_leftovers)
    for name in ("requirements.txt", "tests/requirements.txt"):
        shutil.copy(TOP / name, folder / name)
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
        timeout=120,
        check=False,
    )
