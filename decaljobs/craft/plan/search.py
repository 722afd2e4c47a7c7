"""Seeded annealing over rankings, until the time given is over."""

from __future__ import annotations

from math import exp, log

from decaljobs.craft.plan.budget import Budget
from decaljobs.craft.plan.model import Model
from decaljobs.craft.plan.moves import Moves, seeded
from decaljobs.craft.plan.timeline import Timeline

#: The temperature at the start, as a share of what a session's delay costs, and at the end,
#: minutes (both tried out).
HOT, COLD = 0.1, 20.0
#: The guide is gone after this share of a round.
GUIDED = 0.8
#: Tries between two looks at the clock.
BATCH = 16
#: Tries after which the tasks are ranked by their times again: at least, and for each task.
SORT_AFTER, SORT_PER_TASK = 64, 0.5
#: So few tasks are worked on in rounds, each begun anew.
FEW_TASKS = 20
ROUNDS = 4


class Annealing:
    """Changes a timeline and keeps the best ranking met."""

    def __init__(self, timeline: Timeline, seed: int) -> None:
        self.timeline = timeline
        self.chance = seeded(seed)
        self.moves = Moves(timeline, self.chance)
        self.tries = 0
        self.sorted_at = 0
        self._remember(timeline.cost)

    def _remember(self, cost: float) -> None:
        self.best = cost
        self.best_order = tuple(self.timeline.slots.order)
        self.best_unsprayed = frozenset(self.timeline.slots.unsprayed)

    def run(self, budget: Budget, hot: float = HOT) -> None:
        """Anneal until the budget is spent; ``hot`` is a share of what a delay costs."""
        if len(self.timeline.model.tasks) < 2:
            return
        hot = max(hot * delay_cost(self.timeline.model), 2 * COLD)
        cooling = log(COLD / hot)
        rounds = ROUNDS if len(self.timeline.model.tasks) <= FEW_TASKS else 1
        while (spent := budget.spent(self.tries)) < 1.0:
            spent = spent * rounds % 1.0
            self._sort()
            self._batch(hot * exp(cooling * spent), max(0.0, 1.0 - spent / GUIDED))

    def _sort(self) -> None:
        """Now and then rank the tasks by their times, for changes that spread little."""
        pause = max(SORT_AFTER, SORT_PER_TASK * len(self.timeline.model.tasks))
        if self.tries - self.sorted_at >= pause:
            self.sorted_at = self.tries
            self.timeline = self.moves.timeline = self.timeline.sorted_by_time()

    def _batch(self, temperature: float, guided: float) -> None:
        timeline, chance, draw = self.timeline, self.chance, self.moves.draw
        for _ in range(BATCH):
            self.tries += 1
            move = draw()
            if move is None:
                continue
            bound = timeline.cost + guided * timeline.pull - temperature * log(1.0 - chance())
            cost = timeline.attempt(move)
            if cost + guided * timeline.pull > bound:
                timeline.undo()
                continue
            timeline.keep(cost)
            if cost < self.best:
                self._remember(cost)


def delay_cost(model: Model) -> float:
    """What it costs, in minutes, to put a project of mean weight off to the next session.

    >>> from types import SimpleNamespace as Part
    >>> evenings = Part(sessions=("Mon", "Wed", "Fri"))
    >>> delay_cost(Part(benches=(evenings,), weight=[20.0, 40.0], horizon=6 * 24 * 60))
    86400.0
    """
    sessions = sum(len(bench.sessions) for bench in model.benches)
    weight = sum(model.weight) / max(1, len(model.weight))
    return max(1.0, weight) * model.horizon / max(1, sessions)
