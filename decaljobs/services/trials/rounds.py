"""The rounds of a colour trial, read back from their records: where they lead, what comes next."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np

from decaljobs.craft.colour import ciede2000, format_hex, parse_hex
from decaljobs.craft.colourtrial import forecast, sheet_of
from decaljobs.craft.trial.eye import EyeAnswer
from decaljobs.craft.trial.records import PhotoAnswer, Prediction, PrintSettings, Round
from decaljobs.craft.trial.sheet import TrialSheet
from decaljobs.models import Trial, TrialRound


def rounds_of(trial: Trial) -> list[Round]:
    """The trial's rounds as the craft takes them, oldest first (one query)."""
    return [as_round(kept) for kept in trial.rounds.order_by("number")]


def sheet_for(kept: TrialRound) -> TrialSheet:
    """The sheet of patches that a round is printed as."""
    return sheet_of(kept.trial_id, as_round(kept))


def standing_of(trial: Trial) -> Prediction | None:
    """Where the answered rounds lead, None before the first answer."""
    answered = [one for one in rounds_of(trial) if is_answered(one)]
    return forecast(answered) if answered else None


def nearest_by_photo(kept: TrialRound) -> list[int]:
    """The three patches that a photo measured nearest to the paint, nearest first, if it did."""
    answer = _photo_of(kept.photo) if kept.photo else None
    if answer is None:
        return []
    paint = np.array(answer.paint)
    apart = ciede2000(paint + np.array(answer.differences), paint)
    order = np.argsort(np.where(answer.good, apart, np.inf))
    return [int(place) + 1 for place in order[:3]]


def start_like(trial: Trial) -> dict[str, str]:
    """What a new trial of the same paint starts from: its paint, best colour and settings."""
    standing = standing_of(trial)
    last = trial.rounds.latest("number")
    return {
        "paint": trial.paint,
        "start": format_hex(standing.rgb) if standing else trial.start,
        "printer": last.printer,
        "quality": last.quality,
        "colour_settings": last.colour_settings,
    }


def settings_ahead(last: TrialRound, standing: Prediction | None) -> PrintSettings:
    """How the next round is best printed: as the last one, on film once the colour is found."""
    settings = as_round(last).settings
    return replace(settings, material="film") if standing and standing.found else settings


def as_round(kept: TrialRound) -> Round:
    """A kept round as the craft takes it."""
    photo: dict[str, Any] | None = kept.photo
    return Round(
        number=kept.number,
        settings=PrintSettings(kept.printer, kept.material, kept.quality, kept.colour_settings),
        centre=(kept.centre[0], kept.centre[1], kept.centre[2]),
        radius=kept.radius,
        colours=tuple(parse_hex(colour) for colour in kept.colours),
        eye=EyeAnswer(tuple(kept.picks), tuple(kept.off)) if kept.picks else None,
        photo=_photo_of(photo) if photo else None,
    )


def _photo_of(kept: dict[str, Any]) -> PhotoAnswer:
    light, a, b = kept["paint"]
    return PhotoAnswer(
        differences=tuple((row[0], row[1], row[2]) for row in kept["differences"]),
        good=tuple(kept["good"]),
        paint=(light, a, b),
        remarks=tuple(kept.get("remarks", ())),
        doubtful=kept.get("doubtful", False),
    )


def is_answered(one: Round) -> bool:
    """Whether an eye or a photo has judged a round."""
    return one.eye is not None or one.photo is not None
