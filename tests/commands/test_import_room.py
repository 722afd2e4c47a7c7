"""Readings brought in from a terminal."""

import io
import json

import pytest
import time_machine
from django.core.management import CommandError, call_command

from decaljobs.models import Reading
from tests.factories import EVENING

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def _this_evening():
    with time_machine.travel(EVENING, tick=False):
        yield


@pytest.fixture
def file(tmp_path):
    def written(text):
        path = tmp_path / "log.csv"
        path.write_text(text, encoding="utf-8")
        return path

    return written


def run(path, *options, room="Workshop"):
    out = io.StringIO()
    call_command("import_room", str(path), "--room", room, *options, stdout=out)
    return out.getvalue()


def test_it_saves_a_clean_file(file):
    said = run(file("time,t,rh\n2026-11-01 10:00,20,50\n2026-11-01 10:01,20,51\n"))
    assert "2 new readings, 0 known, 0 repeated, 0 bad." in said
    assert Reading.objects.count() == 2


def test_it_saves_nothing_of_a_file_with_bad_lines_unless_told(file):
    path = file("2026-11-01 10:00,20,50\n2026-11-01 10:01,-300,51\n")
    with pytest.raises(CommandError, match="Nothing is saved"):
        run(path)
    assert not Reading.objects.exists()
    said = run(path, "--yes")
    assert "Line 2: the temperature is -300 °C" in said
    assert Reading.objects.count() == 1


def test_it_answers_as_json(file):
    told = json.loads(run(file("2026-11-01 10:00,20,50\n"), "--json"))
    assert (told["saved"], told["new"], told["bad"]) == (True, 1, [])


def test_it_takes_the_layout_from_its_options(file):
    path = file("a;20,5;x;01.11.2026 10:00;51\n")
    options = ["--separator", "semicolon", "--decimal", "comma", "--columns", "4,2,5"]
    run(path, *options, "--times", "day", "--zone", "UTC")
    kept = Reading.objects.get()
    assert (kept.temperature, kept.humidity) == (20.5, 51)


@pytest.mark.parametrize(
    ("options", "said"),
    [
        (["--columns", "1,2"], "are no columns"),
        (["--zone", "Atlantis"], "is no time zone"),
    ],
)
def test_it_refuses_a_layout_that_makes_no_sense(file, options, said):
    with pytest.raises(CommandError, match=said):
        run(file("2026-11-01 10:00,20,50\n"), *options)


def test_it_names_the_rooms_there_are(file):
    with pytest.raises(CommandError, match="there are ‘Workshop’"):
        run(file("2026-11-01 10:00,20,50\n"), room="Attic")


def test_it_says_in_a_line_that_a_file_is_not_there(tmp_path):
    with pytest.raises(CommandError, match="cannot be read"):
        run(tmp_path / "none.csv")
