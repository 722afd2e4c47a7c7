"""The squeeze of a plan: new sheets nested by outline, fuller or cut shorter, if film is saved.

The last sheet's pieces go on the sheets before it as far as they can be nested there; what is left
is nested on the last one, which then is cut shorter, or is not needed at all.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from decaljobs.models import Decal
from decaljobs.services.layout.layouts import Laid, Plan
from decaljobs.services.refused import Refused
from decaljobs.services.squeeze.nesting import LONGEST, WORTH
from decaljobs.services.squeeze.strips import Nested, Progress, Strip, outlines_of

#: Least time that is worth a squeeze, s.
SHORTEST = 1.0
#: Time that the last sheet gets also where none is left, s.
AT_LEAST = 2.0
#: Tries to bring more on a full sheet, and by how much of its pieces' area the first one (tried
#: out); after a try that held it is so much more, after one that did not half as much.
TRIES, FIRST_MORE = 3, 0.06


@dataclass(frozen=True)
class SqueezedPlan:
    """A plan with nested sheets, and the film that they save (on each film), mm²."""

    plan: Plan
    saved_mm2: float


def squeeze_plan(
    plan: Plan,
    *,
    seconds: float = LONGEST,
    progress: Progress = lambda share, shortest: None,
    stopped: Callable[[], bool] = lambda: False,
) -> SqueezedPlan | None:
    """The plan with its new sheets nested by outline; None if that saves nothing.

    Offcuts stay as they are. Raises Refused with straight cuts, and without any new sheet.
    """
    if plan.wishes.straight_cuts:
        raise Refused("Nested pieces do not come apart by straight cuts: choose one of the two.")
    groups = _groups(plan)
    if not groups:
        raise Refused("Only new sheets are squeezed: these pieces all go on offcuts.")
    watch = _Watch(seconds, progress, stopped)
    sheets = [plan.laid[at] for group in groups for at in group]
    strip = Strip(
        plan.wishes, outlines_of(piece.decal.artwork for laid in sheets for piece in laid.pieces)
    )
    laid: dict[int, Laid | None] = dict(enumerate(plan.laid))
    for number, group in enumerate(groups):
        nester = _Nester(plan, strip, watch, watch.left / (len(groups) - number))
        laid |= dict(zip(group, nester.nested([plan.laid[at] for at in group]), strict=True))
    return _squeezed(plan, [sheet for sheet in laid.values() if sheet is not None], strip)


def _groups(plan: Plan) -> list[list[int]]:
    """Which new sheets have one layout: all, or those of each film with its own places."""
    groups: dict[object, list[int]] = {}
    for at, laid in enumerate(plan.laid):
        if laid.is_new:
            groups.setdefault(None if plan.wishes.same_places else laid.films, []).append(at)
    return list(groups.values())


def _squeezed(plan: Plan, laid: Sequence[Laid], strip: Strip) -> SqueezedPlan | None:
    """What became of the plan, if it takes less film."""
    saved = sum(strip.used(one) for one in plan.laid) - sum(strip.used(one) for one in laid)
    if saved <= 0:
        return None
    gap = plan.wishes.gap
    change = sum(
        strip.area_of(piece.decal) - (piece.place.width + gap) * (piece.place.height + gap)
        for sheet in laid
        for piece in sheet.pieces
        if piece.outline
    )
    film = plan.film_mm2 - saved
    used = (plan.utilisation * plan.film_mm2 + change) / film
    better = replace(plan, laid=tuple(laid), film_mm2=film, utilisation=used)
    return SqueezedPlan(better, saved)


class _Watch:
    """The time that is left, how far it is over, and whether to stop."""

    def __init__(self, seconds: float, progress: Progress, stopped: Callable[[], bool]) -> None:
        self.seconds, self.progress, self.stopped = seconds, progress, stopped
        self.until = time.monotonic() + seconds

    @property
    def left(self) -> float:
        return max(0.0, self.until - time.monotonic())

    def told(self, share: float, shortest: float | None) -> None:
        self.progress(min(1.0, 1 - self.left / self.seconds), shortest)

    def over(self) -> bool:
        return self.stopped() or self.left < SHORTEST


class _Nester:
    """Nests the new sheets of one layout."""

    def __init__(self, plan: Plan, strip: Strip, watch: _Watch, seconds: float) -> None:
        self.strip, self.watch = strip, watch
        self.until = time.monotonic() + seconds
        self.layers = {want.decal.pk: {one.layer for one in want.layers} for want in plan.wanted}

    def nested(self, sheets: Sequence[Laid]) -> list[Laid | None]:
        """Each sheet as it is nested, or as it was; None for a last one that is not needed."""
        *full, last = sheets
        pool = [piece.decal for piece in last.pieces]
        done: list[Laid | None] = []
        for number, sheet in enumerate(full):
            fuller = self._fuller(sheet, pool, self._left() / (len(full) - number + 1))
            done.append(fuller)
        if not pool:
            return [*done, None]
        shorter = self._shorter(last, pool)
        if shorter is not None:
            return [*done, shorter]
        return list(sheets)

    def _left(self) -> float:
        return max(0.0, self.until - time.monotonic())

    def _fuller(self, sheet: Laid, pool: list[Decal], seconds: float) -> Laid:
        """The sheet with as many decals of the pool as can be nested on it; they leave the pool."""
        own = [piece.decal for piece in sheet.pieces]
        area = sum(map(self.strip.area_of, own))
        best, taken, more, step = sheet, 0, FIRST_MORE, FIRST_MORE
        for _ in range(TRIES):
            extra = self._extra(sheet, pool, more * area)
            if len(extra) <= taken or self.watch.over():
                break
            found = self._fitted([*own, *extra], max(SHORTEST, seconds / TRIES))
            step /= 1 if found else 2
            more += step if found else -step
            if found:
                best, taken = replace(sheet, pieces=found.pieces, rest=found.rest), len(extra)
        for decal in self._extra(sheet, pool, float("inf"))[:taken] if taken else ():
            pool.remove(decal)
        return best

    def _extra(self, sheet: Laid, pool: Sequence[Decal], area: float) -> list[Decal]:
        """Decals of the pool, in its order, that want no other film, up to that area."""
        chosen = []
        for decal in pool:
            films = {layer.film for layer in self.layers[decal.pk]}
            if films <= set(sheet.films):
                area -= self.strip.area_of(decal)
                if area < 0:
                    break
                chosen.append(decal)
        return chosen

    def _fitted(self, decals: Sequence[Decal], seconds: float) -> Nested | None:
        """The decals on one whole sheet: the first nesting that is short enough will do."""
        shortest: list[float] = []

        def told(share: float, length: float | None) -> None:
            self.watch.told(share, length)
            if length is not None:
                shortest.append(length)

        def enough() -> bool:
            fits = bool(shortest) and shortest[-1] <= self.strip.height + self.strip.wishes.gap
            return fits or self.watch.over()

        return self.strip.nested(
            decals,
            length=self.strip.height + WORTH,
            seconds=min(seconds, LONGEST),
            progress=told,
            stopped=enough,
        )

    def _shorter(self, last: Laid, pool: Sequence[Decal]) -> Laid | None:
        """The last sheet with what is left for it, cut short."""
        whole = len(pool) == len(last.pieces)
        gap = self.strip.wishes.gap if any(last.rest) else 0.0
        length = self.strip.used(last) / self.strip.width - gap
        stopped, seconds = self.watch.stopped, self._left()
        if not whole:
            length = self.strip.height + WORTH
            if stopped() or seconds < AT_LEAST:
                # The pieces that are left must lie somewhere, or all was for nothing.
                stopped, seconds = (lambda: False), AT_LEAST
        elif stopped() or seconds < SHORTEST:
            return last
        found = self.strip.nested(
            pool,
            length=length,
            seconds=min(seconds, LONGEST),
            progress=self.watch.told,
            stopped=stopped,
        )
        if found is None:
            return last if whole else None
        wanted = {layer.film for decal in pool for layer in self.layers[decal.pk]}
        films = tuple(film for film in last.films if film in wanted)
        return replace(last, films=films, pieces=found.pieces, rest=found.rest)
