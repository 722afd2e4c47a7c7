"""The colour trials of the example workshop: one that ended in a recipe, one still open."""

from __future__ import annotations

from datetime import datetime, timedelta

import numpy as np

from decaljobs.craft.colour import ciede2000, lab_from_srgb, parse_hex
from decaljobs.craft.trial.records import PrintSettings
from decaljobs.models import Person, Trial, TrialRound
from decaljobs.services.demo.scenes import (
    OPEN_PAINT,
    OPEN_SEEN,
    OPEN_START,
    TRIAL_PAINT,
    TRIAL_SEEN,
    TRIAL_START,
)
from decaljobs.services.trials import trials

PRINTER = "desk inkjet"
ROUND_TAKES = timedelta(hours=20)
ROUNDS_TAKE = 3 * ROUND_TAKES
PAPER, FILM = PrintSettings(PRINTER, "paper", "fine"), PrintSettings(PRINTER, "film", "fine")


def load_trial(*, maker: Person, moment: datetime) -> None:
    """Make the trials, their answers those of an eye that compares with the paint."""
    found = _try(TRIAL_PAINT, TRIAL_START, TRIAL_SEEN, maker, moment)
    trials.keep_recipe(trial=found.pk, by=maker, moment=moment + ROUNDS_TAKE)
    _try(OPEN_PAINT, OPEN_START, OPEN_SEEN, maker, moment + ROUNDS_TAKE)


def _try(paint: str, start: str, seen: str, maker: Person, moment: datetime) -> Trial:
    """Two rounds on paper and a strip on film, each judged the next day."""
    trial = trials.begin_trial(paint=paint, start=start, settings=PAPER, by=maker, moment=moment)
    Trial.objects.filter(pk=trial.pk).update(example=True)
    for settings in (PAPER, FILM):
        moment += ROUND_TAKES
        _answer(trial, seen, maker, moment)
        trials.print_next(trial=trial.pk, settings=settings, moment=moment)
    _answer(trial, seen, maker, moment + ROUND_TAKES)
    return trial


def _answer(trial: Trial, seen: str, maker: Person, moment: datetime) -> None:
    last = trial.rounds.latest("number")
    trials.answer_by_eye(
        trial=trial.pk,
        number=last.number,
        picks=_nearest(last, seen),
        off=[],
        by=maker,
        moment=moment,
    )


def _nearest(kept: TrialRound, paint: str) -> list[int]:
    colours = np.array([parse_hex(colour) for colour in kept.colours], dtype=float)
    seen = lab_from_srgb(np.array(parse_hex(paint), dtype=float))
    order = np.argsort(ciede2000(lab_from_srgb(colours), seen))
    return [int(place) + 1 for place in order[:3]]
