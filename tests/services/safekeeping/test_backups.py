"""A backup holds all and opens nothing; a restore checks first and keeps what was there."""

import hashlib
import shutil
import sqlite3
import threading
import zipfile
from datetime import timedelta

import pytest
from django.conf import settings
from django.contrib.sessions.models import Session
from django.core.management import CommandError, call_command
from django.db import connection

from decaljobs.models import EnterLink, Project, StageEvent, StockLine
from decaljobs.services.demo.loading import load_demo
from decaljobs.services.people.people import make_enter_link
from decaljobs.services.safekeeping.backup_file import (
    RECORDS,
    BackupRefused,
    read_contents,
)
from decaljobs.services.safekeeping.backups import (
    KEPT,
    Occasion,
    all_kept,
    daily_is_due,
    find_kept,
    take_backup,
    take_into_folder,
)
from decaljobs.services.safekeeping.restoring import restore
from tests.backups import back_up_two_decals, everything
from tests.factories import EVENING, make_project

pytestmark = pytest.mark.django_db(transaction=True, serialized_rollback=True)


@pytest.fixture
def workshop(tmp_path, owner):
    """Two decals on a sealed sheet, and a backup of all."""
    return back_up_two_decals(tmp_path, owner)


@pytest.mark.slow
def test_it_brings_back_every_row_and_every_picture(tmp_path):
    load_demo(moment=EVENING)
    take_backup(tmp_path / "kept.zip", moment=EVENING)
    before = everything()
    assert len(before["files"]) > 3 and before["decaljobs.StageEvent"]
    call_command("flush", interactive=False, verbosity=0)
    shutil.rmtree(settings.MEDIA_ROOT)
    contents, _ = restore(tmp_path / "kept.zip", moment=EVENING + timedelta(hours=1))
    assert everything() == before
    assert contents.made_at == EVENING


def test_it_keeps_what_was_there_before(workshop):
    make_project(name="Begun after the backup")
    _, old = restore(workshop, moment=EVENING + timedelta(hours=1))
    assert not Project.objects.filter(name="Begun after the backup").exists()
    restore(old, moment=EVENING + timedelta(hours=2))
    assert Project.objects.filter(name="Begun after the backup").exists()


def test_new_records_get_numbers_after_the_restored_ones(workshop):
    last = Project.objects.latest("pk").pk
    restore(workshop, moment=EVENING)
    assert make_project(name="After it").pk > last


def test_a_backup_lets_nobody_in(tmp_path, client, owner):
    client.force_login(owner)
    key = client.session.session_key
    path = make_enter_link(person=owner, moment=EVENING)
    take_backup(tmp_path / "b.zip", moment=EVENING)
    with zipfile.ZipFile(tmp_path / "b.zip") as packed:
        records = packed.read(RECORDS)
    assert key.encode() not in records
    assert hashlib.sha256(path.split("/")[2].encode()).hexdigest().encode() not in records
    assert owner.username.encode() in records
    restore(tmp_path / "b.zip", moment=EVENING)
    assert not Session.objects.exists() and not EnterLink.objects.exists()


def test_it_is_whole_while_others_write(tmp_path, workshop):
    stop = threading.Event()

    def write():
        for number in range(10_000):
            if stop.is_set():
                break
            make_project(name=f"P{number}")
        connection.close()

    writer = threading.Thread(target=write)
    writer.start()
    try:
        for number in range(3):
            take_backup(tmp_path / f"{number}.zip", moment=EVENING)
    finally:
        stop.set()
        writer.join()
    counts = []
    for number in range(3):
        restore(tmp_path / f"{number}.zip", moment=EVENING + timedelta(seconds=number))
        counts.append(Project.objects.count())
    assert counts == sorted(counts) and counts[0] >= 1


def test_a_broken_off_backup_leaves_no_file(tmp_path, workshop, monkeypatch):
    def full(*args, **kwargs):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("decaljobs.services.safekeeping.backup_file._copy", full)
    with pytest.raises(BackupRefused, match="No space left"):
        take_backup(tmp_path / "new.zip", moment=EVENING)
    assert not list(tmp_path.glob("new.zip*"))


def test_it_writes_over_no_file(tmp_path, workshop):
    with pytest.raises(BackupRefused, match="already"):
        take_backup(workshop, moment=EVENING)
    read_contents(workshop)


def test_seven_of_each_automatic_kind_are_kept(db):
    for day in range(KEPT + 3):
        take_into_folder(Occasion.DAILY, moment=EVENING + timedelta(days=day))
        take_into_folder(Occasion.BEFORE_RESTORE, moment=EVENING + timedelta(days=day))
    kept = all_kept()
    daily = [each.made_at for each in kept if each.occasion == Occasion.DAILY]
    assert len(daily) == KEPT and max(daily) - min(daily) == timedelta(days=KEPT - 1)
    assert len(kept) == KEPT + KEPT + 3


def test_a_day_has_one_daily_backup_whatever_the_clock_does(db):
    assert daily_is_due(EVENING)
    take_into_folder(Occasion.DAILY, moment=EVENING)
    assert not daily_is_due(EVENING) and not daily_is_due(EVENING - timedelta(hours=1))
    assert daily_is_due(EVENING + timedelta(days=1))


def test_it_finds_no_file_outside_its_folder(db, tmp_path):
    (tmp_path / "daily-2026-01-01T00-00-00.zip").write_bytes(b"")
    assert find_kept("../daily-2026-01-01T00-00-00.zip") is None


def test_the_pictures_come_back_if_the_records_cannot_follow(workshop, monkeypatch):
    before = everything()

    def stumble(records):
        raise sqlite3.OperationalError("disk I/O error")

    monkeypatch.setattr("decaljobs.services.safekeeping.restoring.put_records", stumble)
    with pytest.raises(sqlite3.OperationalError):
        restore(workshop, moment=EVENING)
    assert everything() == before


@pytest.mark.slow
def test_the_commands_say_what_they_did(tmp_path, db, capsys):
    load_demo(moment=EVENING)
    call_command("backup", tmp_path / "own.zip")
    events = StageEvent.objects.count()
    StockLine.objects.all().delete()
    StageEvent.objects.all().delete()
    call_command("restore", tmp_path / "own.zip")
    said = capsys.readouterr().out
    assert "own.zip" in said and "Restored" in said and "before-restore" in said
    assert StageEvent.objects.count() == events
    with pytest.raises(CommandError, match="Nothing is changed"):
        call_command("restore", tmp_path / "none.zip")
