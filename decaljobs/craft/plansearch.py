"""Seeded annealing over the order of tasks, until the time given is over."""

from __future__ import annotations

import random
from collections.abc import Callable
from math import exp, log

from decaljobs.craft.plantimeline import Timeline

#: Start and end of the temperature, as shares of the first plan's cost per task (tried out).
HOT, COLD = 1.0, 0.005
REACH = 30


class Budget:
    """How much of the search is over, 0 to 1, by iterations or by a clock (seconds)."""

    def __init__(
        self, seconds: float, iterations: int | None, clock: Callable[[], float]
    ) -> None:
        self.seconds, self.iterations, self.clock = seconds, iterations, clock
        self.began = clock() if iterations is None else 0.0

    def spent(self, tries: int) -> float:
        if self.iterations is not None:
            return tries / self.iterations if self.iterations else 1.0
        return (self.clock() - self.began) / self.seconds if self.seconds > 0 else 1.0


class Annealing:
    """Moves tasks about in a timeline and keeps the best order met."""

    def __init__(self, timeline: Timeline, seed: int) -> None:
        self.timeline = timeline
        self.random = random.Random(seed)
        self.best = timeline.cost
        self.best_order = list(timeline.order)
        self.tries = 0
        self.barred = [set(b) for b in timeline.barred]

    def run(self, budget: Budget) -> None:
        """Anneal until the budget is spent."""
        timeline = self.timeline
        if len(timeline.order) < 2:
            return
        hot, cold = self._temperatures()
        cooling = log(cold / hot)
        chance, spent = self.random.random, budget.spent(0)
        while spent < 1.0:
            temperature = hot * exp(cooling * spent)
            for _ in range(32):
                self.tries += 1
                move = self._shift() if chance() < 0.6 else self._swap()
                if move is None:
                    continue
                limit = timeline.cost - temperature * log(chance() or 1e-12)
                cost = timeline.try_stretch(*move, limit)
                if cost <= limit:
                    timeline.keep(cost)
                    if cost < self.best - 1e-9:
                        self._remember(cost)
                else:
                    timeline.undo()
            spent = budget.spent(self.tries)

    def _remember(self, cost: float) -> None:
        self.best = cost
        self.best_order = list(self.timeline.order)

    def _temperatures(self) -> tuple[float, float]:
        scale = max(1.0, self.timeline.cost / len(self.timeline.order))
        return HOT * scale, COLD * scale

    def _room(self, task: int) -> tuple[int, int]:
        """The first and last place a task can move to alone."""
        timeline = self.timeline
        position, model = timeline.position, timeline.model
        first = max([position[earlier] for earlier, _ in model.before[task]], default=-1) + 1
        last = min([position[later] for later in model.after[task]], default=len(position)) - 1
        return first, last

    def _shift(self) -> tuple[int, list[int]] | None:
        """One task to another place."""
        order, chance = self.timeline.order, self.random.random
        here = int(chance() * len(order))
        task = order[here]
        first, last = self._room(task)
        first, last = max(first, here - REACH), min(last, here + REACH)
        if first == last:
            return None
        there = first + int(chance() * (last - first))
        there += there >= here
        if there < here:
            return there, [task, *order[there:here]]
        return here, [*order[here + 1 : there + 1], task]

    def _swap(self) -> tuple[int, list[int]] | None:
        """Two tasks change places."""
        order, chance = self.timeline.order, self.random.random
        one = int(chance() * len(order))
        _, last = self._room(order[one])
        last = min(last, one + REACH)
        if last <= one:
            return None
        other = one + 1 + int(chance() * (last - one))
        first, _ = self._room(order[other])
        if first > one:
            return None
        return one, [order[other], *order[one + 1 : other], order[one]]
