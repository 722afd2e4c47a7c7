"""Keeping promises: packings that keep one are put in order, and the best plan is remembered."""

from __future__ import annotations

from collections.abc import Callable
from math import sqrt

from decaljobs.craft.plan.budget import Budget
from decaljobs.craft.plan.guide import Guide
from decaljobs.craft.plan.orders import Orders
from decaljobs.craft.plan.packing import Packing, Sessions
from decaljobs.craft.plan.promises import Promise, Promises
from decaljobs.craft.plan.timeline import Timeline

#: Changes of one packing at a time, and how many between two looks at the clock (tried out).
CHANGES, BATCH = 2500, 40
#: Changes after which it is seen how near a packing comes at first (tried out).
FIRST_LOOK = 240
#: Minutes too many that are borne at the start and at the end of them (tried out).
WARM, COOL = 5.0, 2.0
#: Packings that are put in order at a time; times after which one is begun anew (tried out).
MOST_ORDERS, ANEW = 20, 4


class Work:
    """One promise and what was done for it."""

    def __init__(self, promise: Promise, sessions: Sessions, chance: Callable[[], float]) -> None:
        self.promise = promise
        self.packing = Packing(sessions, promise.high, chance, promise.until, promise.sprayed)
        self.times, self.nearest = 0, 0

    @property
    def hope(self) -> float:
        """The more it may save and the nearer it came, the sooner it is worked on again."""
        return sqrt(self.promise.gain) / ((1 + self.times) * (1 + self.nearest))


class Keeper:
    """Works on one promise after the other; ``best`` is the best plan met."""

    def __init__(self, timeline: Timeline, guide: Guide, chance: Callable[[], float]) -> None:
        self.best, self.guide, self.chance = timeline, guide, chance
        self.model = timeline.model
        self.promises = Promises(self.model)
        self.orders = Orders(self.promises.sessions)
        self.tries = 0

    def run(self, budget: Budget) -> None:
        """Until the budget is spent, or nothing better can be promised."""
        while budget.spent(self.tries) < 1.0:
            best = self.best.cost
            works = self._begun(budget)
            if self.best.cost == best and not works:
                return
            while self.best.cost == best and budget.spent(self.tries) < 1.0:
                self._work(max(works, key=lambda work: work.hope), budget, CHANGES)

    def _begun(self, budget: Budget) -> list[Work]:
        """A short look at every promise in any order, since one kept rules out the dearer ones."""
        works: list[Work] = []
        best = self.best.cost
        for draft in sorted(self.promises.better_than(best), key=lambda _: self.chance()):
            if self.best.cost < best or budget.spent(self.tries) >= 1.0:
                break
            promise = self.promises.made(draft)
            if promise is not None:
                works.append(Work(promise, self.promises.sessions, self.chance))
                self._work(works[-1], budget, FIRST_LOOK)
        return works

    def _work(self, work: Work, budget: Budget, changes: int) -> None:
        """Change the packing for a while and put in order what packs well."""
        packing = work.packing
        work.times += 1
        if work.times % ANEW == 0:
            packing.begin_anew()
        met: set[tuple[int, ...]] = set()
        work.nearest = packing.over
        for done in range(0, changes, BATCH):
            self.tries += 1
            if len(met) > MOST_ORDERS or budget.spent(self.tries) >= 1.0:
                return
            temperature = WARM + (COOL - WARM) * done / changes
            for _ in range(BATCH):
                packing.change(temperature)
                work.nearest = min(work.nearest, packing.over)
                if packing.over == 0 and (place := tuple(packing.place)) not in met:
                    met.add(place)
                    if self._put_in_order(work):
                        return

    def _put_in_order(self, work: Work) -> bool:
        """Whether the packing became a better plan."""
        packing, promise = work.packing, work.promise
        self.tries += 1
        order = self.orders.of(packing.place, promise.limits, promise.until)
        if order.stuck >= 0:
            packing.dislike(order.stuck)
            return False
        plan = Timeline(self.model, order.tasks, packing.unsprayed(), self.guide)
        if plan.cost >= self.best.cost:
            return False
        self.best = plan
        return True
