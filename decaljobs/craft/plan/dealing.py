"""Dealing: plans of many projects, found as deals of their tasks to the sessions of one maker.

Deals are annealed. Minutes too many are allowed on the way, ever fewer of them, and prices see to
that. What costs less than the best plan known and has no overfull session is put in order session
by session; what comes out is a plan.
"""

from __future__ import annotations

from collections.abc import Callable
from math import exp, log
from statistics import fmean

from decaljobs.craft.plan.budget import Budget
from decaljobs.craft.plan.deal import Deal, Met
from decaljobs.craft.plan.dealmoves import DealMoves
from decaljobs.craft.plan.dealsprays import DealSprays
from decaljobs.craft.plan.dealsteps import DealSteps
from decaljobs.craft.plan.guide import Guide
from decaljobs.craft.plan.model import FAR
from decaljobs.craft.plan.orders import Orders
from decaljobs.craft.plan.packing import Sessions, last_ends, last_sessions
from decaljobs.craft.plan.search import delay_cost
from decaljobs.craft.plan.timeline import Timeline

#: Steps, changes that drag others along and moves of spraying between two looks at the clock, and
#: looks between two plans put in order (tried out).
STEPS, CHANGES, SPRAYS, PAUSE = 400, 8, 1, 10
#: More tasks take too long to be dealt often enough.
MOST_TASKS = 400
#: The price of a minute too many, at first and at the least, and the hottest and coldest
#: temperature: shares of what a session's delay costs (all tried out).
PRICE, LEAST_PRICE, HOTTEST, COLD = 0.014, 0.0014, 0.2, 0.0007
#: Temperatures at the start and until deals settle, and those for moves of spraying at the start
#: and end, in minutes too many that cost as much at the mean price: what is overfull stays movable
#: however high prices are (all tried out).
HOT, COOL, GREAT_HOT, GREAT_COLD = 4.5, 0.4, 10.0, 5.0
#: Minutes too many that are wanted at the start and at the least, as shares of all work, and the
#: share of the time in which they shrink to 1/e. With more of them prices rise faster, at most so
#: many times, and fall more slowly (all tried out).
WANTED, LEAST_WANTED, SHRINKING, FASTER = 0.05, 0.0003, 0.2, 3.0
#: How prices of overfull sessions rise and the others fall, powers of e over all the time; they
#: fall less and less. From the share ``SETTLE`` on the overfull ones rise faster, and as long as
#: there is one the others too, lest the same minutes go round (all tried out).
RISE, FALL, SETTLE, SETTLING, LIFT = 7.0, 6.0, 0.92, 45.0, 25.0
#: How slowly the minutes too many are followed: the part of what was that is kept at each look.
FOLLOWED = 0.95
#: The guide is gone after this share of the time.
GUIDED = 0.8


def can_deal(timeline: Timeline) -> bool:
    """Whether a plan is of the form meant here: one maker, projects that compete, all planned.

    >>> from datetime import UTC, datetime, timedelta
    >>> from decaljobs.craft.plan.model import benches_of, build_model
    >>> from decaljobs.craft.plan.tasks import PlanInput, Session, Task
    >>> noon, hour = datetime(2026, 3, 2, 12, tzinfo=UTC), timedelta(hours=1)
    >>> tasks = (Task("hull", "boat", "lay", 60), Task("fret", "tram", "lay", 60))
    >>> sessions = tuple(Session("Ada", noon + n * hour, noon + (n + 1) * hour) for n in (0, 24))
    >>> plan_input = PlanInput(noon, tasks, (), sessions)
    >>> model = build_model(plan_input, tasks, benches_of(noon, sessions))
    >>> can_deal(Timeline(model, (0, 1)))
    True
    """
    model, place = timeline.model, timeline.slots.place
    return (
        len(model.benches) == 1
        and len(model.benches[0].sessions) > 1
        and len(model.projects) > 1
        and len(model.tasks) <= MOST_TASKS
        and all(place[task].session <= last for task, last in enumerate(last_sessions(model)))
    )


class Dealer:
    """Anneals deals; ``best`` is the best plan met."""

    def __init__(self, timeline: Timeline, guide: Guide, chance: Callable[[], float]) -> None:
        self.best, self.guide, self.chance = timeline, guide, chance
        self.model = model = timeline.model
        self.sessions = Sessions(model)
        self.orders = Orders(self.sessions)
        self.limits = last_ends(model)
        self.delay = delay_cost(model)
        place = [place.session for place in timeline.slots.place]
        self.deal = Deal(self.sessions, place, guide, PRICE * self.delay)
        self.deal.lowest = LEAST_PRICE * self.delay
        high = last_sessions(model)
        self.moves = DealMoves(self.deal, high, chance)
        self.steps = DealSteps(self.deal, high, chance)
        self.sprays = DealSprays(self.deal, self.moves, self.steps)
        self.work = max(1, sum(model.minutes))
        self.over = WANTED * self.work
        self.warm = COLD * self.delay
        self.bound, self.tries = timeline.cost, 0
        self.met: list[int] | None = None

    def run(self, budget: Budget) -> None:
        """Until the budget is spent."""
        known = 0.0
        while (share := budget.spent(self.tries)) < 1.0:
            self.deal.guided = max(0.0, 1.0 - share / GUIDED)
            self._reprice(share, share - known)
            known = share
            self._batch(*self._temperatures(share))
            if self.met and self.tries % PAUSE == 0:
                self._put_in_order(self.met)
        if self.met:
            self._put_in_order(self.met)

    def _reprice(self, share: float, passed: float) -> None:
        """Prices after a batch, at a share of the time of which ``passed`` is new."""
        self.over = FOLLOWED * self.over + (1 - FOLLOWED) * self.deal.over
        if share >= SETTLE:
            self.deal.reprice(exp(SETTLING * passed), exp(LIFT * passed) if self.deal.over else 1.0)
            return
        wanted = self.work * max(LEAST_WANTED, WANTED * exp(-share / SHRINKING))
        above = self.over / wanted
        rise = RISE * min(FASTER, max(1.0, above))
        fall = FALL * (1.0 - share) / max(1.0, above)
        self.deal.reprice(exp(rise * passed), exp(-fall * passed))

    def _temperatures(self, share: float) -> tuple[float, float]:
        """Those for small changes and for moves of spraying, at a share of the time."""
        price = fmean(self.deal.prices)
        great = price * _cooled(GREAT_HOT, GREAT_COLD, share)
        if share < SETTLE:
            self.warm = min(HOTTEST * self.delay, price * _cooled(HOT, COOL, share))
            return self.warm, great
        return _cooled(self.warm, COLD * self.delay, (share - SETTLE) / (1 - SETTLE)), great

    def _batch(self, temperature: float, great: float) -> None:
        """Changes of all kinds; ``great`` is the temperature for moves of spraying."""
        deal, chance = self.deal, self.chance
        self.tries += 1
        for _ in range(CHANGES):
            changes = self.moves.draw()
            if changes and deal.change(changes, -temperature * log(1.0 - chance())):
                self._note(deal.met(self.bound))
        self._note(self.steps.make(STEPS, temperature, self.bound))
        for _ in range(SPRAYS):
            self._note(self.sprays.change(temperature, great, self.bound))

    def _note(self, met: Met | None) -> None:
        if met:
            self.bound, self.met = met

    def _put_in_order(self, place: list[int]) -> None:
        """Make a plan of a deal, and remember it if it is better."""
        self.met = None
        order = self.orders.of(place, self.limits, FAR)
        if order.stuck >= 0:
            self.deal.dislike(task for task, there in enumerate(place) if there == order.stuck)
        else:
            unsprayed = self.sessions.unsprayed(place)
            plan = Timeline(self.model, order.tasks, unsprayed, self.guide)
            if plan.cost < self.best.cost:
                self.best = plan
                return
        self.bound = self.best.cost


def _cooled(hot: float, cold: float, share: float) -> float:
    """What lies between two temperatures when a share of the time between is over."""
    return hot * (cold / hot) ** share
