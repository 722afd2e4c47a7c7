"""The trial page, worked out beforehand: rounds, where they lead, what to do next."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from django.utils import timezone

from decaljobs.craft.colour import GOOD_MATCH, format_hex
from decaljobs.craft.trial.records import Prediction
from decaljobs.forms.trials import EyeForm, PhotoForm, SettingsForm
from decaljobs.models import Material, Recipe, Trial, TrialRound
from decaljobs.services.trials.rounds import nearest_by_photo, settings_ahead, standing_of

COLUMNS, CELL = 8, 52  # patches a row of the picture, and units of its drawing
CURVE_WIDTH, CURVE_HEIGHT = 300.0, 120.0
# ΔE at the top of the curve's drawing: at least, at most
CURVE_LEAST, CURVE_MOST = 4.0, 8.0

# Strips after which a match on film is relied on; the shares are those of the benchmark.
SURE_STRIPS = 2
KEPT = "Found: the recipe is kept."
SECOND_STRIP = (
    "Your choice: in simulated trials nine of ten colours were a good match after one strip, "
    "and 97 of 100 after two. Print a second strip, or keep the colour as it is."
)


@dataclass(frozen=True)
class Patch:
    """One patch as drawn: its number, colour, place, and which pick it was ('' for none)."""

    number: int
    colour: str
    x: int
    y: int
    pick: str
    light: bool


@dataclass(frozen=True)
class NextStep:
    """The next round as offered: its name, why, its button; whether before keeping a recipe."""

    name: str
    why: str
    button: str
    first: bool = True


@dataclass(frozen=True)
class RoundShown:
    """One round with its patches laid out, and its best three, picked or measured."""

    kept: TrialRound
    patches: list[Patch]
    best: list[int]
    view_box: str


def trial_context(
    trial: Trial,
    eye_form: EyeForm | None,
    photo_form: PhotoForm | None,
    settings_form: SettingsForm | None,
) -> dict[str, Any]:
    """Everything the page shows, with forms that came back kept as they were typed."""
    rounds = list(trial.rounds.select_related("answered_by").order_by("number"))
    last = rounds[-1]
    strips = _strips(rounds)
    standing = standing_of(trial)
    recipe = Recipe.objects.filter(trial=trial).first()
    return {
        "trial": trial,
        "moment": timezone.now(),
        "rounds": [_shown(kept) for kept in reversed(rounds)],
        "last": last,
        "standing": standing,
        "best": format_hex(standing.rgb) if standing else "",
        "verdict": KEPT if recipe else _verdict(standing, last, strips),
        "next": _next_step(standing, last, strips),
        "can_keep": bool(last.picks) and last.material == Material.FILM,
        "by_photo_only": last.is_answered and not last.picks,
        "recipe": recipe,
        "eye_form": eye_form or EyeForm(),
        "photo_form": photo_form or PhotoForm(),
        "settings_form": settings_form or SettingsForm(initial=_next_settings(standing, last)),
        **_curve(rounds),
    }


def _shown(kept: TrialRound) -> RoundShown:
    best = kept.picks or nearest_by_photo(kept)
    names = dict(zip(best, ("best", "2nd", "3rd"), strict=False))
    patches = [
        Patch(
            number=place + 1,
            colour=colour,
            x=place % COLUMNS * CELL,
            y=place // COLUMNS * CELL,
            pick=names.get(place + 1, ""),
            light=int(colour[3:5], 16) > 140,
        )
        for place, colour in enumerate(kept.colours)
    ]
    rows = -(-len(patches) // COLUMNS)
    return RoundShown(kept, patches, best, f"0 0 {COLUMNS * CELL} {rows * CELL}")


def _verdict(standing: Prediction | None, last: TrialRound, strips: int) -> str:
    if standing is None:
        return "Print round 1, let it dry, then say which patches come closest."
    about = f"Expected difference now: ΔE {standing.expected:.1f}."
    if standing.limit is not None:
        return f"{about} This printer reaches no further: ΔE {standing.limit:.1f} stays."
    if not standing.found:
        return f"{about} One more round narrows it down."
    if not standing.final:
        return f"{about} Good on paper; film shifts the colour, so print a strip on film."
    if not last.is_answered:
        return f"{about} Print round {last.number}, let it dry, then judge it by eye."
    if not last.picks:
        return f"{about} A good match by photo: the eye has the last word, judge the strip by eye."
    if strips < SURE_STRIPS:
        return f"{about} A good match by one strip: keep it, or print a second strip to be surer."
    return f"{about} A good match on film: keep it as the recipe."


def _strips(rounds: list[TrialRound]) -> int:
    """Answered strips on film printed as the last one."""
    settings = rounds[-1].settings_words
    alike = [kept for kept in rounds if kept.is_answered and kept.settings_words == settings]
    return len(alike) if rounds[-1].material == Material.FILM else 0


def _next_step(standing: Prediction | None, last: TrialRound, strips: int) -> NextStep:
    """What the next round is called, why it is printed, and whether it comes before all else."""
    if standing is None or last.material != Material.FILM:
        if standing and standing.found:
            return NextStep("Now a strip on film", "Film shifts the colour.", "Make the strip")
        return NextStep("Next round", "", "Make the next round")
    name = "A second strip" if strips < SURE_STRIPS else "One more strip"
    button = f"Make {name[0].lower()}{name[1:]}"
    if not last.picks:
        return NextStep(name, "Or print another one first.", button, first=False)
    if not standing.found:
        return NextStep(name, "The match is not good yet: ΔE is not under 2.", button)
    if strips < SURE_STRIPS:
        return NextStep(name, SECOND_STRIP, button)
    return NextStep(name, "Not needed: the match is good.", button, first=False)


def _next_settings(standing: Prediction | None, last: TrialRound) -> dict[str, str]:
    ahead = settings_ahead(last, standing)
    return {
        "printer": ahead.printer,
        "material": ahead.material,
        "quality": ahead.quality,
        "colour_settings": ahead.colours,
    }


def _curve(rounds: list[TrialRound]) -> dict[str, Any]:
    """Places of the expected difference after each answered round: x, y, round, ΔE."""
    answered = [(kept.number, kept.expected) for kept in rounds if kept.expected is not None]
    step = CURVE_WIDTH / max(1, len(answered))
    largest = max([CURVE_LEAST, *(expected for _, expected in answered)])
    top = min(largest, CURVE_MOST)
    return {
        "curve": [
            (step * (place + 0.5), _height(expected, top), number, expected)
            for place, (number, expected) in enumerate(answered)
        ],
        "good_at": _height(GOOD_MATCH, top),
    }


def _height(difference: float, top: float) -> float:
    return CURVE_HEIGHT * (1 - min(difference, top) / top)
