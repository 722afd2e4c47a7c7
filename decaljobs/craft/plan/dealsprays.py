"""Great changes of a deal: the spraying of one session goes to another.

Each session of spraying costs the airbrush's set-up and cleaning, so that it pays to spray little
often; but moving task after task of a session pays only with the last of them. They are therefore
moved together, small steps follow that mend what is overfull then, and all of it is undone if it
does not please.
"""

from __future__ import annotations

from math import log

from decaljobs.craft.plan.deal import Deal, Met
from decaljobs.craft.plan.dealmoves import DealMoves
from decaljobs.craft.plan.dealsteps import DealSteps

#: Steps that follow, and the most tasks that may be dragged along (tried out).
STEPS, MOST_DRAGGED = 200, 150
#: Shares of changes to the next session instead of the next with spraying, and of those others
#: that leave some tasks behind; of tasks that are left behind, and that make room (tried out).
NEXT, PART, LEFT, ROOM = 0.5, 0.4, 0.5, 0.7


class DealSprays:
    """Moves the spraying of sessions of one deal."""

    def __init__(self, deal: Deal, moves: DealMoves, steps: DealSteps) -> None:
        self.deal, self.moves, self.steps, self.chance = deal, moves, steps, moves.chance
        self.airbrush, self.low = deal.model.airbrush, deal.sessions.low

    def change(self, temperature: float, great: float, below: float) -> Met | None:
        """Try one change: steps at a temperature, the whole judged at the ``great`` one.

        What the steps met, as by ``DealSteps.make``.
        """
        changes = self._drawn()
        if not changes or not self.moves.drag(changes, MOST_DRAGGED):
            return None
        deal = self.deal
        known, priced = deal.known(), deal.priced()
        deal.change(changes, float("inf"))
        met = self.steps.make(STEPS, temperature, below)
        if deal.priced() > priced - great * log(1.0 - self.chance()):
            deal.put_back(known)
        return met

    def _drawn(self) -> dict[int, int]:
        """Task → its new session: what is sprayed in a session, and what makes room for it."""
        deal, chance = self.deal, self.chance
        sprayed = [session for session, count in enumerate(deal.sprays) if count]
        if not sprayed:
            return {}
        here = sprayed[int(chance() * len(sprayed))]
        kind, later = chance(), chance() < 0.5
        there = self._there(here, sprayed, later, kind < NEXT)
        if not 0 <= there < len(deal.sprays):
            return {}
        leave = LEFT if kind > 1 - PART * (1 - NEXT) else 0.0
        changes = {
            task: there for task in deal.inside[here] if self.airbrush[task] and chance() >= leave
        }
        if any(not self.low[task] <= there <= self.moves.high[task] for task in changes):
            return {}
        self._make_room(changes, here, there)
        return changes

    def _there(self, here: int, sprayed: list[int], later: bool, is_next: bool) -> int:
        """The next session, or the next in which there is spraying; -1 for none."""
        if is_next:
            return here + 1 if later else here - 1
        others = [session for session in sprayed if (session > here) == later and session != here]
        if not others:
            return -1
        return min(others) if later else max(others)

    def _make_room(self, changes: dict[int, int], here: int, there: int) -> None:
        """Tasks of as many minutes come back, of those that have no wait with those that go."""
        minutes, sessions = self.deal.model.minutes, self.deal.sessions
        wanted = sum(minutes[task] for task in changes)
        going = set(changes)
        for task in self.deal.inside[there]:
            if wanted <= 0:
                return
            bound = {link.task for link in (*sessions.earlier[task], *sessions.later[task])}
            is_free = not self.airbrush[task] and self.low[task] <= here <= self.moves.high[task]
            if is_free and not bound & going and self.chance() < ROOM:
                changes[task] = here
                wanted -= minutes[task]
