"""The doctor finds what does not agree and says what mends it."""

import os
from datetime import timedelta
from pathlib import Path

import pytest
from django.conf import settings
from django.core.management import CommandError, call_command

from decaljobs.craft.stages import Film
from decaljobs.models import Decal, Piece, StageEvent
from decaljobs.services.demo.loading import load_demo
from decaljobs.services.safekeeping.backups import Occasion, take_into_folder
from decaljobs.services.safekeeping.doctor import look_over, sweep
from tests.factories import EVENING, make_decals, make_person, sealed_sheet

pytestmark = pytest.mark.django_db


@pytest.fixture
def decals():
    decals = make_decals(2)
    maker = make_person()
    for film in Film:
        sealed_sheet(film, decals, maker)
    take_into_folder(Occasion.DAILY, moment=EVENING)
    return decals


def words(moment=EVENING) -> str:
    return " ".join(f"{finding.words} {finding.mend}" for finding in look_over(moment))


@pytest.mark.slow
def test_it_finds_nothing_in_the_example_workshop():
    load_demo(moment=EVENING)
    take_into_folder(Occasion.DAILY, moment=EVENING)
    assert look_over(EVENING) == []


def test_it_finds_a_stage_that_the_log_does_not_tell(decals):
    Decal.objects.filter(pk=decals[0].pk).update(stage="cured")
    assert "is cured, its log says" in words() and "Undo its last step" in words()


def test_it_finds_a_missing_line_of_a_log(decals):
    StageEvent.objects.filter(decal=decals[0]).earliest("number").delete()
    assert "lines are missing in its log" in words()


def test_it_finds_pieces_that_are_not_as_the_log_says(decals):
    Piece.objects.filter(decal=decals[0]).update(state="spoiled")
    assert "pieces are not as its log says" in words()


def test_it_finds_lost_pictures(decals):
    picture = Path(settings.MEDIA_ROOT) / decals[0].artwork.picture.name
    picture.unlink()
    assert f"The file {decals[0].artwork.picture.name} of artwork" in words()


def test_it_finds_and_sweeps_files_that_no_record_names(decals):
    loose = Path(settings.MEDIA_ROOT) / "artwork" / "loose.png"
    loose.write_bytes(b"x")
    two_days_ago = (EVENING - timedelta(days=2)).timestamp()
    assert "no record names" not in words(), "an upload may be under way"
    os.utime(loose, (two_days_ago, two_days_ago))
    assert "doctor --sweep removes them" in words()
    for path in Path(settings.MEDIA_ROOT).rglob("*"):
        os.utime(path, (two_days_ago, two_days_ago))
    assert sweep(EVENING) == 1 and not loose.exists()
    assert look_over(EVENING) == []


def test_it_misses_a_backup(decals):
    assert look_over(EVENING + timedelta(hours=47)) == []
    assert "no backup of the last two days" in words(EVENING + timedelta(hours=49))


def test_the_command_fails_where_something_is_wrong(decals, capsys):
    Decal.objects.filter(pk=decals[0].pk).update(stage="cured")
    with pytest.raises(CommandError, match="want mending"):
        call_command("doctor", "--json")
    assert "its log says" in capsys.readouterr().out
