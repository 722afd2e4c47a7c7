"""The work left at the bench divided into tasks for the planner.

One task is what a maker does at one go: print a sheet, spray one coat, lay one layer of several
decals of a model, overcoat a model. Decals that stand alike are one lot and go together, in
lots small enough for a session.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence

from decaljobs.craft.doings import Doing
from decaljobs.craft.plan.tasks import NO_WAIT, Task, Wait
from decaljobs.craft.plan.waits import Never
from decaljobs.craft.plan.words import listed
from decaljobs.craft.plan.work import (
    LAYER_WORDS,
    BenchWork,
    DecalWork,
    Job,
    RunningWait,
    SheetWork,
    work_name,
)

#: Minutes of layers laid at one go; longer, a lot of decals is divided (a choice).
MOST_AT_ONCE = 60


def jobs_of(work: BenchWork) -> tuple[Job, ...]:
    """Every step left as a job, each with its task; what comes first stands first.

    A sheet is printed and sealed only where a decal still needs a piece of it.

    >>> from datetime import UTC, datetime
    >>> white = SheetWork("4", "sheet 4", True, 0, 1, None, NO_WAIT, NO_WAIT, NO_WAIT)
    >>> tail = DecalWork(17, "boat", "tail", ((Doing.BASE, "4"),), None, {Doing.BASE: NO_WAIT})
    >>> minutes = {Doing.COAT: 5, Doing.BASE: 15}
    >>> now = datetime(2026, 3, 2, 19, tzinfo=UTC)
    >>> [job.task.id for job in jobs_of(BenchWork(now, [tail], {"4": white}, (), minutes, {}))]
    ['coat:4:1', 'base:17']
    """
    jobs: list[Job] = []
    for key, decals in _by_sheet(work.decals).items():
        jobs += _sheet_jobs(work.sheets[key], decals, work)
    last: dict[int, Wait] = {}
    for lot in _lots_of(work):
        jobs += _lot_jobs(lot, work, last)
    return (*jobs, *_overcoat_jobs(work, last))


def _by_sheet(decals: Iterable[DecalWork]) -> dict[str, list[DecalWork]]:
    """The decals that need a piece of each sheet."""
    found: dict[str, list[DecalWork]] = {}
    for decal in decals:
        for _, key in decal.layers:
            found.setdefault(key, []).append(decal)
    return found


def _sheet_jobs(sheet: SheetWork, decals: Sequence[DecalWork], work: BenchWork) -> list[Job]:
    """Printing and the coats still wanted on a sheet, one after the other."""
    first, *others = dict.fromkeys(decal.project for decal in decals)
    wait = _on_sheet(sheet)
    jobs = []
    if not sheet.printed:
        task = Task(
            id=work_name(Doing.PRINT, sheet.key),
            project=first,
            also_for=tuple(others),
            words=f"print {sheet.words}",
            minutes=work.minutes[Doing.PRINT],
            pinned_session=work.pins.get(work_name(Doing.PRINT, sheet.key)),
        )
        jobs.append(Job(task, Doing.PRINT, sheet=sheet.key))
        wait = Wait(task.id, sheet.after_print, f"the print on {sheet.words}")
    for coat in range(sheet.coats_done + 1, sheet.coats_wanted + 1):
        name = work_name(Doing.COAT, sheet.key, coat)
        task = Task(
            id=name,
            project=first,
            also_for=tuple(others),
            words=f"coat {coat} of {sheet.coats_wanted} on {sheet.words}",
            minutes=work.minutes[Doing.COAT],
            airbrush=True,
            waits=(wait,) if wait else (),
            pinned_session=work.pins.get(name),
        )
        jobs.append(Job(task, Doing.COAT, sheet=sheet.key, coat=coat))
        after = sheet.after_last if coat == sheet.coats_wanted else sheet.after_coat
        wait = Wait(task.id, after, f"coat {coat} on {sheet.words}")
    return jobs


def _on_sheet(sheet: SheetWork) -> Wait | None:
    """The wait that runs on a sheet now."""
    if sheet.running is None:
        return None
    what = f"coat {sheet.coats_done}" if sheet.coats_done else "the print"
    return Wait(None, sheet.running, f"{what} on {sheet.words}")


def _for_piece(sheet: SheetWork) -> tuple[Wait, ...]:
    """What a layer waits for on the sheet that its piece comes from."""
    if sheet.is_sealed:
        wait = _on_sheet(sheet)
        return (wait,) if wait else ()
    coat = sheet.coats_wanted
    name = work_name(Doing.COAT, sheet.key, coat)
    return (Wait(name, sheet.after_last, f"coat {coat} on {sheet.words}"),)


def _for_layer(decal: DecalWork, place: int, work: BenchWork) -> tuple[Wait, ...]:
    """What a layer waits for on sheets: its own to be dry, for the first all to be sealed."""
    own = decal.layers[place][1]
    waits = _for_piece(work.sheets[own])
    if place or not decal.to_seal:
        return waits
    others = [work.sheets[key] for _, key in decal.layers if key != own]
    return (*waits, *(_to_be_sealed(sheet) for sheet in others if not sheet.is_sealed))


def _to_be_sealed(sheet: SheetWork) -> Wait:
    coat = sheet.coats_wanted
    name = work_name(Doing.COAT, sheet.key, coat)
    return Wait(name, NO_WAIT, f"coat {coat} on {sheet.words}")


def _lots_of(work: BenchWork) -> list[tuple[DecalWork, ...]]:
    """The decals with layers to lay, in lots that stand alike, as much as goes at one time."""
    groups: dict[object, list[DecalWork]] = {}
    for decal in work.decals:
        if decal.layers:
            groups.setdefault(_standing(decal, work), []).append(decal)
    longest = max(((s.end - s.start).total_seconds() / 60 for s in work.sessions), default=0)
    most = min(MOST_AT_ONCE, longest or MOST_AT_ONCE)
    lots = []
    for group in groups.values():
        each = max(work.minutes[doing] for doing, _ in group[0].layers)
        size = max(1, int(most // each))
        lots += [tuple(group[start : start + size]) for start in range(0, len(group), size)]
    return lots


def _standing(decal: DecalWork, work: BenchWork) -> object:
    """What decals must share to be worked on together."""
    pins = tuple(work.pins.get(work_name(doing, decal.pk)) for doing, _ in decal.layers)
    free = _free_from(decal.running, work)
    return decal.project, decal.layers, decal.to_seal, free, pins


def _free_from(running: RunningWait | None, work: BenchWork) -> object:
    """The first session in which a wait is over, or the minute if it ends within one."""
    if running is None:
        return None
    over = running(work.moment)
    if over is None:
        return "never"
    coming = (session for session in work.sessions if session.end > max(over, work.moment))
    session = min(coming, key=lambda s: s.start, default=None)
    if session is None or over <= max(session.start, work.moment):
        return session and session.start
    return over


def _lot_jobs(lot: Sequence[DecalWork], work: BenchWork, last: dict[int, Wait]) -> list[Job]:
    """The layers of a lot, one after the other; ``last`` gets what dries after the last."""
    first = lot[0]
    wait = _on_model(lot)
    jobs = []
    for place, (doing, _) in enumerate(first.layers):
        name = work_name(doing, first.pk)
        is_end = place == len(first.layers) - 1 and not first.overcoat
        dries = Wait(name, first.after[doing], LAYER_WORDS[doing])
        task = Task(
            id=name,
            project=first.project,
            words=f"{LAYER_WORDS[doing].removeprefix('the ')}: {_places_in_words(lot)}",
            minutes=work.minutes[doing] * len(lot),
            waits=(*((wait,) if wait else ()), *_for_layer(first, place, work)),
            dries=dries if is_end else None,
            pinned_session=work.pins.get(name),
        )
        jobs.append(Job(task, doing, decals=tuple(decal.pk for decal in lot)))
        wait = dries
    if wait:
        last.update(dict.fromkeys((decal.pk for decal in lot), wait))
    return jobs


def _on_model(lot: Sequence[DecalWork]) -> Wait | None:
    """What runs on the models of a lot now: the longest of its waits."""
    running = [decal.running for decal in lot if decal.running is not None]
    if not running:
        return None
    return Wait(None, max(running, key=_length), "the base layer")


def _length(running: RunningWait) -> tuple[bool, float]:
    """What running waits are compared by; one that never ends is the longest."""
    if isinstance(running, Never):
        return True, 0.0
    return False, running.moment.timestamp()


def _places_in_words(decals: Sequence[DecalWork]) -> str:
    """The places of decals, with how many there are of each: 'Bow, Wheel cap ×4'."""
    counted = Counter(decal.place for decal in decals)
    return listed(f"{place} ×{count}" if count > 1 else place for place, count in counted.items())


def _overcoat_jobs(work: BenchWork, last: Mapping[int, Wait]) -> list[Job]:
    """One overcoat a model, once all of its decals are set."""
    models: dict[str, list[DecalWork]] = {}
    for decal in work.decals:
        if decal.overcoat:
            models.setdefault(decal.project, []).append(decal)
    return [_overcoat(project, decals, work, last) for project, decals in models.items()]


def _overcoat(
    project: str, decals: Sequence[DecalWork], work: BenchWork, last: Mapping[int, Wait]
) -> Job:
    waits: dict[str | None, Wait] = {
        last[decal.pk].after: last[decal.pk] for decal in decals if decal.layers
    }
    running = [d.running for d in decals if not d.layers and d.running is not None]
    if running:
        waits[None] = Wait(None, max(running, key=_length), "the last layer")
    name = work_name(Doing.OVERCOAT, project)
    task = Task(
        id=name,
        project=project,
        words=f"overcoat of {work.names.get(project, project)}",
        minutes=work.minutes[Doing.OVERCOAT],
        airbrush=True,
        waits=tuple(waits.values()),
        dries=Wait(name, work.dries.get(project, NO_WAIT), "the overcoat"),
        pinned_session=work.pins.get(name),
    )
    return Job(task, Doing.OVERCOAT, decals=tuple(decal.pk for decal in decals))
