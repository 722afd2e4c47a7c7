"""Files of readings: all saved or nothing, twice is once, and a death is noticed."""

from datetime import timedelta

import pytest
import time_machine
from django.db import connection

from decaljobs.craft import textfile
from decaljobs.models import ImportState, Reading, ReadingsImport, Room
from decaljobs.services.drying import imports, readings
from decaljobs.services.drying.rooms import add_reading
from decaljobs.services.refused import Refused
from tests.factories import EVENING

pytestmark = pytest.mark.django_db

GOOD = b"time,t,rh\n" + b"".join(b"2026-11-01 10:%02d,20.%d,50\n" % (m, m % 10) for m in range(60))
BAD = GOOD + b"2026-11-01 11:00,-300,50\n2026-11-01 11:01,20,140\n"


@pytest.fixture(autouse=True)
def _at_once(settings):
    settings.WORK_BEHIND = "page"
    with time_machine.travel(EVENING, tick=False):
        yield


def kept(maker, data, name="log.csv"):
    room = Room.objects.get(is_default=True)
    return imports.keep_upload(room=room, by=maker, moment=EVENING, name=name, data=data)


def read(found):
    imports.begin_reading(
        pk=found.pk, layout=imports.layout_of(found), zone="Europe/London", moment=EVENING
    )
    found.refresh_from_db()
    return found


def test_a_clean_file_is_saved_at_once(maker, settings, django_capture_on_commit_callbacks):
    with django_capture_on_commit_callbacks(execute=True):
        found = read(kept(maker, GOOD))
    assert found.state == ImportState.SAVED
    assert (found.found["new"], Reading.objects.count()) == (60, 60)
    room = Room.objects.get(is_default=True)
    assert (room.read_until - room.read_from) == 59
    assert not [f for f in (settings.MEDIA_ROOT / "imports").glob("*") if f.is_file()]


def test_nothing_of_a_file_with_bad_lines_is_saved_before_the_maker_agrees(maker):
    found = read(kept(maker, BAD))
    assert (found.state, Reading.objects.count()) == (ImportState.READ, 0)
    assert [line for line, _ in found.bad_lines] == [62, 63]
    imports.begin_saving(pk=found.pk, moment=EVENING)
    found.refresh_from_db()
    assert (found.state, Reading.objects.count()) == (ImportState.SAVED, 60)


def test_a_file_left_out_leaves_nothing(maker):
    found = read(kept(maker, BAD))
    imports.leave_out(pk=found.pk)
    found.refresh_from_db()
    assert (found.state, Reading.objects.count()) == (ImportState.DROPPED, 0)
    with pytest.raises(Refused, match="left out already"):
        imports.begin_saving(pk=found.pk, moment=EVENING)


def test_the_same_file_twice_adds_nothing(maker):
    read(kept(maker, GOOD))
    again = read(kept(maker, GOOD))
    assert (again.found["new"], again.found["known"]) == (0, 60)
    assert Reading.objects.count() == 60


def test_the_work_may_be_run_twice(maker):
    found = read(kept(maker, GOOD))
    imports.read_file(found.pk)
    imports.save_file(found.pk)
    assert Reading.objects.count() == 60


def test_readings_that_differ_from_the_records_are_bad_lines_and_the_records_stay(maker):
    room = Room.objects.get(is_default=True)
    at = EVENING.replace(day=1, hour=10, minute=5)
    add_reading(room=room.pk, at=at, temperature=15.0, humidity=60.0, moment=EVENING)
    found = read(kept(maker, GOOD))
    assert found.state == ImportState.READ
    assert found.bad_lines == [[7, "the records have 15 °C and 60 % RH for that minute"]]
    imports.begin_saving(pk=found.pk, moment=EVENING)
    assert Reading.objects.get(temperature=15.0).humidity == 60
    assert Reading.objects.count() == 60


def test_a_failure_while_saving_saves_nothing_and_says_so(maker, monkeypatch):
    found = kept(maker, GOOD)

    def break_off(*args, **fields):
        readings.keep_readings(**{**fields})
        raise RuntimeError("the power went")

    monkeypatch.setattr(imports, "save", lambda compared, room: break_off(
        room=room.pk,
        minutes=compared.readings.minutes,
        temperatures=compared.readings.temperatures,
        humidities=compared.readings.humidities,
    ))  # fmt: skip
    with pytest.raises(RuntimeError):
        read(found)
    found.refresh_from_db()
    assert (found.state, Reading.objects.count()) == (ImportState.FAILED, 0)
    assert "nothing was saved" in found.message


def test_work_whose_process_died_is_marked_as_failed(maker):
    found = kept(maker, GOOD)
    ReadingsImport.objects.filter(pk=found.pk).update(state=ImportState.READING, beat_at=EVENING)
    found.refresh_from_db()
    soon = imports.tend(found, EVENING + timedelta(seconds=30))
    assert soon.state == ImportState.READING
    late = imports.tend(found, EVENING + timedelta(minutes=5))
    assert (late.state, Reading.objects.count()) == (ImportState.FAILED, 0)


@pytest.mark.parametrize(
    ("data", "said"),
    [
        (b"", "empty"),
        (b"\0" * 400, "NUL bytes"),
        (b"20.5\n20.6\n", "No line of the first sixty"),
        (b"x" * (imports.LARGEST + 1), "larger than 24 MB"),
    ],
)
def test_a_file_that_cannot_be_read_is_refused_with_the_reason(maker, data, said):
    with pytest.raises(Refused, match=said):
        kept(maker, data)
    assert not ReadingsImport.objects.exists()


def test_a_word_is_said_about_a_foreign_encoding(maker):
    data = "time,t °C,rh\n2026-11-01 10:00,20,50\n".encode("cp1252")
    found = read(kept(maker, data))
    assert "Windows-1252" in found.found["note"]


def test_the_summary_tells_repeats_and_disorder(maker):
    lines = [b"2026-11-01 10:02,20,50", b"2026-11-01 10:00,20,50", b"2026-11-01 10:02,20,50"]
    found = read(kept(maker, b"\n".join(lines)))
    assert found.state == ImportState.SAVED
    assert (found.found["repeats"], found.found["unordered"]) == (1, 1)


def test_nobody_waits_while_a_file_is_looked_at(maker, monkeypatch):
    seen = []

    def decode(data):
        seen.append(len(connection.savepoint_ids))
        return textfile.decode(data)

    monkeypatch.setattr(imports, "decode", decode)
    monkeypatch.setattr(imports, "read_file", lambda pk: None)
    outside = len(connection.savepoint_ids)
    read(kept(maker, GOOD))
    assert seen == [outside] * 2


def test_a_file_whose_record_is_not_kept_is_gone(maker, monkeypatch, settings):
    def fails(self, *args, **kwargs):
        raise RuntimeError

    monkeypatch.setattr(ReadingsImport, "save", fails)
    with pytest.raises(RuntimeError):
        kept(maker, GOOD)
    assert not [f for f in settings.MEDIA_ROOT.rglob("*") if f.is_file()]


def test_a_file_that_is_gone_is_asked_for_again(maker):
    found = kept(maker, GOOD)
    found.file.storage.delete(found.file.name)
    with pytest.raises(Refused, match="upload it again"):
        read(found)
