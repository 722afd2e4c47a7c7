"""What it costs that projects end in a session of a deal."""

from __future__ import annotations

from decaljobs.craft.plan.packing import Sessions


class Ends:
    """What it costs that projects end in a session, each sum worked out once."""

    def __init__(self, sessions: Sessions) -> None:
        self.model, self.sessions = sessions.model, sessions
        self.known: list[dict[int, float]] = [{} for _ in sessions.room]
        self.least = [
            min([sessions.lead(task) for task in closing], default=0)
            for closing in self.model.closing
        ]
        self.minutes = [
            min([self.model.minutes[task] for task in closing], default=1)
            for closing in self.model.closing
        ]

    def cost(self, session: int, projects: int) -> float:
        """The least cost of tardiness of ``projects`` (a mask) that end in the session, minutes."""
        known = self.known[session]
        if projects not in known:
            known[projects] = self._worked_out(session, projects)
        return known[projects]

    def _worked_out(self, session: int, projects: int) -> float:
        """They end one after the other, those first that lose most by waiting."""
        weight = self.model.weight
        inside = [project for project in range(len(weight)) if projects >> project & 1]
        inside.sort(key=lambda project: -weight[project] / self.minutes[project])
        cost, passed = 0.0, 0
        for project in inside:
            late = self._late(project, self.sessions.starts[session] + passed)
            if late > 0:
                cost += weight[project] * late
                passed += self.minutes[project]
        return cost

    def _late(self, project: int, start: int) -> int:
        """How late a project is if its last task is the first that is done from ``start`` on."""
        model, end = self.model, start + self.least[project]
        tables = [model.dries[task] for task in model.closing[project]]
        dry = min([end if table is None else table[end] for table in tables], default=end)
        return dry - model.due[project]
