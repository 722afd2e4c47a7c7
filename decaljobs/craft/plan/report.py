"""A timeline as a plan: tasks with times and reasons, airbrush blocks, ends and objective."""

from __future__ import annotations

from datetime import datetime

from decaljobs.craft.plan.check import Check
from decaljobs.craft.plan.model import MINUTE, Model
from decaljobs.craft.plan.reasons import Reasons
from decaljobs.craft.plan.tasks import (
    AIRBRUSH_COST,
    AirbrushBlock,
    Plan,
    Project,
    ProjectEnd,
    ScheduledTask,
    Session,
    UnplannedTask,
    Work,
)
from decaljobs.craft.plan.timeline import Timeline


class Report:
    """Reads a plan off a timeline."""

    def __init__(self, timeline: Timeline, check: Check) -> None:
        self.timeline, self.model, self.slots = timeline, timeline.model, timeline.slots
        self.check = check
        self.sessions = _numbered_sessions(self.model)
        self.reasons = Reasons(timeline, check.input.zone)
        tasks = sorted(range(len(self.model.tasks)), key=lambda task: self.slots.place[task].start)
        self.planned = [t for t in tasks if self.slots.place[t].session in self.sessions]
        self.left_out = [t for t in tasks if self.slots.place[t].session not in self.sessions]
        self.never_dry = [task for task in self.planned if self._never_dries(task)]

    def plan(self, first_objective: float, tries: int) -> Plan:
        """The plan, with what the first plan by rule would have cost."""
        return Plan(
            made=self.check.made,
            tasks=tuple(self._scheduled(task) for task in self.planned),
            airbrush=tuple(self._airbrush_blocks()),
            ends=tuple(self._ends()),
            unplanned=(*self.check.unplanned, *self._unplanned()),
            notes=(*self.check.notes, *self._broken_pins(), *self._never_dry_notes()),
            objective=self.objective(),
            first_objective=first_objective,
            tries=tries,
            order=tuple(self.model.tasks[task].id for task in self.slots.order),
            unsprayed=tuple(
                self.sessions[number]
                for number in sorted(self.slots.unsprayed)
                if number in self.sessions
            ),
        )

    def _moment(self, minute: int) -> datetime:
        return self.model.moment + minute * MINUTE

    def _scheduled(self, task: int) -> ScheduledTask:
        place = self.slots.place[task]
        return ScheduledTask(
            task=self.model.tasks[task],
            session=self.sessions[place.session],
            start=self._moment(place.start),
            end=self._moment(place.end),
            ready=self._moment(self.timeline.ready(task)),
            reason=self.reasons.of(task),
        )

    def _airbrush_blocks(self) -> list[AirbrushBlock]:
        """Set-up before the first spraying, cleaning once the session's last task is done."""
        blocks = []
        for number, session in self.sessions.items():
            for opener in self.slots.openers[number]:
                setup = self.slots.place[opener].setup
                last = max(end for _, end, _ in self.slots.busy[number])
                spans = (
                    (Work.AIRBRUSH_SETUP, setup, setup + self.model.setup),
                    (Work.AIRBRUSH_CLEANING, last, last + self.model.cleaning),
                )
                blocks += [
                    AirbrushBlock(work, session, self._moment(start), self._moment(end))
                    for work, start, end in spans
                ]
        return sorted(blocks, key=lambda block: block.start)

    def _unplanned(self) -> list[UnplannedTask]:
        sentences = self.reasons.unplanned(self.left_out)
        return [UnplannedTask(self.model.tasks[task], words) for task, words in sentences.items()]

    def _broken_pins(self) -> list[str]:
        return [
            f"‘{self.model.tasks[task].words}’ cannot keep its pin: "
            f"{self.reasons.late_words(task)}."
            for task in self.model.pinned
            if self.slots.place[task].start > self.model.latest[task]
        ]

    def _never_dries(self, task: int) -> bool:
        dries = self.model.tasks[task].dries
        return dries is not None and dries.ready(self._moment(self.timeline.end[task])) is None

    def _never_dry_notes(self) -> list[str]:
        tasks = [self.model.tasks[task] for task in self.never_dry]
        return [
            f"‘{task.words}’ is planned, but never dries in this room: its project has no end."
            for task in tasks
        ]

    def _ends(self) -> list[ProjectEnd]:
        """Every project that has work, planned to its end or not."""
        whole = self._whole_projects()
        ends = []
        for project in self._projects():
            end = whole.get(project.id)
            moment = None if end is None else self._moment(end)
            ends.append(ProjectEnd(project, moment, _late(moment, project.due)))
        return ends

    def _projects(self) -> list[Project]:
        known = {project.id: project for project in self.check.input.projects}
        names = {name: None for task in self.check.input.tasks for name in task.projects}
        return [known.get(name, Project(name)) for name in names]

    def _whole_projects(self) -> dict[str, int]:
        """End minute of every project of which all is planned and dries."""
        endless = [*self.left_out, *self.never_dry]
        broken = {name for task in endless for name in self.model.tasks[task].projects}
        broken |= {name for left in self.check.unplanned for name in left.task.projects}
        ends = zip(self.model.projects, self.timeline.project_end, strict=True)
        return {project.id: end for project, end in ends if project.id not in broken}

    def objective(self) -> float:
        """20 · Σ weight · tardiness + end + 60 · airbrush sessions, minutes, of whole projects."""
        whole = self._whole_projects()
        tardiness = sum(
            weight * max(0, whole[project.id] - due)
            for project, weight, due in zip(
                self.model.projects, self.model.weight, self.model.due, strict=True
            )
            if project.id in whole
        )
        sprayed = sum(len(self.slots.openers[number]) for number in self.sessions)
        return tardiness + max(whole.values(), default=0) + AIRBRUSH_COST * sprayed


def _numbered_sessions(model: Model) -> dict[int, Session]:
    """Sessions under the numbers that the timeline gives them."""
    numbered: dict[int, Session] = {}
    offset = 0
    for bench in model.benches:
        numbered |= {offset + place: session for place, session in enumerate(bench.sessions)}
        offset += len(bench.starts)
    return numbered


def _late(end: datetime | None, due: datetime | None) -> int:
    """Whole minutes after the date, a part of one counted as one."""
    return 0 if end is None or due is None else max(0, -((due - end) // MINUTE))
