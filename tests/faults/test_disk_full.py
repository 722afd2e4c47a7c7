"""A disk that is full: that is said, reading goes on, and afterwards all is well."""

import os
import subprocess
import urllib.error
import urllib.request
from collections.abc import Iterator
from pathlib import Path
from urllib.parse import urlencode

import pytest

from tests.checkout import TOP, manage, started
from tests.three_processes import Browser

SIZE_MB = 24


@pytest.fixture
def small_disk(tmp_path: Path) -> Iterator[Path]:
    """A disk of a few megabytes, in memory."""
    disk = tmp_path / "disk"
    disk.mkdir()
    command = ["mount", "-t", "tmpfs", "-o", f"size={SIZE_MB}m", "tmpfs", str(disk)]
    if os.name == "nt" or subprocess.run(command, check=False, capture_output=True).returncode:
        pytest.skip("a disk of a few megabytes can be made by root on Linux alone")
    try:
        yield disk
    finally:
        subprocess.run(["umount", "--lazy", str(disk)], check=True)


def fill_up(disk: Path) -> Path:
    """A file that takes all there is left."""
    filler = disk / "filler"
    with filler.open("wb", buffering=0) as opened:
        for size in (65536, 4096, 1):
            try:
                while True:
                    opened.write(bytes(size))
            except OSError:
                continue
    return filler


def made(browser: Browser, number: int) -> int:
    """What a form that keeps something is answered with."""
    try:
        browser.post("/projects/new/", name=f"Tug {number}", scale="1:72", weight="1", **MATT)
    except urllib.error.HTTPError as error:
        with error:
            words = error.read().decode()
            assert "Traceback" not in words
            assert error.code != 507 or "full" in words
            return error.code
    return 200


def until_full(browser: Browser) -> list[int]:
    """What form after form is answered with, to the first that found no room.

    The file of what was written last has room for some hundreds, made before the disk was filled.
    """
    answers = [made(browser, 1)]
    while answers[-1] == 200 and len(answers) < 600:
        answers.append(made(browser, len(answers) + 1))
    return answers


MATT = {"finish": "matt", "body_colour": "#223344"}


@pytest.mark.slow
def test_a_full_disk_is_told_of_and_reading_goes_on(small_disk: Path) -> None:
    data = small_disk / "data"
    with started(data, "--demo", "--processes", "1") as workshop:
        browser = Browser(workshop.site)
        browser.get(workshop.link.removeprefix(workshop.site))
        assert made(browser, 0) == 200
        filler = fill_up(small_disk)
        answers = until_full(browser)
        assert set(answers) <= {200, 507}, answers
        assert answers[-1] == 507, "the disk was never full"
        for page in ("/", "/projects/", "/sheets/", "/drying/"):
            assert browser.get(page), page
        filler.unlink()
        assert made(browser, 999) == 200
        for kept_before_and_after in ("Tug 0", "Tug 999"):
            found = browser.get("/projects/?" + urlencode({"q": kept_before_and_after}))
            assert f">{kept_before_and_after}<" in found
        kept = answers.count(200)
    look = manage(TOP, "shell", "-v0", "-c", COUNT, DECALJOBS_DATA=data)
    assert look.stdout.split() == ["ok", str(kept + 2)], look.stderr


COUNT = """
from django.db import connection
from decaljobs.models import Project
with connection.cursor() as cursor:
    cursor.execute("PRAGMA integrity_check")
    print(cursor.fetchone()[0])
print(Project.objects.filter(name__startswith="Tug ").count())
"""
