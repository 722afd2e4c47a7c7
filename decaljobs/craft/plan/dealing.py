"""Dealing: plans of many projects, found as deals of their tasks to the sessions of one maker.

Deals are annealed in rounds. What costs less than the best plan known and has no overfull session
is put in order session by session; what comes out is a plan.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Callable
from math import exp, log

from decaljobs.craft.plan.budget import Budget
from decaljobs.craft.plan.deal import Deal, Met
from decaljobs.craft.plan.dealmoves import DealMoves
from decaljobs.craft.plan.dealsprays import DealSprays
from decaljobs.craft.plan.dealsteps import DealSteps
from decaljobs.craft.plan.guide import Guide
from decaljobs.craft.plan.model import FAR, Model
from decaljobs.craft.plan.orders import Orders
from decaljobs.craft.plan.packing import Sessions
from decaljobs.craft.plan.search import delay_cost
from decaljobs.craft.plan.timeline import Timeline

#: Steps, changes that drag others along and moves of spraying between two looks at the clock, and
#: looks between two plans put in order (tried out).
STEPS, CHANGES, SPRAYS, PAUSE = 400, 8, 1, 10
#: Rounds, each begun hot again (tried out).
ROUNDS = 2
#: More tasks take too long to be dealt often enough.
MOST_TASKS = 400
#: As shares of what a session's delay costs: temperatures at a round's start and end, those for
#: moves of spraying at the start and end of all, and the price of a minute too many, at first and
#: at the least (all tried out).
HOT, COLD, GREAT_HOT, GREAT_COLD, PRICE, LEAST_PRICE = 0.06, 0.0007, 0.15, 0.03, 0.014, 0.0014
#: How prices rise and fall, powers of e in a round. After the share ``SETTLE`` they only rise, at a
#: rate of their own, until no session is overfull (all tried out).
RISE, FALL, SETTLE, SETTLING = 12.0, 2.4, 0.85, 100.0
#: The guide is gone after this share of a round.
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
        and all(place[task].session <= last for task, last in enumerate(_last_sessions(model)))
    )


def _last_sessions(model: Model) -> list[int]:
    """The session after which each task has no more; an earlier one only where it is pinned."""
    starts = model.benches[0].starts[:-1]
    return [bisect_right(starts, latest) - 1 for latest in model.latest]


class Dealer:
    """Anneals deals; ``best`` is the best plan met."""

    def __init__(self, timeline: Timeline, guide: Guide, chance: Callable[[], float]) -> None:
        self.best, self.guide, self.chance = timeline, guide, chance
        self.model = model = timeline.model
        self.sessions = Sessions(model)
        self.orders = Orders(self.sessions)
        self.limits = [
            min(model.horizon, latest + minutes)
            for latest, minutes in zip(model.latest, model.minutes, strict=True)
        ]
        self.delay = delay_cost(model)
        place = [place.session for place in timeline.slots.place]
        self.deal = Deal(self.sessions, place, guide, PRICE * self.delay)
        self.deal.lowest = LEAST_PRICE * self.delay
        high = _last_sessions(model)
        self.moves = DealMoves(self.deal, high, chance)
        self.steps = DealSteps(self.deal, high, chance)
        self.sprays = DealSprays(self.deal, self.moves, self.steps)
        self.bound, self.tries = timeline.cost, 0
        self.met: list[int] | None = None

    def run(self, budget: Budget) -> None:
        """Until the budget is spent."""
        known = 0.0
        while (spent := budget.spent(self.tries)) < 1.0:
            share = spent * ROUNDS % 1.0
            self.deal.guided = max(0.0, 1.0 - share / GUIDED)
            self._reprice(share, max(0.0, share - known))
            known = share
            self._batch(_cooled(HOT, COLD, share), _cooled(GREAT_HOT, GREAT_COLD, spent))
            if self.met and self.tries % PAUSE == 0:
                self._put_in_order(self.met)
        if self.met:
            self._put_in_order(self.met)

    def _reprice(self, share: float, passed: float) -> None:
        """Prices after a batch, at a share of the round of which ``passed`` is new."""
        if share < SETTLE:
            self.deal.reprice(exp(RISE * passed), exp(-FALL * passed))
        else:
            self.deal.reprice(exp(SETTLING * passed), 1.0)

    def _batch(self, small: float, great: float) -> None:
        """Changes of all kinds at temperatures that are shares of a delay's cost."""
        deal, chance = self.deal, self.chance
        temperature = small * self.delay
        self.tries += 1
        for _ in range(CHANGES):
            changes = self.moves.draw()
            if changes and deal.change(changes, -temperature * log(1.0 - chance())):
                self._note(deal.met(self.bound))
        self._note(self.steps.make(STEPS, temperature, self.bound))
        for _ in range(SPRAYS):
            self._note(self.sprays.change(temperature, great * self.delay, self.bound))

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
            sprayed = {place[task] for task, air in enumerate(self.model.airbrush) if air}
            unsprayed = set(range(len(self.sessions.room))) - sprayed
            plan = Timeline(self.model, order.tasks, unsprayed, self.guide)
            if plan.cost < self.best.cost:
                self.best = plan
                return
        self.bound = self.best.cost


def _cooled(hot: float, cold: float, share: float) -> float:
    """What lies between two temperatures when a share of the time between is over."""
    return hot * (cold / hot) ** share
