"""Backups made to do harm: refused before anything is touched, the live data as it was."""

import hashlib
import json
import sqlite3
import stat
import zipfile
from contextlib import closing
from pathlib import Path

import pytest
from django.conf import settings

from decaljobs.services.safekeeping.backup_file import CONTENTS, RECORDS, BackupRefused
from decaljobs.services.safekeeping.backups import all_kept
from decaljobs.services.safekeeping.restoring import restore
from tests.backups import back_up_two_decals, everything
from tests.factories import EVENING

pytestmark = pytest.mark.django_db(transaction=True, serialized_rollback=True)


@pytest.fixture
def kept(tmp_path, owner):
    """A good backup of two decals on a sealed sheet."""
    return back_up_two_decals(tmp_path, owner)


def rewritten(source: Path, target: Path, change) -> Path:
    """A backup with its list of contents and its files changed by a function of both."""
    with zipfile.ZipFile(source) as packed:
        files = {name: packed.read(name) for name in packed.namelist()}
    contents = json.loads(files.pop(CONTENTS))
    with zipfile.ZipFile(target, "w") as packed:
        change(contents, files, packed)
        for name, data in files.items():
            packed.writestr(name, data)
        packed.writestr(CONTENTS, json.dumps(contents))
    return target


def list_again(contents: dict, files: dict[str, bytes]) -> None:
    """Sizes and checksums as the files are now."""
    contents["files"] = [
        {"name": name, "bytes": len(data), "sha256": hashlib.sha256(data).hexdigest()}
        for name, data in files.items()
    ]


def _sneaked(name):
    def change(contents, files, packed):
        files[name] = b"x"
        list_again(contents, files)

    return change


def _unlisted(contents, files, packed):
    files["media/more.png"] = b"x"


def _lying(contents, files, packed):
    contents["files"][0]["sha256"] = "0" * 64


def _link(contents, files, packed):
    entry = zipfile.ZipInfo("media/link")
    entry.external_attr = (stat.S_IFLNK | 0o777) << 16
    packed.writestr(entry, "/etc/passwd")
    list_again(contents, files | {"media/link": b"/etc/passwd"})


def _bomb(contents, files, packed):
    zeros = b"\0" * 30_000_000
    packed.writestr("media/zeros.png", zeros, zipfile.ZIP_DEFLATED)
    list_again(contents, files | {"media/zeros.png": zeros})


def _cut_short(contents, files, packed):
    files[RECORDS] = files[RECORDS][: len(files[RECORDS]) // 2]
    list_again(contents, files)


def _records_made_by(*statements):
    def change(contents, files, packed):
        work = Path(settings.MEDIA_ROOT).parent / "made.sqlite3"
        work.write_bytes(files[RECORDS])
        with closing(sqlite3.connect(work)) as file:
            for statement in statements:
                file.execute(statement)
            file.commit()
        files[RECORDS] = work.read_bytes()
        list_again(contents, files)

    return change


def _another_program(contents, files, packed):
    work = Path(settings.MEDIA_ROOT).parent / "another.sqlite3"
    with closing(sqlite3.connect(work)) as file:
        file.execute("CREATE TABLE songs (title TEXT)")
        file.commit()
    files[RECORDS] = work.read_bytes()
    list_again(contents, files)


def _no_format(contents, files, packed):
    contents["what"] = "songs"


def _newer_format(contents, files, packed):
    contents["format"] = 2


BAD = {
    "a name that climbs out": (_sneaked("media/../../evil"), "name of another kind"),
    "a name from the root": (_sneaked("/etc/cron.d/evil"), "name of another kind"),
    "a name with a drive": (_sneaked("media/C:evil"), "name of another kind"),
    "a name with a backslash": (_sneaked("media/..\\evil"), "name of another kind"),
    "a file that is no picture": (_sneaked("settings.py"), "name of another kind"),
    "a file that is not listed": (_unlisted, "does not hold the files"),
    "a link": (_link, "name of another kind"),
    "a bomb": (_bomb, "more than it says"),
    "a wrong checksum": (_lying, "damaged"),
    "half the records": (_cut_short, "damaged"),
    "another program's records": (_another_program, "not this program's"),
    "a trigger": (
        _records_made_by("CREATE TRIGGER t AFTER INSERT ON decaljobs_project BEGIN SELECT 1; END"),
        "not this program's",
    ),
    "a step from the future": (
        _records_made_by(
            "INSERT INTO django_migrations (app, name, applied) "
            "VALUES ('decaljobs', '9999_later', '2030-01-01')"
        ),
        "newer version",
    ),
    "decals of no project": (
        _records_made_by("UPDATE decaljobs_decal SET project_id = 99999999"),
        "damaged",
    ),
    "another kind of zip": (_no_format, "no backup"),
    "a later format": (_newer_format, "newer version"),
}


@pytest.mark.parametrize("kind", BAD)
def test_it_refuses_and_leaves_the_live_data_alone(kind, kept, tmp_path):
    change, words = BAD[kind]
    before = everything()
    bad = rewritten(kept, tmp_path / "bad.zip", change)
    with pytest.raises(BackupRefused, match=words):
        restore(bad, moment=EVENING)
    assert everything() == before
    assert not list(Path(settings.MEDIA_ROOT).parent.glob("restoring-*"))
    assert not all_kept()


def test_it_refuses_what_is_no_zip(tmp_path, kept):
    for data in (b"", b"PK\3\4 hello", kept.read_bytes()[:-500]):
        (tmp_path / "x.zip").write_bytes(data)
        with pytest.raises(BackupRefused, match="no backup"):
            restore(tmp_path / "x.zip", moment=EVENING)
    with pytest.raises(BackupRefused, match="no backup"):
        restore(tmp_path / "missing.zip", moment=EVENING)
