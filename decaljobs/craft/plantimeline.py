"""An order of tasks turned into times, and what a change of the order costs.

Each task in turn goes to the first minute at which its waits are over, its maker is free and a
session has room for it. A change is tried in place: the changed stretch is worked through again,
and then only what it still touches; it is kept or undone after its cost is known.
"""

from __future__ import annotations

from collections.abc import Sequence

from decaljobs.craft.planmodel import FAR, Model
from decaljobs.craft.plantasks import AIRBRUSH_COST

# A maker's state after a task: the minute he is free, his session, his airbrush there.
State = tuple[int, int, int]
AWAY, ROOM, OUT = 0, 1, 2  # not used; not used but an idle stretch had room to set it up; in use
#: What a pinned task costs for each minute it starts too late.
PIN_COST = 1e6


class Timeline:
    """The plan worked on by the search: order, times and cost, in minutes."""

    def __init__(self, model: Model, order: Sequence[int]) -> None:
        self.model = model
        self.barred: list[set[int]] = [set() for _ in model.benches]
        self.only: list[int] = [-1] * len(model.tasks)
        self.pinned = model.pinned
        self.rebuild(order)

    def rebuild(self, order: Sequence[int]) -> float:
        """Times for a whole order (each task once, after what it waits for); its cost."""
        tasks = len(order)
        model = self.model
        self.order = list(order)
        self.position = [0] * tasks
        for place, task in enumerate(order):
            self.position[task] = place
        self.start, self.end, self.maker = [0] * tasks, [-1] * tasks, [0] * tasks
        self.state: list[State] = [(0, 0, AWAY)] * tasks
        self.opens = [False] * tasks
        self.project_end = [0] * len(model.projects)
        fresh = [(0, 0, AWAY)] * len(model.benches)
        self.states_before: list[list[State]] = [fresh]
        self.airbrush_sessions = 0
        self.tardiness = sum(
            weight * max(0, -due) for weight, due in zip(model.weight, model.due, strict=True)
        )
        states = list(fresh)
        self.log: list[tuple] = []
        for task in order:
            self._place(task, states)
            self.states_before.append(list(states))
        self.log = []
        self.cost = self._cost()
        return self.cost

    def _cost(self) -> float:
        cost = self.tardiness + max(self.project_end, default=0)
        cost += AIRBRUSH_COST * self.airbrush_sessions
        for task in self.pinned:
            cost += PIN_COST * max(0, self.start[task] - self.model.latest[task])
        return cost

    def _place(self, task: int, states: list[State]) -> bool:
        """Put a task at its first minute; True if its end moved."""
        model = self.model
        end = self.end
        ready = model.release[task]
        for earlier, table in model.before[task]:
            over = table[end[earlier]]
            if over > ready:
                ready = over
        maker = self.only[task]
        makers = model.makers[task]
        if maker < 0:
            maker = makers[0] if len(makers) == 1 else self._soonest(task, ready, states)
        start, session, airbrush, opens = self._slot(task, maker, ready, states[maker])
        finish = start + model.minutes[task]
        states[maker] = state = (finish, session, airbrush)
        was = end[task]
        self.log.append(
            (task, self.start[task], was, self.maker[task], self.state[task], self.opens[task])
        )
        self.start[task] = start
        self.maker[task] = maker
        self.state[task] = state
        if opens is not self.opens[task]:
            self.airbrush_sessions += 1 if opens else -1
            self.opens[task] = opens
        if finish == was:
            return False
        end[task] = finish
        if model.closes[task]:
            self._close(task)
        return True

    def _soonest(self, task: int, ready: int, states: list[State]) -> int:
        makers = self.model.makers[task]
        return min(makers, key=lambda maker: self._slot(task, maker, ready, states[maker])[0])

    def _slot(self, task: int, maker: int, ready: int, state: State) -> tuple[int, int, int, bool]:
        """First start from ``ready`` on, its session, the airbrush after it, whether set up."""
        model = self.model
        free, session, airbrush = state
        bench = model.benches[maker]
        starts, ends = bench.starts, bench.ends
        minutes, setup = model.minutes[task], model.setup
        if model.airbrush[task]:
            barred = self.barred[maker]
            while True:
                begin = max(free, starts[session])
                start = max(ready, begin if airbrush else begin + setup)
                if start + minutes + model.cleaning <= ends[session] and (
                    airbrush == OUT or session not in barred
                ):
                    return start, session, OUT, airbrush != OUT
                session += 1
                airbrush = AWAY
        while True:
            begin = starts[session]
            if free > begin:
                begin = free
            start = ready if ready > begin else begin
            rest = ends[session] - start - minutes
            if rest >= 0 and (airbrush != OUT or rest >= model.cleaning):
                if airbrush == AWAY and start - begin >= setup:
                    airbrush = ROOM
                return start, session, airbrush, False
            session += 1
            airbrush = AWAY

    def _close(self, task: int) -> None:
        """Bring the ends of the task's projects up to date."""
        model = self.model
        for project in model.closes[task]:
            end = max(map(self._dry_end, model.closing[project]))
            was = self.project_end[project]
            if end != was:
                due = model.due[project]
                self.project_end[project] = end
                change = (end - due if end > due else 0) - (was - due if was > due else 0)
                self.tardiness += model.weight[project] * change

    def _dry_end(self, task: int) -> int:
        end, dries = self.end[task], self.model.dries[task]
        return end if dries is None or end < 0 else dries[end]

    def try_stretch(self, first: int, stretch: Sequence[int], bound: float) -> float:
        """Cost if ``stretch`` stands from place ``first`` on (a reordering of what stands there).

        Given up with an endless cost once past ``bound`` with nothing left that could win it
        back. Call ``keep`` or ``undo`` next.
        """
        self.first, self.stretch = first, stretch
        self.before_try = (self.tardiness, self.airbrush_sessions, self.project_end[:])
        self.log = []
        self.snapshots: list[tuple[int, list[State]]] = []
        position, after = self.position, self.model.after
        states = list(self.states_before[first])
        place = first
        last = first + len(stretch)
        waiting: set[int] = set()
        for task in stretch:
            moved = self._place(task, states)
            place += 1
            if moved:
                waiting.update(position[later] for later in after[task])
            self.snapshots.append((place, list(states)))
        waiting = {other for other in waiting if other >= last}
        if not self._ripple(place, states, waiting, bound):
            return FAR * PIN_COST
        return self._cost()

    def _ripple(self, place: int, states: list[State], waiting: set[int], bound: float) -> bool:
        """Work on until nothing differs; False if it became hopeless."""
        order, before, position = self.order, self.states_before, self.position
        after, snapshots = self.model.after, self.snapshots
        tasks = len(order)
        while True:
            if states == before[place]:
                if not waiting:
                    return True
                place = min(waiting)
                states = list(before[place])
            elif place == tasks:
                return True
            elif self.tardiness > bound and len(states) == 1 and states[0] > before[place][0]:
                return False
            waiting.discard(place)
            task = order[place]
            place += 1
            if self._place(task, states):
                waiting.update([position[later] for later in after[task]])
            snapshots.append((place, list(states)))

    def keep(self, cost: float) -> None:
        """Make the tried change the plan."""
        first, position = self.first, self.position
        self.order[first : first + len(self.stretch)] = self.stretch
        for place, task in enumerate(self.stretch, first):
            position[task] = place
        for place, states in self.snapshots:
            self.states_before[place] = states
        self.cost = cost

    def undo(self) -> None:
        """Forget the tried change."""
        start, end, maker = self.start, self.end, self.maker
        for task, was_start, was_end, was_maker, state, opens in reversed(self.log):
            start[task], end[task], maker[task] = was_start, was_end, was_maker
            self.state[task], self.opens[task] = state, opens
        self.tardiness, self.airbrush_sessions, self.project_end = self.before_try
