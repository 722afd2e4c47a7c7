"""The queue laid out on sheets and offcuts: the seam between records and the layout's own rules."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass

from decaljobs.craft.layout import model as craft
from decaljobs.craft.layout.place import Place, Ring
from decaljobs.craft.sheetlayout import improve
from decaljobs.craft.stages import Film
from decaljobs.models import Decal, Sheet
from decaljobs.services.layout.copies import Wanted
from decaljobs.services.refused import Refused

#: Time for the first layout that a page shows at once, s.
AT_ONCE = 0.02


@dataclass(frozen=True)
class LayoutWishes:
    """What new sheets are like, and how the pieces are to lie on them (mm)."""

    printer: str
    width_mm: float
    height_mm: float
    margin_mm: float
    gap: float = 3.0
    straight_cuts: bool = False
    together: bool = True
    same_places: bool = True
    seconds: float = 1.0


@dataclass(frozen=True)
class LaidPiece:
    """Where one copy of a decal lies, and how it is turned.

    outline: corners in mm from the picture's own top left corner, if it is nested by them.
    """

    decal: Decal
    place: Place
    outline: Ring | None = None


@dataclass(frozen=True)
class Laid:
    """One set of places: on a film, or on both alike; on new sheets or on offcuts at hand."""

    films: tuple[Film, ...]
    offcuts: tuple[Sheet, ...]
    width_mm: float
    height_mm: float
    pieces: tuple[LaidPiece, ...]
    rest: tuple[float, float]

    @property
    def is_new(self) -> bool:
        return not self.offcuts

    @property
    def fullness(self) -> float:
        """The part of the sheet that is no longer free for one more cut-off rest (0 to 1)."""
        return 1 - self.rest[0] * self.rest[1] / (self.width_mm * self.height_mm)


@dataclass(frozen=True)
class Plan:
    """The whole queue laid out: every set of places, how well they are used, and film in mm²."""

    laid: tuple[Laid, ...]
    wanted: tuple[Wanted, ...]
    wishes: LayoutWishes
    utilisation: float
    film_mm2: float

    @property
    def both_films(self) -> bool:
        """Whether its film counts once for white and once for clear."""
        return self.wishes.same_places and any(len(laid.films) > 1 for laid in self.laid)

    @property
    def new_sheets(self) -> int:
        return sum(len(laid.films) for laid in self.laid if laid.is_new)


def plan_layout(
    wanted: Sequence[Wanted], wishes: LayoutWishes, offcuts: Sequence[Sheet] = ()
) -> Plan:
    """Lay the queue out on the offcuts given and on new sheets. Raises Refused.

    With the same places on both films a decal gets as many places as its layer that wants most.
    """
    return list(improved_plans(wanted, wishes, offcuts))[-1]


def improved_plans(
    wanted: Sequence[Wanted],
    wishes: LayoutWishes,
    offcuts: Sequence[Sheet] = (),
    *,
    clock: Callable[[], float] = time.monotonic,
) -> Iterator[Plan]:
    """As `plan_layout`, but every plan on the way, each with less film than the last."""
    if not wanted:
        raise Refused("Nothing waits for the next sheet.")
    if not any(want.layers for want in wanted):
        raise Refused(
            "Enough good pieces of what is queued lie here already: nothing is to be printed, "
            "unless you want other copies of a decal."
        )
    at_hand = [sheet for sheet in offcuts if sheet.printer == wishes.printer]
    groups = _groups(wanted, wishes)
    part = max(wishes.seconds / len(groups), AT_ONCE)
    done: dict[tuple[Film, ...], _Group] = {}
    for films in groups:
        stock = _stock(films, at_hand)
        for layout in _improve(_copies(wanted, films), stock, wishes, part, clock):
            done[films] = _Group(films, stock, layout)
            if len(done) == len(groups):
                yield _plan(list(done.values()), wanted, wishes)


@dataclass(frozen=True)
class _Group:
    """Films of one layout, the offcuts at hand for them, and the layout."""

    films: tuple[Film, ...]
    stock: dict[str, tuple[Sheet, ...]]
    layout: craft.Layout


def _plan(groups: Sequence[_Group], wanted: Sequence[Wanted], wishes: LayoutWishes) -> Plan:
    decals = {name_of(want.decal): want for want in wanted}
    laid = [
        _laid(sheet, group.films, group.stock, decals, wishes)
        for group in groups
        for sheet in group.layout.sheets
    ]
    film = sum(group.layout.film_mm2 for group in groups)
    used = sum(group.layout.utilisation * group.layout.film_mm2 for group in groups)
    return Plan(tuple(laid), tuple(wanted), wishes, used / film if film else 0.0, film)


def _groups(wanted: Sequence[Wanted], wishes: LayoutWishes) -> list[tuple[Film, ...]]:
    """The films that are laid out with one set of places."""
    needed = {layer.layer.film for want in wanted for layer in want.layers}
    films = tuple(film for film in Film if film in needed)
    return [films] if wishes.same_places else [(film,) for film in films]


def _copies(wanted: Iterable[Wanted], films: tuple[Film, ...]) -> list[tuple[Decal, int]]:
    """How many places each decal gets on these films."""
    counted = []
    for want in wanted:
        copies = [layer.copies for layer in want.layers if layer.layer.film in films]
        if copies:
            counted.append((want.decal, max(copies)))
    return counted


def _stock(films: tuple[Film, ...], sheets: Sequence[Sheet]) -> dict[str, tuple[Sheet, ...]]:
    """The offcuts that these films can go on, by name: on both films in pairs of like size."""
    lists = [[sheet for sheet in sheets if sheet.film == film] for film in films]
    if len(films) == 1:
        return {sheet.code: (sheet,) for sheet in lists[0]}
    pairs: dict[str, tuple[Sheet, ...]] = {}
    left = list(lists[1])
    for white in lists[0]:
        like = min(left, key=lambda clear: _unlike(white, clear), default=None)
        if like is not None:
            left.remove(like)
            pairs[f"{white.code} and {like.code}"] = (white, like)
    return pairs


def _unlike(one: Sheet, other: Sheet) -> float:
    return float(abs(one.width_mm - other.width_mm) + abs(one.height_mm - other.height_mm))


def _size(sheets: Sequence[Sheet]) -> tuple[float, float]:
    """What lies on all of these sheets when they are laid corner on corner, mm."""
    return (
        min(float(sheet.width_mm) for sheet in sheets),
        min(float(sheet.height_mm) for sheet in sheets),
    )


def _improve(
    copies: Sequence[tuple[Decal, int]],
    stock: dict[str, tuple[Sheet, ...]],
    wishes: LayoutWishes,
    seconds: float,
    clock: Callable[[], float],
) -> Iterator[craft.Layout]:
    """The margin is taken off here, from sheets and offcuts alike: no printer reaches it."""
    pieces = [kind_of(decal, number) for decal, number in copies]
    edge = 2 * wishes.margin_mm
    offcuts = []
    for name, sheets in stock.items():
        wide, high = (side - edge for side in _size(sheets))
        if min(wide, high) > wishes.gap:
            offcuts.append(craft.Offcut(name, wide, high))
    try:
        return improve(
            pieces,
            craft.Sheet(wishes.width_mm - edge, wishes.height_mm - edge),
            gap=wishes.gap,
            offcuts=offcuts,
            seconds=seconds,
            straight_cuts=wishes.straight_cuts,
            together=wishes.together,
            clock=clock,
        )
    except craft.LayoutError as error:
        raise Refused(str(error)) from error


def kind_of(decal: Decal, copies: int) -> craft.Piece:
    """A decal as a layout takes it: its picture's box, mm, and whether it may be turned."""
    art = decal.artwork
    wide, high = float(art.width_mm), art.height_mm
    return craft.Piece(name_of(decal), wide, high, copies, turn=not decal.upright)


def name_of(decal: Decal) -> str:
    """What a decal is called in a layout: no two are called the same."""
    return f"{decal.words}, {decal.project.code}"


def placed(place: craft.Placement, edge: float) -> Place:
    """A placement inside the margin as a place on the sheet: a quarter turn goes anticlockwise."""
    return Place(
        round(place.x + edge, 3),
        round(place.y + edge, 3),
        place.width,
        place.height,
        90 if place.turned else 0,
    )


def _laid(
    sheet: craft.LaidSheet,
    films: tuple[Film, ...],
    stock: dict[str, tuple[Sheet, ...]],
    decals: dict[str, Wanted],
    wishes: LayoutWishes,
) -> Laid:
    offcuts = stock.get(sheet.source, ())
    wide, high = _size(offcuts) if offcuts else (wishes.width_mm, wishes.height_mm)
    on_it = {place.name for place in sheet.placements}
    layers = {layer.layer for name in on_it for layer in decals[name].layers}
    needed = tuple(film for film in films if film.layer in layers)
    edge = wishes.margin_mm
    rest = (sheet.offcut.width, sheet.offcut.height) if sheet.offcut else (0.0, 0.0)
    return Laid(
        films=needed,
        offcuts=tuple(offcut for offcut in offcuts if offcut.film in needed),
        width_mm=wide,
        height_mm=high,
        pieces=tuple(
            LaidPiece(decals[place.name].decal, placed(place, edge)) for place in sheet.placements
        ),
        rest=rest,
    )
