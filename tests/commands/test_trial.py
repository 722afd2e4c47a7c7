"""A colour trial from a terminal."""

import json
from io import StringIO

import pytest
from django.core.management import CommandError, call_command
from pypdfium2 import PdfDocument

pytestmark = pytest.mark.django_db


def run(*words: str) -> dict:
    said = StringIO()
    call_command("trial", *words, "--json", stdout=said)
    return json.loads(said.getvalue())


def test_it_begins_prints_and_takes_picks(tmp_path):
    begun = run("new", "--start", "#1f3a6e", "--name", "Harbour blue")
    assert (begun["round"], len(begun["patches"])) == (1, 40)
    assert all(len(patch["box_mm"]) == 4 for patch in begun["patches"])
    assert min(patch["box_mm"][2] for patch in begun["patches"]) >= 12
    number = str(begun["trial"])
    file = tmp_path / "round.pdf"
    run("sheet", number, "-o", str(file))
    with PdfDocument(file) as pdf:
        assert len(pdf) == 1
    picked = run("pick", number, "7", "12", "31", "--off", "lighter")
    assert picked["next_centre"].startswith("#")
    assert picked["expected"] > 0


@pytest.mark.parametrize(
    "words",
    [
        ("new", "--start", "blue", "--name", "x"),
        ("pick", "99", "1", "2", "3"),
        ("photo", "99", "none.jpg"),
    ],
)
def test_it_says_what_is_wrong(words):
    with pytest.raises(CommandError):
        call_command("trial", *words)


def test_it_refuses_a_photo_of_something_else(tmp_path):
    number = str(run("new", "--start", "#1f3a6e", "--name", "Harbour blue")["trial"])
    file = tmp_path / "note.jpg"
    file.write_bytes(b"not a photo")
    with pytest.raises(CommandError, match="no JPEG"):
        call_command("trial", "photo", number, str(file))
