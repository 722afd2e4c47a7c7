"""The section drawing: a cut through the film as it lies on the model.

The body at the foot, the base over it, the clear layer over that, an overcoat on
top. Drawn once as plain geometry, with the origin at the top left; the page and
the paper each render it in their own way.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from enum import StrEnum

from decaljobs.craft.stages import LAYERS, Build, Layer, Stage, laid_layers, route

#: Distance between hatch lines as a share of a bar's thickness: a film, the thin overcoat.
HATCH_PITCH = (0.5, 1.5)
#: Stroke colours where no stylesheet says otherwise: wet film, and what is missing.
WET_STROKE, MISSING_STROKE = "#5c7f86", "#8a2d1f"
#: Room for the words at the right of a labelled drawing, as a share of its width.
LABEL_SHARE = 0.42
#: Width and height of a drawing unless others are given, and of a labelled one.
USUAL_SIZE, LABELLED_SIZE = (74.0, 52.0), (170.0, 66.0)


class Role(StrEnum):
    """What a bar of the drawing stands for."""

    BODY = "body"
    BASE = "base"
    CLEAR = "clear"
    OVERCOAT = "overcoat"


#: Fills where no stylesheet says otherwise: white film, and clear film as a pale tint.
FILM_FILLS = {Role.BASE: "#ffffff", Role.CLEAR: "#e3eff0", Role.OVERCOAT: "#c3d3d5"}


class State(StrEnum):
    """How a bar is drawn: full, hatched, dashed or crossed out."""

    LAID = "laid"
    WET = "wet"
    TO_COME = "to_come"
    MISSING = "missing"


@dataclass(frozen=True)
class Bar:
    """One layer of the drawing; solid is the share from the left that has dried, 0 to 1.

    x, y (upper left corner), width and height in drawing units. A layer to come with a solid
    share lies drying on its sheet: dashed, and hatched where it is wet.
    """

    x: float
    y: float
    width: float
    height: float
    role: Role
    state: State
    solid: float | None = None


@dataclass(frozen=True)
class Label:
    """Words beside a bar: where the text starts, in drawing units, on the bar's middle line."""

    x: float
    y: float
    text: str


@dataclass(frozen=True)
class Line:
    """A straight stroke from one point to another, in drawing units."""

    x1: float
    y1: float
    x2: float
    y2: float


@dataclass(frozen=True)
class Section:
    """The drawing: its size in drawing units, its bars upwards, its labels, and itself in words."""

    width: float
    height: float
    shapes: tuple[Bar, ...]
    labels: tuple[Label, ...]
    words: str


def section(
    build: Build,
    stage: Stage,
    *,
    progress: float | None = None,
    missing: Layer | Collection[Layer] | None = None,
    layer_wet: Layer | None = None,
    width: float | None = None,
    height: float | None = None,
    labelled: bool = False,
) -> Section:
    """The section through a decal at a stage, in the units of width and height.

    progress: the share of the drying that is over, 0 to 1, None when nothing
    dries. layer_wet: which layer dries; unless given it is the one the stage
    has just laid, or the layers on their sheets before that. missing: layers
    with no good piece left. labelled: with the names at the right.

    Raises ValueError for a progress outside 0 to 1, a size of 0 or less, or a
    stage that the build does not pass through.

    >>> drawing = section(Build.LAMINATED, Stage.BASE_APPLIED, progress=0.62)
    >>> drawing.words
    'body; base drying, 62 % over; clear to come'
    >>> [str(bar.state) for bar in drawing.shapes]
    ['laid', 'wet', 'to_come']
    """
    build, stage = Build(build), Stage(stage)
    usual = LABELLED_SIZE if labelled else USUAL_SIZE
    width = usual[0] if width is None else width
    height = usual[1] if height is None else height
    _check(build, stage, progress, width, height)
    looks = _looks(build, stage, progress, _as_layers(missing), layer_wet)
    bars_width = width * (1 - LABEL_SHARE) if labelled else width
    bars = _stack([(Role.BODY, State.LAID, None), *looks], bars_width, height)
    words = tuple(_words(bar) for bar in bars)
    return Section(
        width=width,
        height=height,
        shapes=bars,
        labels=_labels(bars, bars_width, words) if labelled else (),
        words="; ".join(words),
    )


def wet_part(bar: Bar) -> tuple[float, float]:
    """The left end and the width of a bar's wet part, in drawing units; width 0 when dry.

    >>> wet_part(Bar(0, 0, 100, 10, Role.BASE, State.WET, solid=0.75))
    (75.0, 25.0)
    """
    if bar.solid is None:
        return bar.x + bar.width, 0.0
    left = bar.x + bar.width * bar.solid
    return left, bar.x + bar.width - left


def hatch_lines(bar: Bar) -> tuple[Line, ...]:
    """Slanting strokes at 45 degrees that fill a bar's wet part, in drawing units.

    >>> dried, wet = (Bar(0, 0, 12, 8, Role.BASE, State.WET, solid) for solid in (1, 0.5))
    >>> hatch_lines(dried)
    ()
    >>> hatch_lines(wet)[-1]
    Line(x1=10.0, y1=8.0, x2=12.0, y2=6.0)
    """
    left, width = wet_part(bar)
    right, foot = left + width, bar.y + bar.height
    pitch = bar.height * HATCH_PITCH[bar.role is Role.OVERCOAT]
    lines: list[Line] = []
    # Pinned to the bar's left end, so that strokes stand still while the wet part shrinks.
    start = bar.x + pitch / 2 - bar.height
    while start < right and width > 0:
        low, high = max(left, start), min(right, start + bar.height)
        if high > low:
            lines.append(Line(low, foot - (low - start), high, foot - (high - start)))
        start += pitch
    return tuple(lines)


def cross_lines(bar: Bar) -> tuple[Line, Line]:
    """The two strokes that cross out a missing layer, about its middle, in drawing units.

    >>> cross_lines(Bar(0, 0, 40, 8, Role.CLEAR, State.MISSING))[0]
    Line(x1=14.0, y1=-2.0, x2=26.0, y2=10.0)
    """
    x, y = bar.x + bar.width / 2, bar.y + bar.height / 2
    reach = bar.height * 0.75
    return (
        Line(x - reach, y - reach, x + reach, y + reach),
        Line(x - reach, y + reach, x + reach, y - reach),
    )


def _check(build: Build, stage: Stage, progress: float | None, width: float, height: float) -> None:
    if progress is not None and not 0 <= progress <= 1:
        raise ValueError("Progress is a share between 0 and 1.")
    if not (width > 0 and height > 0):
        raise ValueError("A drawing is wider and higher than 0.")
    stages = route(build, overcoat=True)
    if stage not in stages:
        allowed = ", ".join(each.words for each in stages)
        raise ValueError(f"A {build.words} decal is at one of: {allowed}.")


def _looks(
    build: Build,
    stage: Stage,
    progress: float | None,
    gone: set[Role],
    layer_wet: Layer | None,
) -> list[tuple[Role, State, float | None]]:
    """How each layer of the build looks, from the lowest up."""
    wet = _wet_roles(build, stage, progress, layer_wet)
    laid = {Role(layer) for layer in laid_layers(build, stage)} | {Role.OVERCOAT}
    roles = [Role(layer) for layer in LAYERS[build]]
    if stage is Stage.OVERCOATED:
        roles.append(Role.OVERCOAT)
    # Whole percents: finer steps cannot be seen and would fill the cache of drawings.
    share = None if progress is None else round(progress, 2)
    return [
        (role, *_look(role in gone, role in laid, share if role in wet else None)) for role in roles
    ]


def _as_layers(missing: Layer | Collection[Layer] | None) -> set[Role]:
    if missing is None:
        return set()
    # A layer is a string too, and a string is a collection of its letters.
    layers = (missing,) if isinstance(missing, str) else missing
    return {Role(layer) for layer in layers}


def _wet_roles(
    build: Build, stage: Stage, progress: float | None, layer_wet: Layer | None
) -> set[Role]:
    if progress is None or progress >= 1:
        return set()
    if layer_wet is not None:
        return {Role(layer_wet)}
    if stage is Stage.OVERCOATED:
        return {Role.OVERCOAT}
    laid = laid_layers(build, stage)
    return {Role(laid[-1])} if laid else {Role(layer) for layer in LAYERS[build]}


def _look(gone: bool, laid: bool, share: float | None) -> tuple[State, float | None]:
    if not laid:
        return (State.MISSING, None) if gone else (State.TO_COME, share)
    return (State.LAID, None) if share is None else (State.WET, share)


def _stack(
    looks: list[tuple[Role, State, float | None]], width: float, height: float
) -> tuple[Bar, ...]:
    """Bars from the body upwards; proportions are a matter of looks, not of thickness."""
    sides = {Role.BODY: 0.04, Role.BASE: 0.16, Role.CLEAR: 0.07, Role.OVERCOAT: 0.04}
    thickness = {Role.BODY: 0.17, Role.BASE: 0.18, Role.CLEAR: 0.18, Role.OVERCOAT: 0.06}
    foot = height * 0.92
    bars = []
    for role, state, share in looks:
        thick = height * thickness[role]
        foot -= thick
        inset = width * sides[role]
        bars.append(Bar(inset, foot, width - 2 * inset, thick, role, state, share))
        foot -= height * 0.04
    return tuple(bars)


def _words(bar: Bar) -> str:
    said = {State.LAID: "", State.WET: " drying", State.TO_COME: " to come"}
    if bar.role is Role.BODY:
        return "body"
    if bar.state is State.MISSING:
        return f"{bar.role} missing"
    if bar.solid is None:
        return f"{bar.role}{said[bar.state] or ' laid'}"
    return f"{bar.role}{said[bar.state]}, {_over(bar)}"


def _over(bar: Bar) -> str:
    where = " on its sheet" if bar.state is State.TO_COME else ""
    return f"{round((bar.solid or 0) * 100)} % over{where}"


def _labels(bars: tuple[Bar, ...], left: float, words: tuple[str, ...]) -> tuple[Label, ...]:
    return tuple(
        Label(left, bar.y + bar.height / 2, text.removesuffix(" laid").split(", ")[0])
        for bar, text in zip(bars, words, strict=True)
    )
