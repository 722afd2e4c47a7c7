"""Fills one film after the other: offcuts first, then whole sheets, the last one cut short."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from itertools import count, islice, permutations

from decaljobs.craft.layout.firstlayout import Fill
from decaljobs.craft.layout.job import Batch, Job
from decaljobs.craft.layout.model import (
    GAP,
    SMALLEST_OFFCUT,
    LaidSheet,
    Layout,
    Offcut,
    Piece,
    Rest,
    Sheet,
    gapped_area,
)
from decaljobs.craft.layout.search import FillSearch, Limit, StripSearch

#: Kinds worth looking at for one film: those of the waiting pieces, up to this often its area.
ENOUGH_CHOICE = 3
#: Films before the last get this share of the time their area is due (tried out).
KEPT_FOR_LAST = 0.75
#: An offcut gets this often the time its area is due, since no rest of it is kept (tried out),
#: but not more than this share of what is left.
OFFCUT_WEIGHT, MOST_FOR_OFFCUT = 2.5, 0.4
#: With less time than this a film is filled along one side only, s (tried out).
ONE_SIDE_SECONDS = 0.3
#: With more pieces than this left when the time is over, a better layout is given up.
FINISHED_LATE = 400
#: Share of the time for making all that is left fit on one film, before the film is just filled.
MAKE_IT_FIT = 0.6
#: With up to so many pieces, and so many seconds, so many orders of the offcuts are tried, with
#: that share of the time; more pieces fill an offcut well in any order (tried out).
FEW_PIECES, ORDER_SECONDS, MOST_ORDERS, ORDERS_SHARE = 60, 0.3, 6, 0.7


@dataclass(frozen=True)
class Wishes:
    """How to lay out.

    gap: mm between pieces; seconds of the clock, or a number of tries (then the clock counts
    nothing and equal seeds give equal layouts); straight_cuts: every piece can be freed by cuts
    from edge to edge; together: copies of a decal lie side by side where that costs hardly any
    film.
    """

    gap: float = GAP
    seconds: float = 1.0
    iterations: int | None = None
    seed: int = 0
    straight_cuts: bool = False
    together: bool = True
    clock: Callable[[], float] = time.monotonic

    def limit(self) -> Limit:
        """The time, starting now."""
        return Limit(self.seconds, self.iterations, self.clock)


@dataclass(frozen=True)
class FreeFilm:
    """Film to be filled, mm: name, sides of the free part and its place, and the whole area."""

    name: str
    width: float
    height: float
    margin: float
    whole: float


@dataclass(frozen=True)
class Filling:
    """A film with what a search laid on it; short: nothing is left, the film may be cut short."""

    film: FreeFilm
    batch: Batch
    fill: Fill
    short: bool

    def laid_sheet(self) -> LaidSheet:
        """The film in mm, with the rest that one straight cut leaves."""
        job, film, margin = self.batch.job, self.film, self.film.margin
        placements = self.batch.placements(self.fill, margin, margin)
        top, gap = job.mm(self.fill.top), job.gap_mm
        across, along = film.width, film.height
        if self.batch.on_side:
            across, along = along, across
        room = along - top
        usable = min(room, across) >= SMALLEST_OFFCUT
        used, film_mm2 = (film.width + gap) * (film.height + gap), film.whole
        if usable or self.short:
            used = (across + gap) * min(top, along + gap)
            film_mm2 -= max(0.0, room) * (across + 2 * margin) + self._far_margin(across, room)
        fullness = gapped_area(placements, gap) / used
        return LaidSheet(
            film.name, placements, self._rest(room) if usable else None, fullness, film_mm2
        )

    def _far_margin(self, across: float, room: float) -> float:
        """The margin beyond the cut stays with the rest, mm²."""
        return self.film.margin * (across + 2 * self.film.margin) if room > 0 else 0.0

    def _rest(self, room: float) -> Rest:
        film = self.film
        if self.batch.on_side:
            return Rest(film.margin + film.width - room, film.margin, room, film.height)
        return Rest(film.margin, film.margin + film.height - room, film.width, room)


class SheetFiller:
    """Lays out pieces on offcuts, the smallest first, and on as many sheets as it takes."""

    def __init__(self, sheet: Sheet, offcuts: Sequence[Offcut], wishes: Wishes) -> None:
        self.wishes = wishes
        self.offcuts = [
            FreeFilm(cut.name, cut.width, cut.height, 0.0, cut.width * cut.height)
            for cut in sorted(offcuts, key=lambda cut: cut.width * cut.height)
        ]
        self.sheet, self.margin = sheet, sheet.margin

    def improved(self, pieces: Sequence[Piece]) -> Iterator[Layout]:
        """The first layout, then each that takes less film.

        Where there is time for it the offcuts are tried in several orders, and the rest of the
        time goes to the order that took least film.
        """
        limit = self.wishes.limit()
        best, least = self.offcuts, float("inf")
        for order, tries in self._orders(limit, sum(piece.copies for piece in pieces)):
            self.offcuts = order or best
            for fillings in self._passes(Job(pieces, self.wishes.gap, self.wishes.together), tries):
                layout = self._layout(fillings)
                if layout.film_mm2 < least:
                    best, least = self.offcuts, layout.film_mm2
                    yield layout

    def _orders(self, limit: Limit, count: int) -> Iterator[tuple[list[FreeFilm] | None, Limit]]:
        """Orders of the offcuts with the time for each; None: the best of them."""
        yield self.offcuts, Limit(0, 0)
        orders = [list(order) for order in islice(permutations(self.offcuts), MOST_ORDERS)]
        if len(orders) > 1 and count <= FEW_PIECES and limit.seconds >= ORDER_SECONDS:
            for number, order in enumerate(orders):
                left = ORDERS_SHARE * (len(orders) - number) / len(orders)
                part = ORDERS_SHARE / len(orders) / (1 - ORDERS_SHARE + left)
                yield order, limit.share(part)
        yield None, limit

    def _films(self) -> Iterator[FreeFilm]:
        yield from self.offcuts
        sheet = self.sheet
        width, height = sheet.width - 2 * sheet.margin, sheet.height - 2 * sheet.margin
        for number in count(1):
            whole = sheet.width * sheet.height
            yield FreeFilm(f"sheet {number}", width, height, sheet.margin, whole)

    def _passes(self, job: Job, limit: Limit) -> Iterator[list[LaidSheet]]:
        """All pieces laid, again for every better last film."""
        done: list[LaidSheet] = []
        for film in self._films():
            if limit.cut() and job.left() > FINISHED_LATE:
                return
            area = job.grains(film.width) * job.grains(film.height)
            if not area:
                continue
            part = area / job.area_left()
            share = limit.share(self._due(film, part))
            last = None
            for last in self._cut_short(job, film, share):
                yield [*done, last.laid_sheet()]
            if last is not None:
                return
            filling = self._filled(job, film, share)
            if filling is not None:
                done.append(filling.laid_sheet())
                job.take(filling.batch, filling.fill)
                if not job.left():
                    yield done
                    return
            elif film not in self.offcuts:  # a sheet that takes nothing: the next would not either
                return

    def _due(self, film: FreeFilm, part: float) -> float:
        """Share of the time left for a film that takes this part of the area left."""
        if part >= 1.0:
            return 1.0
        if film in self.offcuts:
            return min(MOST_FOR_OFFCUT, OFFCUT_WEIGHT * part)
        return KEPT_FOR_LAST * part

    def _cut_short(self, job: Job, film: FreeFilm, limit: Limit) -> Iterator[Filling]:
        """All that is left on this film, ever shorter, cut along either side."""
        free = job.grains(film.width) * job.grains(film.height)
        if job.area_left() > free:
            return
        part = MAKE_IT_FIT if job.area_left() > 0.9 * free else 1.0
        limit = limit.share(part) if part < 1.0 else limit
        best = None
        for on_side, share in ((False, 0.5), (True, 1.0)):
            batch = self._batch(job, film, on_side, range(len(job.kinds)))
            if batch is None or batch.stock.pieces < job.left():
                continue
            length = job.grains(film.width if on_side else film.height)
            for fill in self._search(StripSearch, batch, length, limit.share(share)):
                used = fill.top * batch.stock.width
                if best is None or used < best:
                    best = used
                    yield Filling(film, batch, fill, short=True)

    def _filled(self, job: Job, film: FreeFilm, limit: Limit) -> Filling | None:
        """The film as full as can be; None where no waiting piece fits."""
        best, most = None, 0
        numbers = self._choice(job, film)
        sides = (
            ((False, 0.5), (True, 1.0)) if limit.seconds >= ONE_SIDE_SECONDS else ((False, 1.0),)
        )
        for on_side, share in sides:
            batch = self._batch(job, film, on_side, numbers)
            if batch is None:
                return None
            length = job.grains(film.width if on_side else film.height)
            for fill in self._search(FillSearch, batch, length, limit.share(share)):
                laid = batch.stock.total - batch.stock.area_of(fill.counts)
                if laid > most:
                    best, most = Filling(film, batch, fill, short=False), laid
        return best

    def _choice(self, job: Job, film: FreeFilm) -> list[int]:
        """Kinds of all sizes, not more than the search can make use of."""
        sides = job.grains(film.width), job.grains(film.height)
        area = sides[0] * sides[1]
        step = max(1.0, job.area_left() / (ENOUGH_CHOICE * area))
        by_size = [
            number
            for number in sorted(
                range(len(job.kinds)),
                key=lambda number: -job.kinds[number].side * job.kinds[number].other,
            )
            if job.waiting[number] and job.fits(number, *sides)
        ]
        return [by_size[int(at * step)] for at in range(int((len(by_size) - 1) / step) + 1)]

    def _batch(
        self, job: Job, film: FreeFilm, on_side: bool, numbers: Sequence[int]
    ) -> Batch | None:
        width, height = job.grains(film.width), job.grains(film.height)
        if on_side:
            width, height = height, width
        return job.batch(width, height, on_side, numbers)

    def _search(
        self, kind: type[StripSearch] | type[FillSearch], batch: Batch, length: int, limit: Limit
    ) -> Iterator[Fill]:
        wishes = self.wishes
        search = kind(
            batch.stock,
            length,
            limit,
            seed=wishes.seed,
            straight=wishes.straight_cuts,
            together=wishes.together,
        )
        return search.improved()

    def _layout(self, sheets: list[LaidSheet]) -> Layout:
        gapped = sum(gapped_area(sheet.placements, self.wishes.gap) for sheet in sheets)
        used = sum(
            gapped_area(sheet.placements, self.wishes.gap) / sheet.fullness for sheet in sheets
        )
        return Layout(tuple(sheets), gapped / used, sum(sheet.film_mm2 for sheet in sheets))
