"""Colour trials: a maker's eye, simulated, is led to the paint, and the answers are kept."""

import io

import numpy as np
import pytest
from PIL import Image

from decaljobs.craft.colour import ciede2000, format_hex, lab_from_srgb, parse_hex
from decaljobs.craft.trial.records import PrintSettings
from decaljobs.models import Recipe, TrialRound
from decaljobs.services.refused import Overtaken, Refused
from decaljobs.services.trials import trials
from decaljobs.services.trials.rounds import rounds_of, sheet_for
from tests.craft.trialphotos import photo_of
from tests.factories import EVENING

PAPER, FILM = PrintSettings("desk printer"), PrintSettings("desk printer", "film")
PAINT = "#27456b"


@pytest.fixture
def trial(maker):
    return trials.begin_trial(
        paint="Harbour blue", start="#1f3a6e", settings=PAPER, by=maker, moment=EVENING
    )


def nearest(kept: TrialRound) -> list[int]:
    """The three patches that an honest eye would name: CIEDE2000 to the paint."""
    colours = np.array([parse_hex(colour) for colour in kept.colours], dtype=float)
    off = ciede2000(lab_from_srgb(colours), lab_from_srgb(np.array(parse_hex(PAINT))))
    return [int(place) + 1 for place in np.argsort(off)[:3]]


def answer(trial, maker, **fields):
    last = trial.rounds.latest("number")
    start = {"picks": nearest(last), "off": [], "number": last.number}
    return trials.answer_by_eye(trial=trial.pk, by=maker, moment=EVENING, **{**start, **fields})


def test_two_rounds_on_paper_and_a_strip_on_film_end_in_a_recipe(trial, maker):
    answer(trial, maker)
    trials.print_next(trial=trial.pk, settings=PAPER, moment=EVENING)
    answer(trial, maker)
    strip = trials.print_next(trial=trial.pk, settings=FILM, moment=EVENING)
    assert len(strip.colours) == 24
    answer(trial, maker)
    recipe = trials.keep_recipe(trial=trial.pk, by=maker, moment=EVENING)
    # The printer here prints what it is told, so the recipe is the paint: a good match by hand
    # is under 2 (common practice, no source).
    off = ciede2000(
        lab_from_srgb(np.array(parse_hex(recipe.colour))), lab_from_srgb(np.array(parse_hex(PAINT)))
    )
    assert float(off) < 2
    assert (recipe.printer, recipe.material) == ("desk printer", "film")


def test_a_match_on_paper_is_never_final(trial, maker):
    answer(trial, maker)
    with pytest.raises(Refused, match="never final"):
        trials.keep_recipe(trial=trial.pk, by=maker, moment=EVENING)


@pytest.mark.parametrize(
    ("picks", "off", "said"),
    [
        ([1, 1, 2], [], "three different"),
        ([1, 2, 41], [], "patches 1 to 40"),
        ([0, 1, 2], [], "numbered from 1"),
        ([1, 2], [], "best three"),
        ([1, 2, 3], ["lighter", "darker"], "contradict"),
        ([1, 2, 3], ["shinier"], "shinier"),
    ],
)
def test_it_refuses_an_answer_that_makes_no_sense(trial, maker, picks, off, said):
    with pytest.raises(Refused, match=said):
        answer(trial, maker, picks=picks, off=off)
    assert not trial.rounds.get().is_answered


def test_it_refuses_the_next_round_before_an_answer(trial):
    with pytest.raises(Refused, match="Round 1 is not answered"):
        trials.print_next(trial=trial.pk, settings=PAPER, moment=EVENING)


def test_the_second_of_two_makers_is_told(trial, maker):
    answer(trial, maker)
    with pytest.raises(Overtaken, match="answered already"):
        answer(trial, maker)


def test_an_answer_can_be_taken_back_until_the_recipe_is_kept(trial, maker):
    answer(trial, maker)
    trials.take_back_answer(trial=trial.pk, number=1)
    assert not trial.rounds.get().is_answered
    answer(trial, maker)
    trials.print_next(trial=trial.pk, settings=FILM, moment=EVENING)
    answer(trial, maker)
    trials.keep_recipe(trial=trial.pk, by=maker, moment=EVENING)
    with pytest.raises(Refused, match="kept already"):
        trials.take_back_answer(trial=trial.pk, number=2)
    assert Recipe.objects.count() == 1


def by_photo(trial, maker):
    last = trial.rounds.latest("number")
    data = photo_of(sheet_for(last))
    return trials.answer_by_photo(
        trial=trial.pk, number=last.number, data=data, by=maker, moment=EVENING
    )


def test_the_eye_has_the_last_word_over_a_photo(trial, maker):
    answer(trial, maker)
    trials.print_next(trial=trial.pk, settings=FILM, moment=EVENING)
    ahead = by_photo(trial, maker)
    assert ahead.by == "photo"
    with pytest.raises(Refused, match="the eye has the last word"):
        trials.keep_recipe(trial=trial.pk, by=maker, moment=EVENING)
    with pytest.raises(Overtaken, match="answered already"):
        by_photo(trial, maker)
    ahead = answer(trial, maker, picks=[1, 2, 3])
    assert ahead.by == "eye"
    last = rounds_of(trial)[-1]
    assert (last.eye.picks, len(last.photo.good)) == ((1, 2, 3), 24)
    recipe = trials.keep_recipe(trial=trial.pk, by=maker, moment=EVENING)
    assert recipe.colour == format_hex(ahead.rgb)


@pytest.mark.django_db(transaction=True, serialized_rollback=True)
def test_a_photo_is_read_before_anything_is_locked(maker):
    # PostgreSQL locks rows in a transaction only; the photo takes seconds and is read outside it.
    trial = trials.begin_trial(
        paint="Moss", start="#788460", settings=PAPER, by=maker, moment=EVENING
    )
    assert by_photo(trial, maker).by == "photo"


def test_the_picture_of_a_refused_photo_goes_with_its_answer(
    trial, maker, django_capture_on_commit_callbacks
):
    shown = []
    for _ in range(2):
        with (
            django_capture_on_commit_callbacks(execute=True),
            pytest.raises(Refused, match="square marks"),
        ):
            refuse(trial, maker)
        shown.append(trial.rounds.get().refused)
    first, second = shown
    assert not first.storage.exists(first.name)
    assert second.storage.exists(second.name)
    with django_capture_on_commit_callbacks(execute=True):
        answer(trial, maker)
    assert not second.storage.exists(second.name)
    assert not trial.rounds.get().refused


def refuse(trial, maker):
    kept = io.BytesIO()
    Image.new("RGB", (1200, 900), "#808080").save(kept, "JPEG")
    return trials.answer_by_photo(
        trial=trial.pk, number=1, data=kept.getvalue(), by=maker, moment=EVENING
    )


@pytest.mark.slow
def test_it_makes_no_round_after_the_recipe(trial, maker):
    answer(trial, maker)
    trials.print_next(trial=trial.pk, settings=FILM, moment=EVENING)
    answer(trial, maker)
    trials.keep_recipe(trial=trial.pk, by=maker, moment=EVENING)
    with pytest.raises(Refused, match="kept already"):
        trials.print_next(trial=trial.pk, settings=FILM, moment=EVENING)


def test_changed_settings_are_said_and_not_pooled(trial, maker):
    answer(trial, maker)
    other = PrintSettings("desk printer", quality="draft")
    trials.print_next(trial=trial.pk, settings=other, moment=EVENING)
    ahead = answer(trial, maker)
    assert any("other print settings" in remark for remark in ahead.remarks)
