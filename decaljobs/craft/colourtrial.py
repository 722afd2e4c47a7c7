"""A colour trial: rounds of printed patches towards one paint colour, and where they lead.

The rounds are given, oldest first; what comes back is the next round to print, or the word that
the colour is found or cannot be reached. The maker's eye has the last word over a photo.
"""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import numpy.typing as npt

from decaljobs.craft.colour import Colour, lab_from_srgb, plain_lab, srgb_from_lab, whole_colour
from decaljobs.craft.trial import model as trialmodel
from decaljobs.craft.trial.eye import EyeAnswer, centre_by_eye, expected_by_eye
from decaljobs.craft.trial.photo import PhotoReading
from decaljobs.craft.trial.reach import JudgedRound, chance_beyond
from decaljobs.craft.trial.records import (
    PhotoAnswer,
    Prediction,
    PrintSettings,
    Round,
)
from decaljobs.craft.trial.rounds import (
    FILM_PATCHES,
    FIRST_STRETCH,
    PAPER_PATCHES,
    RADII,
    round_colours,
    round_radius,
    share_of_ball,
)
from decaljobs.craft.trial.sheet import SheetCode, TrialSheet, film_sheet, paper_sheet

# Radius of the first film strip: paper to film shifts about 2; tried, no source.
FILM_RADIUS = 5.0
# A photo that departs so much from the photos before is doubted, CIELAB units.
PHOTO_QUARREL = 4.0
# An answer by photo so far out of the round's ball, in its radii, is only guessed; the first ball
# reaches 1.5 in lightness. Tried, no source.
FAR_OUTSIDE = 1.5
OUTSIDE = "the colour lies outside this round's patches and is only guessed: print the next round"
# What a faint reflection adds to the expected difference, CIEDE2000: as much as makes one more
# round wanted.
GLARE_DOUBT = 1.0
# Chance that the paint lies outside the gamut before the eye speaks of a limit; tried, no source.
EDGE_CHANCE = 0.2
# Only a round as small as this shows by eye that nothing better is near, weighted CIELAB units.
EDGE_RADIUS = 5.0
# If the best file colour is measured to stay so far off, the printer reaches no further, CIEDE2000;
# a little under a good match, since a photo is not surer than that.
EDGE_REST = 1.3


def first_round(start: Colour, settings: PrintSettings) -> Round:
    """The first round, 40 patches around a first guess in sRGB, 0 to 255.

    Raises ValueError for values out of range.

    >>> len(first_round((30, 61, 89), PrintSettings("desk printer")).colours)
    40
    """
    return _round(1, settings, lab_from_srgb(start), RADII[0], FIRST_STRETCH)


def next_round(rounds: Sequence[Round], settings: PrintSettings) -> Round:
    """The round to print after these (oldest first, each answered), with these settings.

    On film it is a strip of 24 patches around the winner. Settings not used before start again
    wide, for what was learnt of other settings does not hold. Raises ValueError without rounds
    or if the last is not answered.

    >>> paper = PrintSettings("desk printer")
    >>> judged = replace(first_round((30, 61, 89), paper), eye=EyeAnswer((1, 2, 3)))
    >>> coming = next_round([judged], paper)
    >>> coming.number, coming.radius, len(coming.colours)
    (2, 6.0, 40)
    """
    ahead = forecast(rounds)
    alike = [one for one in rounds if one.settings == settings]
    number = rounds[-1].number + 1
    if settings.material == "film" and not alike:
        return _round(number, settings, ahead.lab, FILM_RADIUS)
    if not alike:
        return _round(number, settings, ahead.lab, RADII[0], FIRST_STRETCH)
    if settings != rounds[-1].settings:
        return _round(number, settings, ahead.lab, RADII[1])
    if settings.material == "film":
        return _round(number, settings, ahead.lab, RADII[-1])
    radius = round_radius(len(alike) + 1, rounds[-1].radius, ahead.far)
    return _round(number, settings, ahead.lab, radius)


def forecast(rounds: Sequence[Round]) -> Prediction:
    """Where the answered rounds (oldest first) lead.

    Raises ValueError without rounds or if the last is not answered.

    >>> first = first_round((30, 61, 89), PrintSettings("desk printer"))
    >>> ahead = forecast([replace(first, eye=EyeAnswer((1, 2, 3)))])
    >>> ahead.by, round(ahead.expected, 1), ahead.found
    ('eye', 3.8, False)
    """
    if not rounds:
        raise ValueError("a trial starts with a first round")
    last = rounds[-1]
    if last.eye:
        return _by_eye(rounds, last.eye)
    if last.photo:
        return _by_photo(rounds, last.photo)
    raise ValueError(f"round {last.number} is not answered yet")


def pooled(rounds: Sequence[Round]) -> list[Round]:
    """The rounds that may be compared with the last one: those with the same settings.

    >>> paper, film = PrintSettings("desk printer"), PrintSettings("desk printer", "film")
    >>> first, strip = first_round((30, 61, 89), paper), first_round((30, 61, 89), film)
    >>> pooled([first, strip]) == [strip]
    True
    """
    return [one for one in rounds if one.settings == rounds[-1].settings]


def _pooling_remarks(rounds: Sequence[Round]) -> tuple[str, ...]:
    """What to say where some rounds cannot be pooled with the last, or nothing."""
    kept = {one.number for one in pooled(rounds)}
    left = [one for one in rounds if one.number not in kept]
    if not left:
        return ()
    numbers = ", ".join(str(one.number) for one in left)
    rounds_left = f"round {numbers}" if len(left) == 1 else f"rounds {numbers}"
    counts = "counts" if len(left) == 1 else "count"
    if all(replace(one.settings, material="film") == rounds[-1].settings for one in left):
        return (f"film shifts the colour, so {rounds_left} on paper no longer {counts}",)
    return (f"{rounds_left} had other print settings and {counts} no more",)


def photo_answer(reading: PhotoReading) -> PhotoAnswer:
    """A photo reading as plain numbers to keep with the round.

    >>> from decaljobs.craft.photo.marks import Perspective
    >>> paint = np.array([40.0, 0.0, 5.0])
    >>> seen = Perspective(np.eye(3), ())
    >>> reading = PhotoReading(paint + [[2.0, 0.0, -1.0]], paint, np.array([True]), seen)
    >>> photo_answer(reading).differences
    ((2.0, 0.0, -1.0),)
    """
    return PhotoAnswer(
        differences=tuple(plain_lab(row) for row in reading.differences),
        good=tuple(bool(good) for good in reading.good),
        paint=plain_lab(reading.paint),
        remarks=reading.remarks,
        doubtful=reading.doubtful,
    )


def sheet_of(trial: int, one: Round) -> TrialSheet:
    """The sheet to print for a round of a trial, numbered from 1; places in mm.

    >>> str(sheet_of(12, first_round((30, 61, 89), PrintSettings("desk printer"))).code)
    'T12 R1'
    """
    code = SheetCode(trial, one.number)
    build = film_sheet if one.settings.material == "film" else paper_sheet
    return build(code, one.colours)


def _round(
    number: int,
    settings: PrintSettings,
    centre: npt.ArrayLike,
    radius: float,
    stretch: float = 1.0,
) -> Round:
    count = FILM_PATCHES if settings.material == "film" else PAPER_PATCHES
    colours = round_colours(centre, radius, count, stretch)
    return Round(number, settings, plain_lab(centre), radius, tuple(colours))


def _by_eye(rounds: Sequence[Round], answer: EyeAnswer) -> Prediction:
    last = rounds[-1]
    middle = centre_by_eye(last.colours, last.centre, last.radius, answer)
    remarks = _pooling_remarks(rounds)
    rest = _measured_rest(rounds)
    # A photo of an earlier round measures what the eye can only suspect.
    edge = _seems_beyond(rounds) if rest is None else rest > EDGE_REST
    if edge and rest is None:
        remarks += (
            "the colour seems to lie outside what this printer reaches; by eye it cannot be said "
            "how far, a photo of the round measures it",
        )
    return Prediction(
        rgb=whole_colour(srgb_from_lab(middle.lab)[0]),
        lab=middle.lab,
        expected=expected_by_eye(last.radius, middle.far),
        far=middle.far,
        edge=edge,
        limit=rest if edge else None,
        by="eye",
        material=last.settings.material,
        remarks=remarks,
    )


def _measured_rest(rounds: Sequence[Round]) -> float | None:
    """CIEDE2000 of the nearest colour that the photos of these rounds predict, None without."""
    measured = _photos(rounds)
    return trialmodel.best_colour(trialmodel.fit(measured))[1] if measured else None


def _seems_beyond(rounds: Sequence[Round]) -> bool:
    """Whether the eye's answers, down to a small round, speak for a paint outside the gamut."""
    if rounds[-1].radius > EDGE_RADIUS:
        return False
    judged = [JudgedRound(one.centre, one.colours, one.eye) for one in pooled(rounds) if one.eye]
    return chance_beyond(judged) > EDGE_CHANCE


def _by_photo(rounds: Sequence[Round], answer: PhotoAnswer) -> Prediction:
    last = rounds[-1]
    measured = _photos(rounds)
    model = trialmodel.fit(measured)
    best, near = trialmodel.best_colour(model)
    rgb = whole_colour(best)
    lab = plain_lab(lab_from_srgb(rgb))
    quarrel = trialmodel.disagreement(measured)
    doubt = np.hypot(trialmodel.PHOTO_DOUBT, 2 * model.uncertainty(best))
    expected = float(np.hypot(near, doubt)) + (quarrel if quarrel > PHOTO_QUARREL else 0.0)
    expected += GLARE_DOUBT if answer.doubtful else 0.0
    far = share_of_ball(np.subtract(lab, last.centre), last.centre, last.radius)
    outside = (OUTSIDE,) if far > FAR_OUTSIDE else ()
    edge = near > EDGE_REST and not outside and not answer.doubtful
    return Prediction(
        rgb=rgb,
        lab=lab,
        expected=expected,
        far=far,
        edge=edge,
        limit=near if edge else None,
        by="photo",
        material=last.settings.material,
        remarks=(
            _pooling_remarks(rounds) + outside + answer.remarks + _photo_remarks(model, quarrel)
        ),
    )


def _photo_remarks(model: trialmodel.ColourFit, quarrel: float) -> tuple[str, ...]:
    remarks: tuple[str, ...] = ()
    if model.strays:
        remarks += (f"{model.strays} patches do not fit the others and were left out",)
    if quarrel > PHOTO_QUARREL:
        remarks += (
            f"this photo differs from the one before by {quarrel:.0f}: look for glare on the "
            "paint and take it again, or judge by eye",
        )
    return remarks


def _photos(rounds: Sequence[Round]) -> list[trialmodel.MeasuredRound]:
    return [_measured(one, one.photo) for one in pooled(rounds) if one.photo]


def _measured(one: Round, answer: PhotoAnswer) -> trialmodel.MeasuredRound:
    good = np.array(answer.good, dtype=bool)
    return trialmodel.MeasuredRound(
        rgb=np.array(one.colours, dtype=float)[good],
        differences=np.array(answer.differences, dtype=float)[good],
        paint=np.array(answer.paint, dtype=float),
    )
