"""What goes wrong and how often: by layer, size, person and cause (seven queries)."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta

from django.db.models import Case, CharField, Count, Q, Value, When
from django.db.models.functions import TruncQuarter

from decaljobs.craft.mishaps import Cause
from decaljobs.craft.stages import Build, Stage
from decaljobs.craft.success import Rate, rate_of
from decaljobs.models import Person, Piece, PieceState, StageEvent
from decaljobs.models.events import LogQuerySet
from decaljobs.shown import ways

#: Print widths that part the sizes, mm (a choice).
SIZES = (("up to 10 mm wide", 10), ("10 to 25 mm", 25), ("25 to 60 mm", 60))
LARGEST = "over 60 mm"
#: The trend goes back so far.
TREND = timedelta(days=730)
SPOILED = (StageEvent.Kind.SPOILED.value, StageEvent.Kind.PIECE_SPOILED.value)
#: The steps that pieces go through, and where a mishap at a stage or of a cause belongs.
SHEET, CUT = "printing and sealing", "cutting and storing"
BASE, CLEAR = "laying the base", "laying the clear layer"
ON_BASE = (Stage.BASE_APPLIED.value, Stage.CURED.value)
BEFORE_SEALED = (Stage.PLANNED.value, Stage.PRINTED.value)
ON_SHEET = (Cause.BLED.value, Cause.WRONG_COLOUR.value)


@dataclass(frozen=True)
class Row:
    """One line of a table: what it is of, and its rate."""

    words: str
    rate: Rate


@dataclass(frozen=True)
class Mishaps:
    """All tables of what goes wrong."""

    layers: tuple[Row, ...]
    steps: tuple[Row, ...]
    sizes: tuple[Row, ...]
    people: tuple[Row, ...]
    trend: tuple[Row, ...]
    causes: tuple[tuple[str, int], ...]


def mishaps(*, moment: datetime) -> Mishaps:
    """Rates of good pieces with their ranges, and the causes that were told."""
    layers, sizes = _by_piece()
    laid, lost = _by_person()
    return Mishaps(
        layers=layers,
        steps=_steps(),
        sizes=sizes,
        people=_people(laid, lost),
        trend=_trend(moment),
        causes=_causes(),
    )


def _lines() -> LogQuerySet:
    """What hands did: a sheet that was lost as a whole says nothing of them."""
    return StageEvent.objects.in_force().exclude(how=StageEvent.How.SHEET)


def _row(words: str, counts: Mapping[str, int]) -> Row:
    """The maker's own record alone: what is usual is for what is still to come."""
    return Row(words, rate_of(counts.get("used", 0), counts.get("spoiled", 0)))


def _by_piece() -> tuple[tuple[Row, ...], tuple[Row, ...]]:
    """By layer and by size, counted at one go."""
    size = Case(
        *(When(decal__artwork__width_mm__lte=most, then=Value(words)) for words, most in SIZES),
        default=Value(LARGEST),
        output_field=CharField(),
    )
    found = (
        Piece.objects.filter(state__in=[PieceState.USED, PieceState.SPOILED])
        .exclude(sheet__lost_at__isnull=False)
        .annotate(size=size)
        .values_list("layer", "size", "state")
        .annotate(Count("pk"))
        .order_by()
    )
    layers: dict[str, dict[str, int]] = {}
    sizes: dict[str, dict[str, int]] = {}
    for layer, words, state, number in found:
        for table, key in ((layers, layer), (sizes, words)):
            counts = table.setdefault(key, {})
            counts[state] = counts.get(state, 0) + number
    names = [words for words, _ in SIZES] + [LARGEST]
    return (
        tuple(_row(f"{layer} layer", layers.get(layer, {})) for layer in ("base", "clear")),
        tuple(_row(ways().sentence(name), sizes.get(name, {})) for name in names),
    )


def _steps() -> tuple[Row, ...]:
    """Each step of the chain: what came through it of all that came so far (two queries).

    What was spoiled before it was laid went wrong on the sheet while its decal waited for sealing
    or the ink bled or came out in the wrong colour, else while it was cut or stored.
    """
    lost: dict[str, int] = {}
    spoiled = _lines().filter(kind__in=SPOILED)
    told = ("kind", "from_stage", "decal__build", "cause")
    for *how, number in spoiled.values_list(*told).annotate(Count("pk")).order_by():
        step = _step_of(*how)
        lost[step] = lost.get(step, 0) + number
    laid = dict(
        Piece.objects.filter(state=PieceState.USED)
        .values_list("layer")
        .annotate(Count("pk"))
        .order_by()
    )
    base, clear = laid.get("base", 0), laid.get("clear", 0)
    on_model = base + clear + lost.get(BASE, 0) + lost.get(CLEAR, 0)
    good = {SHEET: on_model + lost.get(CUT, 0), CUT: on_model, BASE: base, CLEAR: clear}
    return tuple(
        _row(step, {"used": number, "spoiled": lost.get(step, 0)}) for step, number in good.items()
    )


def _step_of(kind: str, stage: str, build: str, cause: str) -> str:
    if kind == SPOILED[0]:
        return BASE if stage in ON_BASE or build == Build.WHITE_ALONE else CLEAR
    if stage in BEFORE_SEALED or cause in ON_SHEET:
        return SHEET
    return CUT


def _by_person() -> tuple[dict[int, int], dict[int, int]]:
    """Layers laid and pieces spoiled, by who logged it."""
    counted = (
        _lines()
        .filter(by__isnull=False)
        .filter(
            Q(kind="step", to_stage__in=["base_applied", "clear_applied"]) | Q(kind__in=SPOILED)
        )
        .values_list("by", "kind")
        .annotate(Count("pk"))
        .order_by()
    )
    laid: dict[int, int] = {}
    lost: dict[int, int] = {}
    for person, kind, number in counted:
        table = laid if kind == "step" else lost
        table[person] = table.get(person, 0) + number
    return laid, lost


def _people(laid: Mapping[int, int], lost: Mapping[int, int]) -> tuple[Row, ...]:
    names = dict(Person.objects.filter(pk__in=[*laid, *lost]).values_list("pk", "username"))
    return tuple(
        _row(name, {"used": laid.get(pk, 0), "spoiled": lost.get(pk, 0)})
        for pk, name in sorted(names.items(), key=lambda item: item[1])
    )


def _trend(moment: datetime) -> tuple[Row, ...]:
    """By quarter, of the last two years."""
    counted = (
        _lines()
        .filter(at__gte=moment - TREND)
        .filter(
            Q(kind="step", to_stage__in=["base_applied", "clear_applied"]) | Q(kind__in=SPOILED)
        )
        .annotate(quarter=TruncQuarter("at"))
        .values_list("quarter", "kind")
        .annotate(Count("pk"))
        .order_by("quarter")
    )
    quarters: dict[datetime, dict[str, int]] = {}
    for quarter, kind, number in counted:
        counts = quarters.setdefault(quarter, {})
        state = "used" if kind == "step" else "spoiled"
        counts[state] = counts.get(state, 0) + number
    return tuple(
        _row(f"{at.year}, quarter {(at.month + 2) // 3}", counts) for at, counts in quarters.items()
    )


def _causes() -> tuple[tuple[str, int], ...]:
    """How often each cause was told; '' is a mishap of which none was."""
    counted = (
        _lines()
        .filter(kind__in=SPOILED)
        .values_list("cause")
        .annotate(Count("pk"))
        .order_by("-pk__count", "cause")
    )
    return tuple((_cause(cause), number) for cause, number in counted)


def _cause(cause: str) -> str:
    return Cause(cause).words if cause else "not told"
