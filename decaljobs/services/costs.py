"""What a project has cost so far: film by area, what was used up, minutes at the bench."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from decimal import Decimal

from decaljobs.craft.cost import Cost, CostLine, film_account, rounded, shared_out
from decaljobs.craft.doings import Doing
from decaljobs.craft.supplies import amount_in_words
from decaljobs.models import (
    Decal,
    Piece,
    Project,
    Sheet,
    SheetEvent,
    StageEvent,
    StockLine,
    Supply,
)
from decaljobs.services.benchminutes import minutes_taken
from decaljobs.services.prices import Prices, UnitPrice
from decaljobs.services.rates import rules
from decaljobs.services.stock import OF_SHEETS, OF_STAGES, film_for

#: Clear edge cut round a piece whose place on its sheet is not known, mm on each side.
EDGE_MM = 1.0


@dataclass(frozen=True)
class Part:
    """So much of something that a decal has used, and what one unit of it costs."""

    decal: int
    words: str
    unit: str
    quantity: Decimal
    price: UnitPrice | None
    moment: datetime | None = None


@dataclass
class Ledger:
    """Everything that some decals have used."""

    parts: list[Part] = field(default_factory=list)

    def cost(self, currency: str, decals: Iterable[int] | None = None) -> Cost:
        """The cost in one currency, a line for each thing at each price."""
        wanted = None if decals is None else set(decals)
        sums: dict[tuple[str, str, Decimal], Decimal] = {}
        missing: dict[str, None] = {}
        for part in self.parts:
            if wanted is not None and part.decal not in wanted:
                continue
            if part.price is None:
                missing[part.words] = None
            elif part.price.currency == currency:
                key = (part.words, part.unit, part.price.amount)
                sums[key] = sums.get(key, Decimal(0)) + part.quantity
        lines = tuple(_line(*key, quantity) for key, quantity in sums.items())
        return Cost(currency, lines, tuple(missing))

    @property
    def currencies(self) -> list[str]:
        """Every currency that something was paid in."""
        return sorted({part.price.currency for part in self.parts if part.price})


def _line(words: str, unit: str, price: Decimal, quantity: Decimal) -> CostLine:
    counted = amount_in_words(Decimal(f"{quantity:.3g}"), unit)
    reckoning = f"{counted} at {Decimal(f'{price:.4g}').normalize():f}"
    return CostLine(words, reckoning, rounded(quantity * price))


def project_ledger(project: Project) -> Ledger:
    """Everything that a project has used so far (nine queries for any number of decals)."""
    decals = set(project.decals.values_list("pk", flat=True))
    sheets = list(
        Sheet.objects.filter(pieces__decal__in=decals, printed_at__isnull=False).distinct()
    )
    prices, shares = Prices(), _shares(sheets, decals)
    minutes = {doing: taken.minutes for doing, taken in minutes_taken().items()}
    rate = UnitPrice(rules().hourly_rate / 60, rules().currency)
    ledger = Ledger()
    ledger.parts += _film(sheets, shares, prices)
    ledger.parts += _used_up(decals, shares, prices)
    ledger.parts += _work(decals, shares, minutes, rate)
    return ledger


@dataclass(frozen=True)
class Share:
    """A decal's part of a sheet: of its area with gaps and waste (mm²), and as a fraction."""

    decal: int
    area: float
    fraction: float


def _shares(sheets: Sequence[Sheet], decals: set[int]) -> dict[int, list[Share]]:
    """How each sheet's charged area falls on these decals; an offcut kept is not charged."""
    pieces: dict[int, list[Piece]] = {}
    found = Piece.objects.filter(sheet__in=sheets).select_related("decal__artwork")
    for piece in found:
        pieces.setdefault(piece.sheet_id, []).append(piece)
    offcuts: dict[int, list[tuple[float, float]]] = {}
    for offcut in Sheet.objects.filter(cut_from__in=sheets):
        size = (float(offcut.width_mm), float(offcut.height_mm))
        offcuts.setdefault(offcut.cut_from_id or 0, []).append(size)
    return {
        sheet.pk: _shares_of(sheet, pieces.get(sheet.pk, []), offcuts.get(sheet.pk, []), decals)
        for sheet in sheets
    }


def _shares_of(
    sheet: Sheet, pieces: list[Piece], offcuts: list[tuple[float, float]], decals: set[int]
) -> list[Share]:
    boxes = [box_of(piece) for piece in pieces]
    size = (float(sheet.width_mm), float(sheet.height_mm))
    try:
        account = film_account(size, boxes, offcuts)
        charged = account.whole - account.offcuts
    except ValueError:  # pieces put on by hand may be more than fits
        charged = size[0] * size[1]
    areas = shared_out(charged, [wide * high for wide, high in boxes])
    by_decal: dict[int, float] = {}
    for piece, area in zip(pieces, areas, strict=True):
        by_decal[piece.decal_id] = by_decal.get(piece.decal_id, 0.0) + area
    return [
        Share(decal, area, area / charged if charged else 0.0)
        for decal, area in by_decal.items()
        if decal in decals
    ]


def box_of(piece: Piece) -> tuple[float, float]:
    """Width and height of a piece in mm, from its place or else from its art."""
    if piece.width_mm and piece.height_mm:
        return piece.width_mm, piece.height_mm
    art = piece.decal.artwork
    return float(art.width_mm) + 2 * EDGE_MM, float(art.height_mm) + 2 * EDGE_MM


def _film(
    sheets: Sequence[Sheet], shares: dict[int, list[Share]], prices: Prices
) -> Iterable[Part]:
    for sheet in sheets:
        supply = film_for(_opened(sheet))
        price = prices.at(supply.pk, sheet.made_at) if supply else None
        each = _of_area(price, supply) if price and supply else None
        words = f"{sheet.get_film_display().capitalize()} film"
        for share in shares[sheet.pk]:
            area = Decimal(repr(share.area / 100))
            yield Part(share.decal, words, "cm²", area, each, sheet.made_at)


def _opened(sheet: Sheet) -> Sheet:
    """The whole sheet that an offcut was once cut from."""
    while sheet.cut_from is not None:
        sheet = sheet.cut_from
    return sheet


def _of_area(price: UnitPrice, film: Supply) -> UnitPrice:
    """The price of a square centimetre of a film bought by the sheet."""
    area = (film.width_mm or 0) * (film.height_mm or 0) / Decimal(100)
    return UnitPrice(price.amount / area, price.currency)


def _used_up(decals: set[int], shares: dict[int, list[Share]], prices: Prices) -> Iterable[Part]:
    lines = StockLine.objects.in_force().filter(kind="used").select_related("supply")
    for line in lines.filter(stage_event__decal__in=decals).select_related("stage_event"):
        price = prices.at(line.supply_id, line.at)
        assert line.stage_event is not None  # noqa: S101 (asked for by the filter)
        yield Part(
            line.stage_event.decal_id, str(line.supply), line.supply.unit, line.amount, price
        )
    for line in lines.filter(sheet_event__sheet__in=shares).select_related("sheet_event"):
        price = prices.at(line.supply_id, line.at)
        assert line.sheet_event is not None  # noqa: S101 (asked for by the filter)
        for share in shares[line.sheet_event.sheet_id]:
            part = line.amount * Decimal(repr(share.fraction))
            yield Part(share.decal, str(line.supply), line.supply.unit, part, price)


def _work(
    decals: set[int],
    shares: dict[int, list[Share]],
    minutes: dict[Doing, int],
    rate: UnitPrice,
) -> Iterable[Part]:
    if not rate.amount:
        return
    done = StageEvent.objects.in_force().filter(
        decal__in=decals, kind="step", how__in=["hand", "early"], to_stage__in=OF_STAGES
    )
    for decal, stage in done.values_list("decal", "to_stage"):
        yield Part(decal, "Bench time", "min", Decimal(minutes[OF_STAGES[stage]]), rate)
    worked = SheetEvent.objects.in_force().filter(sheet__in=shares, kind__in=OF_SHEETS)
    for sheet, kind in worked.values_list("sheet", "kind"):
        for share in shares[sheet]:
            part = Decimal(minutes[OF_SHEETS[kind]]) * Decimal(repr(share.fraction))
            yield Part(share.decal, "Bench time", "min", part, rate)


def project_costs(project: Project) -> list[Cost]:
    """A project's cost so far, in each currency that something was paid in."""
    ledger = project_ledger(project)
    currencies = ledger.currencies or [rules().currency]
    return [ledger.cost(currency) for currency in currencies]


def decal_totals(project: Project) -> list[tuple[Decal, Decimal]]:
    """What each decal of a project has cost so far, in the workshop's currency of today."""
    ledger, currency = project_ledger(project), rules().currency
    decals = project.decals.select_related("artwork").order_by("place", "number")
    return [(decal, ledger.cost(currency, [decal.pk]).total) for decal in decals]
