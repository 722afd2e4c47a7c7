"""What a maker must know at each step: the caution, what to have ready, and how it is done.

The ways of working are common practice with no source, but for the soaking
figures of ceramic-decal suppliers. Every caution gives way to the product's
safety data sheet and to local rules.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from enum import StrEnum

from decaljobs.craft.stages import LAYERS, Build, Film, Printer, Stage

#: Water for soaking, °C: published pages of ceramic-decal suppliers.
SOAK_WATER = "clean water at 20 to 23 °C"
#: Seconds in the water and at rest for home-printed film: common practice, no source.
SOAK_TIME = "30 to 60 s in all"
#: Seconds in the water and then at rest: published pages of ceramic-decal suppliers; together
#: within the 30 to 60 s that are common practice for home-printed film.
SOAK_IN_WATER_S, SOAK_REST_S = 10, 30
#: Coats of sealer by printer: common practice, no source.
INKJET_COATS, LASER_COATS = "3 to 5 light coats", "one very fine coat"

_DEFER = "Follow the product's safety data sheet and local rules."
_SPRAY = (
    "Spray or airbrush only with good ventilation and a fitting respirator, away from flames "
    "and sparks. No two-pack isocyanates at home."
)
_BLADE = "The blade is sharp: cut away from the hand that holds, and put spent blades in a tin."
_FLUID = "Setting fluid gives off vapour: open a window, keep flames away."
_OLD_LEAD = "Old paint may hold lead: no dry sanding, no heat gun; work wet, wash hands afterwards."
_FOR_LAYING = ("new blade", "clean water", "setting fluid", "soft brush", "lint-free cloth")
_WET_SHIFTS = "A wet layer over an unset one moves both: wait until the base is dry through."


class Step(StrEnum):
    """The steps that ask for care: those of the stages, each coat, and a surface to clean."""

    PLANNED = "planned"
    PRINTED = "printed"
    COAT = "coat"
    SEALED = "sealed"
    SURFACE = "surface"
    BASE_APPLIED = "base_applied"
    CURED = "cured"
    CLEAR_APPLIED = "clear_applied"
    SET = "set"
    OVERCOATED = "overcoated"


@dataclass(frozen=True)
class Soak:
    """How long a piece is left in the water and then at rest before it slides, in seconds."""

    in_water_s: int = SOAK_IN_WATER_S
    rest_s: int = SOAK_REST_S


@dataclass(frozen=True)
class StepAdvice:
    """The caution in a sentence or more, what to have ready, and how it is done, line by line.

    soak: for a step that lays a piece, how long it is soaked before.
    """

    caution: str
    materials: tuple[str, ...] = ()
    how: tuple[str, ...] = ()
    soak: Soak | None = None


def advice(
    step: Step | Stage | str,
    *,
    printer: str | None = None,
    build: str | None = None,
    film: str | None = None,
) -> StepAdvice:
    """The caution, materials and how-to of a step (no unit).

    step: the value of a stage, or 'coat', or 'surface' for a surface to clean.
    printer: 'inkjet', 'laser' or None for both; build: the value of a build or None.
    film: 'white' or 'clear' where one sheet is printed, None for every film that the build takes.

    Raises ValueError for any other step, printer, build or film, naming those allowed.

    >>> advice("coat", printer="laser").how[0]
    'Laser: one very fine coat, against scratches and chips.'
    >>> advice("planned").materials
    ()
    >>> advice("printed", film="clear").materials
    ('clear film',)
    >>> advice("base_applied").soak
    Soak(in_water_s=10, rest_s=30)
    """
    known = Step(_one_of(Step, step))
    on = None if printer is None else Printer(_one_of(Printer, printer))
    made = None if build is None else Build(_one_of(Build, build))
    fed = None if film is None else Film(_one_of(Film, film))
    if known is Step.PRINTED:
        return _printing(on, _films(made, fed))
    if known in (Step.COAT, Step.SEALED):
        return _sealing(on)
    if known is Step.CLEAR_APPLIED:
        return _laying_clear(alone=made is Build.CLEAR_ALONE)
    if known is Step.BASE_APPLIED:
        return _laying_base(alone=made is Build.WHITE_ALONE)
    return _PLAIN[known]


def advice_on_all(
    step: Step | Stage | str,
    builds: Iterable[str],
    *,
    printer: str | None = None,
    film: str | None = None,
) -> StepAdvice:
    """The advice on a step that is done for decals of these builds at one go (no unit).

    step, printer, film: as in `advice`; builds: values of builds, none for a step of whole sheets.
    Where what is said differs, each build is named before its own caution and lines.

    Raises ValueError as `advice` does.

    >>> advice_on_all("clear_applied", ["clear_alone"]).how[1]
    'Clean, grease-free surface; setting fluid on it.'
    >>> advice_on_all("clear_applied", ["laminated", "clear_alone"]).how[4]
    'Clear alone: cut through the film only, about 1 mm outside the art.'
    """
    on_any = advice(step, printer=printer, film=film)
    told = {
        build: advice(step, printer=printer, build=build, film=film)
        for build in dict.fromkeys(builds)
    }
    if len(set(told.values())) < 2:
        return next(iter(told.values()), on_any)
    return replace(
        on_any,
        caution=" ".join(_named(build, each.caution) for build, each in told.items()),
        how=tuple(line for build, each in told.items() for line in _named_first(build, each.how)),
    )


def _named(build: str, words: str) -> str:
    """Words that hold for one build, its name before them."""
    return f"{build.replace('_', ' ').capitalize()}: {words[0].lower()}{words[1:]}"


def _named_first(build: str, lines: tuple[str, ...]) -> tuple[str, ...]:
    """Lines of one build, its name before the first."""
    return (_named(build, lines[0]), *lines[1:])


def _one_of(allowed: type[StrEnum], value: str) -> str:
    if str(value) not in {str(member) for member in allowed}:
        names = ", ".join(allowed)
        raise ValueError(f"{allowed.__name__} is one of: {names}.")
    return str(value)


def _films(build: Build | None, fed: Film | None) -> tuple[Film, ...]:
    """The films that go through the printer: the one fed, else all that the build takes."""
    if fed is not None:
        return (fed,)
    return tuple(layer.film for layer in LAYERS[build or Build.LAMINATED])


def _printing(printer: Printer | None, films: tuple[Film, ...]) -> StepAdvice:
    fuser = (
        "A laser printer's fuser is hot: never feed a sheet with film cut away, and feed a "
        "part-used sheet again only if the film's maker allows it."
    )
    settle = {
        Printer.INKJET: "Let the ink settle before the first coat.",
        Printer.LASER: "Let the toner cool before it is touched.",
        None: "Let ink or toner settle before the first coat.",
    }[printer]
    both = "Both films from the same file at 100 %" if len(films) == 2 else "At 100 %"
    how = (f"{both}, with several copies for mishaps.", "Same printer settings as the last trial.")
    caution = settle if printer is Printer.INKJET else f"{fuser} {settle}"
    return StepAdvice(f"{caution} {_DEFER}", tuple(f"{film} film" for film in films), how)


def _sealing(printer: Printer | None) -> StepAdvice:
    inkjet = f"Inkjet: {INKJET_COATS}, built up slowly, or the ink bleeds."
    laser = f"Laser: {LASER_COATS}, against scratches and chips."
    how = {Printer.INKJET: (inkjet,), Printer.LASER: (laser,), None: (inkjet, laser)}[printer]
    return StepAdvice(
        f"{_SPRAY} {_DEFER}",
        ("sealer", "respirator"),
        (*how, "Let each coat dry before the next; no handling in between."),
    )


def _soaking(under: str) -> tuple[str, ...]:
    return (
        f"Soak in {SOAK_WATER}: about {SOAK_IN_WATER_S} s in, then let it rest, {SOAK_TIME}.",
        under,
    )


def _laying_base(*, alone: bool) -> StepAdvice:
    inside = "to the edge of the art" if alone else "just inside the outline"
    return StepAdvice(
        f"{_BLADE} {_FLUID} {_OLD_LEAD} {_DEFER}",
        _FOR_LAYING,
        (
            f"Cut through the film only, {inside}, and end where the cut began.",
            "Two relief cuts from the line to the edge let the surround float off in halves.",
            "Clean, grease-free surface; setting fluid on it.",
            *_soaking("Float the surround off, slide, place, straighten, mop, dab out the air."),
        ),
        Soak(),
    )


def _laying_clear(*, alone: bool) -> StepAdvice:
    cut = "Cut through the film only, about 1 mm outside the art."
    if alone:
        how = (
            cut,
            "Clean, grease-free surface; setting fluid on it.",
            *_soaking("Slide, place, straighten, mop, dab out the air; fluid at the rim."),
        )
        caution = f"{_BLADE} {_FLUID} {_OLD_LEAD} {_DEFER}"
        return StepAdvice(caution, _FOR_LAYING, how, Soak())
    how = (
        cut,
        *_soaking("Align on fine detail in the art; it can be nudged while wet. Mop."),
        "Then setting fluid at the rim, dabbed until the rim fades.",
    )
    caution = f"No fluid beneath: it softens the base. {_WET_SHIFTS} {_BLADE} {_FLUID} {_DEFER}"
    return StepAdvice(caution, _FOR_LAYING, how, Soak())


_PLAIN: dict[Step, StepAdvice] = {
    Step.PLANNED: StepAdvice(""),
    Step.SURFACE: StepAdvice(
        f"{_BLADE} {_OLD_LEAD} {_DEFER}",
        ("clean water", "soft cloth", "cotton buds"),
        ("Take the spoiled film off wet, clean and degrease the surface, let it dry.",),
    ),
    Step.CURED: StepAdvice(
        _WET_SHIFTS,
        (),
        ("Touch the rim: it is cool, hard and does not move when it is dry through.",),
    ),
    Step.SET: StepAdvice(
        "Leave it alone until it is dry through.",
        (),
        ("A silver shine is air beneath: prick it, setting fluid, and let it dry again.",),
    ),
    Step.OVERCOATED: StepAdvice(
        f"{_SPRAY} {_DEFER}",
        ("clear coat", "respirator"),
        ("Clear coat over all; let it dry before handling or masking.",),
    ),
}
