"""The colour trial of the example workshop: two rounds on paper, a strip on film, a recipe."""

from __future__ import annotations

from datetime import datetime, timedelta

import numpy as np

from decaljobs.craft.colour import ciede2000, lab_from_srgb, parse_hex
from decaljobs.craft.trialrecords import PrintSettings
from decaljobs.models import Person, Trial, TrialRound
from decaljobs.services import trials
from decaljobs.services.demo_scenes import TRIAL_PAINT, TRIAL_SEEN, TRIAL_START

PRINTER = "desk inkjet"
PAPER, FILM = PrintSettings(PRINTER, "paper", "fine"), PrintSettings(PRINTER, "film", "fine")


def load_trial(*, maker: Person, moment: datetime) -> None:
    """Make the trial, its answers those of an eye that compares with the paint."""
    trial = trials.begin_trial(
        paint=TRIAL_PAINT, start=TRIAL_START, settings=PAPER, by=maker, moment=moment
    )
    Trial.objects.filter(pk=trial.pk).update(example=True)
    for settings in (PAPER, FILM):
        moment += timedelta(hours=20)
        _answer(trial, maker, moment)
        trials.print_next(trial=trial.pk, settings=settings, moment=moment)
    _answer(trial, maker, moment + timedelta(hours=20))
    trials.keep_recipe(trial=trial.pk, by=maker, moment=moment + timedelta(hours=20))


def _answer(trial: Trial, maker: Person, moment: datetime) -> None:
    last = trial.rounds.latest("number")
    trials.answer_by_eye(
        trial=trial.pk,
        number=last.number,
        picks=_nearest(last),
        off=[],
        by=maker,
        moment=moment,
    )


def _nearest(kept: TrialRound) -> list[int]:
    colours = np.array([parse_hex(colour) for colour in kept.colours], dtype=float)
    seen = lab_from_srgb(np.array(parse_hex(TRIAL_SEEN), dtype=float))
    order = np.argsort(ciede2000(lab_from_srgb(colours), seen))
    return [int(place) + 1 for place in order[:3]]
