"""A colour trial from a terminal."""

import json
from io import StringIO

import numpy as np
import pytest
from django.core.management import CommandError, call_command
from PIL import Image
from pypdfium2 import PdfDocument

from decaljobs.models import TrialRound
from decaljobs.services.trials.rounds import sheet_for
from tests.craft.trialphotos import PAINT, photo_of, the_printer

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


def test_a_whole_trial_from_a_terminal(tmp_path):
    file = tmp_path / "round.pdf"
    new = ("new", "--start", "#1f3a6e", "--name", "Harbour blue", "--printer", "desk printer")
    number = str(run(*new, "--quality", "best", "--colours", "off")["trial"])
    made = []
    for more in ((), ("--material", "paper"), ("--material", "film", "--paper", "Letter")):
        sheet = run("sheet", number, "-o", str(file), *more)
        made.append((sheet["round"], len(sheet["patches"])))
        run("pick", number, "1", "2", "3")
    assert made == [(1, 40), (2, 40), (3, 24)]
    with PdfDocument(file) as pdf:
        # US Letter in points of 1/72 in (ASME Y14.1).
        assert tuple(round(side) for side in pdf[0].get_size()) == (612, 792)
    kept = TrialRound.objects.filter(trial=number).order_by("number")
    assert {one.settings_words for one in kept if one.material == "paper"} == {
        "desk printer, plain paper, best, off"
    }


def test_the_sheet_of_an_open_round_is_written_again_as_it_is(tmp_path):
    file = tmp_path / "round.pdf"
    number = str(run("new", "--start", "#1f3a6e", "--name", "Harbour blue")["trial"])
    assert run("sheet", number, "-o", str(file)) == run("sheet", number, "-o", str(file))
    with pytest.raises(CommandError, match="Round 1 is for printer, plain paper; answer it first"):
        call_command("trial", "sheet", number, "-o", str(file), "--material", "film")
    assert TrialRound.objects.filter(trial=number).count() == 1


def test_each_task_answers_as_json(tmp_path):
    file = tmp_path / "round.pdf"
    begun = run("new", "--start", "#7a8462", "--name", "Moss", "--printer", "desk printer")
    number = str(begun["trial"])
    sheet = run("sheet", number, "-o", str(file))
    assert set(begun) == {"trial", "round", "patches"}
    assert set(sheet) == {"trial", "round", "file", "patches"}
    assert begun["patches"] == sheet["patches"]
    assert set(sheet["patches"][0]) == {"number", "rgb", "box_mm"}
    picked = run("pick", number, "1", "2", "3")
    assert set(picked) == {
        "trial", "round", "next_centre", "expected", "limit", "found", "remarks", "patches",
    }  # fmt: skip


def test_it_reads_a_photo_and_says_the_measured_differences(tmp_path):
    number = run("new", "--start", "#788460", "--name", "Moss")["trial"]
    sheet = sheet_for(TrialRound.objects.get(trial=number))
    file = tmp_path / "photo.jpg"
    file.write_bytes(photo_of(sheet))
    read = run("photo", str(number), str(file))
    apart = [patch["difference"] for patch in read["patches"]]
    truth = the_printer().lab(np.array(sheet.colours, dtype=float)) - PAINT
    near = np.linalg.norm(truth, axis=1) < 12
    # The tolerance is what noise, gloss and printing scatter leave of a patch.
    assert np.abs(np.array(apart)[near] - truth[near]).mean() < 1.5
    assert read["expected"] > 0
    assert read["next_centre"].startswith("#")


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("41", "2", "3"), "patches 1 to 40, not 41"),
        (("0", "2", "3"), "from 1, not 0"),
        (("7", "7", "3"), "three different"),
        (("7", "8", "9", "--off", "lighter", "--off", "darker"), "contradict"),
        (("7", "8", "9", "--off", "redder", "--off", "redder"), "the same"),
    ],
)
def test_it_refuses_picks_that_cannot_hold(words, said):
    number = str(run("new", "--start", "#1f3a6e", "--name", "Harbour blue")["trial"])
    with pytest.raises(CommandError, match=said):
        call_command("trial", "pick", number, *words)
    assert not TrialRound.objects.get(trial=number).is_answered


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("new", "--start", "blue", "--name", "x"), "#rrggbb"),
        (("pick", "99", "1", "2", "3"), "no trial 99"),
        (("photo", "99", "none.jpg"), "no trial 99"),
    ],
)
def test_it_says_what_is_wrong(words, said):
    with pytest.raises(CommandError, match=said):
        call_command("trial", *words)


def test_it_says_that_a_photo_is_not_there(tmp_path):
    number = str(run("new", "--start", "#1f3a6e", "--name", "Harbour blue")["trial"])
    with pytest.raises(CommandError, match="none.jpg"):
        call_command("trial", "photo", number, str(tmp_path / "none.jpg"))


def test_it_refuses_a_photo_of_something_else(tmp_path):
    number = str(run("new", "--start", "#1f3a6e", "--name", "Harbour blue")["trial"])
    file = tmp_path / "note.jpg"
    file.write_bytes(b"not a photo")
    with pytest.raises(CommandError, match="no JPEG"):
        call_command("trial", "photo", number, str(file))


def test_it_says_where_the_picture_of_what_was_found_lies(tmp_path):
    number = str(run("new", "--start", "#1f3a6e", "--name", "Harbour blue")["trial"])
    file = tmp_path / "grey.png"
    Image.new("RGB", (1200, 900), "#808080").save(file)
    with pytest.raises(CommandError, match="square marks were found.*What was found on it: ") as no:
        call_command("trial", "photo", number, str(file))
    with Image.open(str(no.value).rpartition(": ")[2]) as picture:
        assert max(picture.size) == 900
