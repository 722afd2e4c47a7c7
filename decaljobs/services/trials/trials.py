"""Colour trials: begun, printed round by round, answered by eye or photo, kept as a recipe."""

from __future__ import annotations

import uuid
from collections.abc import Sequence
from dataclasses import asdict, replace
from datetime import datetime

from django.db import transaction
from django.db.models import QuerySet

from decaljobs.craft.colour import format_hex, parse_hex
from decaljobs.craft.colourtrial import (
    first_round,
    forecast,
    next_round,
    photo_answer,
)
from decaljobs.craft.photo.found_marks import found_picture
from decaljobs.craft.photo.load import Photo, PhotoRefused, load_photo
from decaljobs.craft.trial.eye import EyeAnswer
from decaljobs.craft.trial.photo import read_photo
from decaljobs.craft.trial.records import PhotoAnswer, Prediction, PrintSettings, Round
from decaljobs.models import Person, Recipe, Trial, TrialRound
from decaljobs.services.files import atomic_with_files, drop_file, keep_file
from decaljobs.services.refused import Overtaken, Refused, as_sentence
from decaljobs.services.trials.rounds import as_round, is_answered, rounds_of, sheet_for


@transaction.atomic
def begin_trial(
    *, paint: str, start: str, settings: PrintSettings, by: Person | None, moment: datetime
) -> Trial:
    """A trial with its first round, 40 patches round the first guess '#rrggbb'."""
    trial = Trial.objects.create(paint=paint, start=start, by=by, begun_at=moment)
    _keep_round(trial, first_round(parse_hex(start), settings), moment)
    return trial


@transaction.atomic
def print_next(*, trial: int, settings: PrintSettings, moment: datetime) -> TrialRound:
    """The next round, once the last one is answered. Raises Refused."""
    found = _lock(trial)
    _refuse_kept(found)
    rounds = rounds_of(found)
    if not is_answered(rounds[-1]):
        raise Refused(f"Round {rounds[-1].number} is not answered yet.")
    try:
        return _keep_round(found, next_round(rounds, settings), moment)
    except ValueError as error:
        raise Refused(as_sentence(error)) from error


@transaction.atomic
def answer_by_eye(
    *,
    trial: int,
    number: int,
    picks: Sequence[int],
    off: Sequence[str],
    by: Person | None,
    moment: datetime,
) -> Prediction:
    """Keep the maker's best three patches of the last round. Raises Refused or Overtaken.

    The eye has the last word: it may also judge a round that a photo answered.
    """
    found = _lock(trial)
    _refuse_kept(found)
    last = _last_round(found, number)
    if last.picks:
        raise Overtaken(f"Round {number} is answered already.")
    try:
        answer = EyeAnswer(tuple(picks), tuple(off))
        rounds = [*rounds_of(found)[:-1], replace(as_round(last), eye=answer)]
        ahead = forecast(rounds)
    except ValueError as error:
        raise Refused(as_sentence(error)) from error
    last.picks, last.off = list(picks), list(off)
    return _keep_answer(last, ahead, by, moment)


def answer_by_photo(
    *, trial: int, number: int, data: bytes, by: Person | None, moment: datetime
) -> Prediction:
    """Read a photo of the last round's sheet. Raises Refused or Overtaken.

    A photo that gives no answer is kept small on its round, with what was found on it.
    """
    last = _open_round(_find(Trial.objects.all(), trial), number)
    photo = None
    try:
        photo = load_photo(data)
        reading = read_photo(photo, sheet_for(last))
    except PhotoRefused as refusal:
        _keep_refused(last, photo, refusal)
        raise Refused(as_sentence(refusal)) from refusal
    return _keep_photo(trial, number, photo_answer(reading), by, moment)


@transaction.atomic
def _keep_photo(
    trial: int, number: int, photo: PhotoAnswer, by: Person | None, moment: datetime
) -> Prediction:
    found = _lock(trial)
    last = _open_round(found, number)
    ahead = forecast([*rounds_of(found)[:-1], replace(as_round(last), photo=photo)])
    last.photo = asdict(photo)
    return _keep_answer(last, ahead, by, moment)


@atomic_with_files()
def _keep_refused(last: TrialRound, photo: Photo | None, refusal: PhotoRefused) -> None:
    """Keep the picture of what was found, in place of the one before."""
    _drop_refused(last)
    if photo is not None:
        keep_file(last.refused, f"{uuid.uuid4().hex}.jpg", found_picture(photo, refusal.found))
    last.save(update_fields=["refused"])


def _drop_refused(last: TrialRound) -> None:
    """Take the refused photo's picture off the round, with its file."""
    drop_file(last.refused)
    last.refused = ""


@transaction.atomic
def take_back_answer(*, trial: int, number: int) -> None:
    """Open the last round again, to be judged anew. Raises Refused."""
    found = _lock(trial)
    last = found.rounds.order_by("-number").first()
    if last is None or last.number != number or not last.is_answered:
        raise Refused("Only the answer to the last round can be taken back.")
    _refuse_kept(found)
    last.picks, last.off, last.photo, last.expected = [], [], None, None
    last.answered_at = last.answered_by = None
    last.save()


@transaction.atomic
def keep_recipe(*, trial: int, by: Person | None, moment: datetime) -> Recipe:
    """Keep where the trial has come to on film as the recipe of its paint. Raises Refused."""
    found = _lock(trial)
    rounds = rounds_of(found)
    last = rounds[-1]
    _refuse_kept(found)
    if not is_answered(last):
        raise Refused(f"Round {last.number} is not answered yet.")
    if last.settings.material != "film":
        raise Refused("Film shifts the colour: a match on paper is never final. Print a strip.")
    if last.eye is None:
        raise Refused("A photo is a start, the eye has the last word: judge this strip by eye.")
    ahead = forecast(rounds)
    return Recipe.objects.create(
        trial=found,
        colour=format_hex(ahead.rgb),
        printer=last.settings.printer,
        material=last.settings.material,
        expected=ahead.expected,
        limit=ahead.limit,
        kept_at=moment,
        by=by,
    )


def _lock(pk: int) -> Trial:
    return _find(Trial.objects.select_for_update(), pk)


def _find(trials: QuerySet[Trial], pk: int) -> Trial:
    trial = trials.filter(pk=pk).first()
    if trial is None:
        raise Refused("This trial is no longer there.")
    return trial


def _refuse_kept(trial: Trial) -> None:
    if Recipe.objects.filter(trial=trial).exists():
        raise Refused("The recipe of this trial is kept already.")


def _last_round(trial: Trial, number: int) -> TrialRound:
    last = trial.rounds.order_by("-number").first()
    if last is None or last.number != number:
        raise Overtaken(f"Round {number} is not the last one any more.")
    return last


def _open_round(trial: Trial, number: int) -> TrialRound:
    last = _last_round(trial, number)
    if last.is_answered:
        raise Overtaken(f"Round {number} is answered already.")
    return last


def _keep_round(trial: Trial, one: Round, moment: datetime) -> TrialRound:
    return TrialRound.objects.create(
        trial=trial,
        number=one.number,
        printer=one.settings.printer,
        material=one.settings.material,
        quality=one.settings.quality,
        colour_settings=one.settings.colours,
        centre=list(one.centre),
        radius=one.radius,
        colours=[format_hex(colour) for colour in one.colours],
        made_at=moment,
    )


def _keep_answer(
    last: TrialRound, ahead: Prediction, by: Person | None, moment: datetime
) -> Prediction:
    last.expected = round(ahead.expected, 3)
    last.answered_at, last.answered_by = moment, by
    _drop_refused(last)
    last.save()
    return ahead
