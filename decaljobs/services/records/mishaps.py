"""What goes wrong and how often: by layer, step, size, person, quarter and cause."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from django.db.models import Case, CharField, Count, F, Q, QuerySet, Value, When
from django.utils import timezone

from decaljobs.craft.mishaps import Cause
from decaljobs.craft.records.success import Rate, rate_of
from decaljobs.craft.stages import Build, Stage
from decaljobs.models import Person, Piece, PieceState, StageEvent
from decaljobs.shown import ways

#: Print widths that part the sizes, mm (a choice).
SIZES = (("up to 10 mm wide", 10), ("10 to 25 mm", 25), ("25 to 60 mm", 60))
LARGEST = "over 60 mm"
LAID = ("base_applied", "clear_applied")
#: The trend goes back so many quarters, with the one that runs.
QUARTERS = 9
SPOILED = (StageEvent.Kind.SPOILED.value, StageEvent.Kind.PIECE_SPOILED.value)
#: The steps that pieces go through, and where a mishap at a stage or of a cause belongs.
SHEET, CUT = "printing and sealing", "cutting and storing"
BASE, CLEAR = "laying the base", "laying the clear layer"
ON_BASE = (Stage.BASE_APPLIED.value, Stage.CURED.value)
BEFORE_SEALED = (Stage.PLANNED.value, Stage.PRINTED.value)
ON_SHEET = (Cause.BLED.value, Cause.WRONG_COLOUR.value)
#: Pieces that came through the sealing, spares that lie there included.
SEALED = Q(state=PieceState.USED) | Q(
    state=PieceState.GOOD,
    sheet__printed_at__isnull=False,
    sheet__coats_done__gte=F("sheet__coats_wanted"),
)


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


@dataclass(frozen=True)
class _Lost:
    """So many mishaps of one kind: at which step, of which cause, by whom, in which quarter."""

    step: str
    cause: str
    by: int | None
    quarter: str
    number: int


def mishaps(*, moment: datetime) -> Mishaps:
    """Rates of good pieces with their ranges, and the causes that were told (three queries)."""
    pieces, (laid, lost) = _pieces(), _laid_and_lost(_quarters(moment))
    return Mishaps(
        layers=tuple(
            _row(f"{layer} layer", *_good_and_spoiled(pieces, layer=layer))
            for layer in ("base", "clear")
        ),
        steps=_steps(pieces, lost),
        sizes=tuple(
            _row(ways().sentence(size), *_good_and_spoiled(pieces, size=size))
            for size in (*(words for words, _ in SIZES), LARGEST)
        ),
        people=_people(laid, lost),
        trend=_trend(laid, lost),
        causes=_causes(lost),
    )


def _row(words: str, good: int, spoiled: int) -> Row:
    """The maker's own record alone: what is usual is for what is still to come."""
    return Row(words, rate_of(good, spoiled))


def _pieces() -> Counter[tuple[str, str, str]]:
    """Used and spoiled pieces and sealed spares by layer, size and state (one query).

    What was spoiled with its whole sheet lost says nothing of the hand.
    """
    size = Case(
        *(When(decal__artwork__width_mm__lte=most, then=Value(words)) for words, most in SIZES),
        default=Value(LARGEST),
        output_field=CharField(),
    )
    found = (
        Piece.objects.filter(SEALED | Q(state=PieceState.SPOILED))
        .exclude(state=PieceState.SPOILED, sheet__lost_at__isnull=False)
        .annotate(size=size)
        .values_list("layer", "size", "state")
        .annotate(Count("pk"))
        .order_by()
    )
    return Counter({(layer, words, state): number for layer, words, state, number in found})


def _good_and_spoiled(
    pieces: Counter[tuple[str, str, str]], *, layer: str = "", size: str = ""
) -> tuple[int, int]:
    """How many of a layer or a size were used, and how many spoiled."""
    counted: Counter[str] = Counter()
    for (of_layer, of_size, state), number in pieces.items():
        if layer in ("", of_layer) and size in ("", of_size):
            counted[state] += number
    return counted[PieceState.USED], counted[PieceState.SPOILED]


def _lines() -> QuerySet[StageEvent]:
    """What hands did: a sheet that was lost as a whole says nothing of them."""
    return StageEvent.objects.in_force().exclude(how=StageEvent.How.SHEET)


def _quarters(moment: datetime) -> Case:
    """The quarter of a line as '2025, quarter 3', by the workshop's clock; '' before the trend."""
    now = timezone.localtime(moment)
    begins = now.replace(month=(now.month - 1) // 3 * 3 + 1, day=1, hour=0, minute=0, second=0)
    whens = []
    for _ in range(QUARTERS):
        words = f"{begins.year}, quarter {(begins.month + 2) // 3}"
        whens.append(When(at__gte=begins, then=Value(words)))
        begins = begins.replace(
            year=begins.year - (begins.month == 1), month=(begins.month - 4) % 12 + 1
        )
    return Case(*whens, default=Value(""), output_field=CharField())


def _laid_and_lost(quarters: Case) -> tuple[Counter[tuple[int | None, str]], list[_Lost]]:
    """Layers laid, by who logged it and in which quarter; and each mishap that stands (a query)."""
    told = ("kind", "from_stage", "decal__build", "cause", "by", "quarter")
    counted = (
        _lines()
        .filter(Q(kind=StageEvent.Kind.STEP, to_stage__in=LAID) | Q(kind__in=SPOILED))
        .annotate(quarter=quarters)
        .values_list(*told)
        .annotate(Count("pk"))
        .order_by()
    )
    laid: Counter[tuple[int | None, str]] = Counter()
    lost: list[_Lost] = []
    for kind, stage, build, cause, by, quarter, number in counted:
        if kind == StageEvent.Kind.STEP:
            laid[by, quarter] += number
        else:
            lost.append(_Lost(step_of(kind, stage, build, cause), cause, by, quarter, number))
    return laid, lost


def _steps(pieces: Counter[tuple[str, str, str]], lost: Iterable[_Lost]) -> tuple[Row, ...]:
    """Each step of the chain: what came through it of all that came so far.

    Sealed spares that nobody has laid yet came through the sealing and no further.
    What was spoiled before it was laid went wrong on the sheet while its decal waited for sealing
    or the ink bled or came out in the wrong colour, else while it was cut or stored.
    """
    spoiled: Counter[str] = Counter()
    for mishap in lost:
        spoiled[mishap.step] += mishap.number
    base, _ = _good_and_spoiled(pieces, layer="base")
    clear, _ = _good_and_spoiled(pieces, layer="clear")
    on_model = base + clear + spoiled[BASE] + spoiled[CLEAR]
    spares = sum(number for (*_, state), number in pieces.items() if state == PieceState.GOOD)
    good = {SHEET: on_model + spoiled[CUT] + spares, CUT: on_model, BASE: base, CLEAR: clear}
    return tuple(_row(step, number, spoiled[step]) for step, number in good.items())


def step_of(kind: str, stage: str, build: str, cause: str) -> str:
    """The step at which a mishap of that kind, stage, build and cause went wrong."""
    if kind == SPOILED[0]:
        return BASE if stage in ON_BASE or build == Build.WHITE_ALONE else CLEAR
    if stage in BEFORE_SEALED or cause in ON_SHEET:
        return SHEET
    return CUT


def _people(laid: Counter[tuple[int | None, str]], lost: Iterable[_Lost]) -> tuple[Row, ...]:
    """Layers laid and pieces spoiled, by who logged it (one query)."""
    good: Counter[int] = Counter()
    spoiled: Counter[int] = Counter()
    for (by, _), number in laid.items():
        if by is not None:
            good[by] += number
    for mishap in lost:
        if mishap.by is not None:
            spoiled[mishap.by] += mishap.number
    names = Person.objects.filter(pk__in={*good, *spoiled}).order_by("username")
    return tuple(
        _row(name, good[pk], spoiled[pk]) for pk, name in names.values_list("pk", "username")
    )


def _trend(laid: Counter[tuple[int | None, str]], lost: Iterable[_Lost]) -> tuple[Row, ...]:
    """By quarter, the oldest first."""
    good: Counter[str] = Counter()
    spoiled: Counter[str] = Counter()
    for (_, quarter), number in laid.items():
        good[quarter] += number
    for mishap in lost:
        spoiled[mishap.quarter] += mishap.number
    quarters = sorted({*good, *spoiled} - {""})
    return tuple(_row(quarter, good[quarter], spoiled[quarter]) for quarter in quarters)


def _causes(lost: Iterable[_Lost]) -> tuple[tuple[str, int], ...]:
    """How often each cause was told, the most told first; '' is a mishap of which none was."""
    counted: Counter[str] = Counter()
    for mishap in lost:
        counted[mishap.cause] += mishap.number
    ordered = sorted(counted.items(), key=lambda pair: (-pair[1], pair[0]))
    return tuple((Cause(cause).words if cause else "not told", number) for cause, number in ordered)
