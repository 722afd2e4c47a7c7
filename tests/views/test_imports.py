"""A file of readings, from the upload to the records."""

import pytest
import time_machine
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from decaljobs.models import ImportState, Reading, ReadingsImport, Room
from tests.factories import EVENING

pytestmark = pytest.mark.django_db
LINES = "When;Temp;RH\n01.11.2026 10:00;20,5;50\n01.11.2026 10:01;20,6;51\n"
LAYOUT = {
    "separator": ";",
    "decimal": ",",
    "time_column": "0",
    "clock_column": "",
    "temperature_column": "1",
    "humidity_column": "2",
    "time_format": "day",
    "zone": "Europe/London",
    "first_line": "2",
}


@pytest.fixture(autouse=True)
def _at_once(settings):
    settings.WORK_BEHIND = "page"
    with time_machine.travel(EVENING, tick=False):
        yield


@pytest.fixture
def room():
    return Room.objects.get(is_default=True)


def upload(client, room, text=LINES, name="logger.csv"):
    data = text if isinstance(text, bytes) else text.encode()
    url = reverse("room-import", args=[room.pk])
    return client.post(url, {"file": SimpleUploadedFile(name, data)}, follow=True)


def go_on(client, what, **fields):
    found = ReadingsImport.objects.get()
    return client.post(reverse(f"import-{what}", args=[found.pk]), fields, follow=True)


def test_the_preview_shows_the_first_lines_as_they_are_read(signed_in, room):
    answer = upload(signed_in, room)
    shown = answer.context["lines"]
    assert [line.number for line in shown] == [1, 2, 3]
    assert shown[0].is_head
    assert (shown[1].temperature, shown[1].humidity) == (20.5, 50)
    initial = answer.context["form"].initial
    assert (initial["separator"], initial["decimal"], initial["time_format"]) == (";", ",", "day")
    assert not Reading.objects.exists()


def test_a_clean_file_goes_in(signed_in, room):
    upload(signed_in, room)
    page = go_on(signed_in, "read", **LAYOUT).content.decode()
    assert Reading.objects.count() == 2
    assert "Saved" in page


def test_the_lines_are_shown_anew_under_another_layout(signed_in, room):
    upload(signed_in, room)
    answer = go_on(signed_in, "read", **LAYOUT | {"time_format": "month"}, show="yes")
    assert answer.context["lines"][1].at.month == 1
    assert ReadingsImport.objects.get().state == ImportState.UPLOADED
    answer = go_on(signed_in, "read", **LAYOUT | {"temperature_column": "0"}, show="yes")
    assert "is no number" in answer.context["lines"][1].reason


def test_bad_lines_are_listed_and_wait_for_a_word(signed_in, room):
    upload(signed_in, room, LINES + "01.11.2026 10:02;-300;50\n")
    page = go_on(signed_in, "read", **LAYOUT).content.decode()
    assert "1 line cannot be taken" in page
    assert "Line 4" in page
    assert "the temperature is -300 °C" in page
    assert not Reading.objects.exists()
    page = go_on(signed_in, "save").content.decode()
    assert Reading.objects.count() == 2


def test_a_file_can_be_left_out(signed_in, room):
    upload(signed_in, room)
    go_on(signed_in, "drop")
    assert ReadingsImport.objects.get().state == ImportState.DROPPED
    assert not Reading.objects.exists()


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("separator", "x"),
        ("zone", ""),
        ("first_line", "0"),
        ("time_column", "77"),
        ("time_format", "moon"),
    ],
)
def test_a_layout_that_makes_no_sense_is_answered_beside_its_field(signed_in, room, field, value):
    upload(signed_in, room)
    answer = go_on(signed_in, "read", **LAYOUT | {field: value})
    assert answer.status_code == 422
    assert list(answer.context["form"].errors) == [field]


@pytest.mark.parametrize("zone", ["Atlantis", "../etc", "x" * 60])
def test_a_zone_that_is_not_known_is_refused_beside_its_field(signed_in, room, zone):
    upload(signed_in, room)
    answer = go_on(signed_in, "read", **LAYOUT | {"zone": zone, "first_line": "3"})
    assert answer.context["form"].errors["zone"] == [
        f"‘{zone}’ is no time zone: write Europe/London or UTC."
    ]
    assert 'name="first_line" value="3"' in answer.content.decode()


@pytest.mark.parametrize(
    ("data", "said"),
    [
        (b"", "The file is empty."),
        (b"\0" * 100, "full of NUL bytes"),
        (b"20\n21\n", "No line of the first sixty"),
        ("a,b".encode("utf-16")[:5], "in the middle of a character"),
    ],
)
def test_a_file_that_is_no_file_of_readings_is_refused(signed_in, room, data, said):
    assert said in upload(signed_in, room, data).content.decode()
    assert not ReadingsImport.objects.exists()


def test_the_progress_is_asked_for_while_it_is_read(signed_in, room):
    upload(signed_in, room)
    ReadingsImport.objects.update(
        state=ImportState.READING, beat_at=EVENING, rows_all=100, rows_done=40
    )
    url = ReadingsImport.objects.get().get_absolute_url()
    page = signed_in.get(url).content.decode()
    assert 'hx-trigger="every 1s"' in page
    assert '<progress class="import-progress" max="100" value="40"' in page
    assert '<noscript><meta http-equiv="refresh"' in page
    part = signed_in.get(url, headers={"HX-Request": "true"}).content.decode()
    assert "<html" not in part


def test_a_name_with_markup_is_shown_as_typed(signed_in, room):
    page = upload(signed_in, room, name="<script>alert(1)</script>.csv").content.decode()
    assert "<script>alert" not in page


def test_onlookers_bring_nothing_in(client, onlooker, room):
    client.force_login(onlooker)
    assert upload(client, room).status_code == 403
