"""The work left in the workshop, gathered from its records for the planner."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import UTC, datetime, time, timedelta
from functools import cached_property
from typing import Any

from django.db.models import Prefetch, Q
from django.utils import timezone

from decaljobs.craft.doings import LAYING, Doing
from decaljobs.craft.drying import WaitTerms
from decaljobs.craft.moments import whole_minute
from decaljobs.craft.plan.jobs import jobs_of
from decaljobs.craft.plan.tasks import PlanInput, Project, Readiness, Session
from decaljobs.craft.plan.waits import Drying, Never, Until
from decaljobs.craft.plan.work import BenchWork, DecalWork, Job, RunningWait, SheetWork
from decaljobs.craft.stages import DRIED_STAGES, LAYERS, SHEET_STEPS, Build, Film, Layer, Stage
from decaljobs.craft.waits import WaitKind, after_coat, after_printing
from decaljobs.models import Decal, Piece, PlanPin, Sheet
from decaljobs.models import Project as ProjectRecord
from decaljobs.services.drying.air import Airs
from decaljobs.services.drying.waits import rules_of
from decaljobs.services.plan.benchhours import sessions_of_all
from decaljobs.services.plan.benchminutes import minutes_taken

#: The fewest and the most weeks that a plan looks ahead.
FEWEST_WEEKS, MOST_WEEKS = 4, 52
#: Bench time that a plan wants for its work: some is lost to waits and to the ends of sessions.
SPARE = 1.5
END_OF_DAY = time(23, 59)
#: What a sheet that is still to be filled is called by the plan, before the name of its film.
NEXT_SHEET = "next-"


@dataclass(frozen=True)
class Gathered:
    """The planner's input, the jobs behind its tasks, and the records that they name.

    dry_at: by project, when what only dries there is done. offcuts: the numbers of those that a
    next sheet could be laid out on; none where none is wanted.
    """

    input: PlanInput
    jobs: tuple[Job, ...]
    projects: Mapping[str, ProjectRecord]
    dry_at: Mapping[str, datetime]
    offcuts: tuple[int, ...]


def gather(*, moment: datetime, weeks: int | None = None) -> Gathered:
    """Everything a plan is made from (twelve queries, and one for each room's readings).

    Without weeks the plan looks as far ahead as its work needs, 4 weeks to 52.
    """
    return _Gathering(moment).gathered(weeks)


class _Gathering:
    """What is being gathered for a plan: each room's air, rule and sheet is looked up once."""

    def __init__(self, moment: datetime) -> None:
        self.moment = whole_minute(moment)
        self.airs = Airs()
        self.terms = {kind: rule.terms for kind, rule in rules_of(WaitKind).items()}
        self.taken = {doing: taken.minutes for doing, taken in minutes_taken().items()}
        self.records = list(_open_decals(self.moment))
        self.sheets: dict[str, SheetWork] = {}
        self.drying: dict[tuple[int, tuple[WaitTerms, ...]], Drying] = {}

    def gathered(self, weeks: int | None) -> Gathered:
        decals = [self._decal(record) for record in self.records]
        sessions = self._sessions(weeks or FEWEST_WEEKS)
        jobs = self._jobs(decals, sessions)
        if weeks is None and (needed := _weeks_for(jobs, sessions)) > FEWEST_WEEKS:
            sessions = self._sessions(needed)
            jobs = self._jobs(decals, sessions)
        projects = {record.project.code: record.project for record in self.records}
        plan_input = PlanInput(
            moment=self.moment,
            tasks=tuple(job.task for job in jobs),
            projects=tuple(_project(project) for project in projects.values()),
            sessions=sessions,
            zone=None,
            setup_minutes=self.taken[Doing.AIRBRUSH_SETUP],
            cleaning_minutes=self.taken[Doing.AIRBRUSH_CLEANING],
        )
        return Gathered(plan_input, jobs, projects, self._dry_at(), self._offcuts())

    def _sessions(self, weeks: int) -> tuple[Session, ...]:
        until = self.moment + timedelta(weeks=weeks)
        return sessions_of_all(since=self.moment, until=until)

    def _jobs(self, decals: list[DecalWork], sessions: tuple[Session, ...]) -> tuple[Job, ...]:
        work = BenchWork(
            moment=self.moment,
            decals=decals,
            sheets=self.sheets,
            sessions=sessions,
            minutes=self.taken,
            dries={
                record.project.code: self._dries(record.room_id, WaitKind.OVERCOAT_HANDLED)
                for record in self.records
            },
            pins=self._pins,
            names={record.project.code: record.project.name for record in self.records},
        )
        return jobs_of(work)

    @cached_property
    def _pins(self) -> dict[str, Session]:
        return {
            pin.work: Session(pin.person.username, pin.starts_at, pin.ends_at)
            for pin in PlanPin.objects.coming(self.moment)
        }

    def _decal(self, record: Decal) -> DecalWork:
        """What is left of a decal; its sheets are noted on the way."""
        stage = Stage(record.next_step) if record.next_step else None
        left = [layer for layer in LAYERS[Build(record.build)] if _is_left(layer, stage)]
        after = {LAYING[layer]: self._after(record, layer) for layer in left}
        return DecalWork(
            pk=record.pk,
            project=record.project.code,
            place=record.place,
            layers=tuple((LAYING[layer], self._sheet_for(record, layer)) for layer in left),
            running=_running(record, stage),
            after=after,
            overcoat=bool(stage) and record.project.overcoat,
            to_seal=stage in SHEET_STEPS,
        )

    def _after(self, record: Decal, layer: Layer) -> Readiness:
        """What dries after a layer, before the next step for the hands or the end."""
        if layer is not LAYERS[Build(record.build)][-1]:
            return self._dries(record.room_id, WaitKind.BASE_CURED)
        rest = (WaitKind.SET_OVERCOAT,) if record.project.overcoat else ()
        return self._dries(record.room_id, WaitKind.LAYER_SET, *rest)

    def _dries(self, room: int | None, *kinds: WaitKind) -> Readiness:
        terms = tuple(self.terms[kind] for kind in kinds)
        key = self.airs.room(room).pk, terms
        if key not in self.drying:
            self.drying[key] = Drying(terms, self.airs.of(room, self.moment))
        return self.drying[key]

    def _sheet_for(self, record: Decal, layer: Layer) -> str:
        """The key of the sheet that a layer's piece comes from: the one furthest along."""
        sheets = [p.sheet for p in record.pieces.all() if p.layer == layer]
        if not sheets:
            return self._next_sheet(layer.film)
        sheet = min(sheets, key=_furthest_first)
        key = str(sheet.pk)
        if key not in self.sheets:
            self.sheets[key] = self._sheet_work(sheet, key, f"sheet {sheet.code}")
        return key

    def _next_sheet(self, film: Film) -> str:
        """A sheet of the film still to be filled, taken to be like the last one."""
        key = f"{NEXT_SHEET}{film}"
        if key not in self.sheets:
            like = Sheet.objects.filter(film=film.value).order_by("pk").last()
            sheet = Sheet(film=film.value)
            if like:
                sheet.printer, sheet.sealer = like.printer, like.sealer
                sheet.coats_wanted, sheet.room_id = like.coats_wanted, like.room_id
            self.sheets[key] = self._sheet_work(sheet, key, f"the next {film} sheet")
        return key

    def _sheet_work(self, sheet: Sheet, key: str, words: str) -> SheetWork:
        after, after_last = (
            after_coat(sheet.printer, sheet.sealer, last=last) for last in (False, True)
        )
        return SheetWork(
            key=key,
            words=words,
            printed=sheet.is_printed,
            coats_done=sheet.coats_done,
            coats_wanted=sheet.coats_wanted,
            running=_until(sheet.rested_at) if sheet.is_printed else None,
            after_print=self._dries(sheet.room_id, after_printing(sheet.printer)),
            after_coat=self._dries(sheet.room_id, after),
            after_last=self._dries(sheet.room_id, after_last),
        )

    def _dry_at(self) -> dict[str, datetime]:
        """By project, when the last of its decals that only dry is done."""
        found: dict[str, datetime] = {}
        for record in self.records:
            if not record.next_step and record.ready_at:
                code = record.project.code
                found[code] = max(record.ready_at, found.get(code, record.ready_at))
        return found

    def _offcuts(self) -> tuple[int, ...]:
        if not any(key.startswith(NEXT_SHEET) for key in self.sheets):
            return ()
        return tuple(Sheet.objects.clean_offcuts().values_list("pk", flat=True))


def _open_decals(moment: datetime) -> Iterable[Decal]:
    """Decals of active projects with a step left or something drying, with their good pieces
    (two queries)."""
    good = Piece.objects.at_hand().select_related("sheet")
    return (
        Decal.objects.at_work()
        .filter(~Q(next_step="") | Q(ready_at__gt=moment))
        .select_related("project")
        .prefetch_related(Prefetch("pieces", queryset=good))
        .order_by("project", "place", "number")
    )


def _is_left(layer: Layer, step: Stage | None) -> bool:
    """Whether a layer is still to be laid when this step comes next."""
    if step is None or step is Stage.OVERCOATED:
        return False
    return layer is Layer.CLEAR or step is not Stage.CLEAR_APPLIED


def _running(record: Decal, step: Stage | None) -> RunningWait | None:
    """The wait that runs on the model before the next step for the hands."""
    if step is Stage.OVERCOATED:
        return _until(record.ready_at)
    turning = {leg["to"] for leg in record.waits} & {stage.value for stage in DRIED_STAGES}
    if step is Stage.CLEAR_APPLIED and turning:
        return _until(record.turns_at)
    return None


def _until(moment: datetime | None) -> RunningWait:
    return Never() if moment is None else Until(moment)


def _furthest_first(sheet: Sheet) -> tuple[Any, ...]:
    rested = sheet.rested_at.timestamp() if sheet.rested_at else 0.0
    return (not sheet.is_sealed, not sheet.is_printed, sheet.rested_at is None, rested, sheet.pk)


def _project(record: ProjectRecord) -> Project:
    """A project as the planner takes it: due by the end of its day."""
    due = None
    if record.due:
        zone = timezone.get_default_timezone()
        due = datetime.combine(record.due, END_OF_DAY, zone).astimezone(UTC)
    return Project(record.code, record.name, due, float(record.weight))


def _weeks_for(jobs: Iterable[Job], sessions: Iterable[Session]) -> int:
    """Weeks whose sessions hold the work, 4 to 52."""
    minutes = sum(job.task.minutes for job in jobs)
    offered = sum((s.end - s.start) / timedelta(minutes=1) for s in sessions) / FEWEST_WEEKS
    if not offered:
        return FEWEST_WEEKS
    return min(MOST_WEEKS, max(FEWEST_WEEKS, round(minutes * SPARE / offered + 0.5)))
