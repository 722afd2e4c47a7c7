"""The rows of the bench page, worked out beforehand so that its templates stay plain."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from itertools import groupby

from django.urls import reverse
from django.utils import timezone
from django.utils.safestring import SafeString, mark_safe

from decaljobs.craft.cautions import advice
from decaljobs.craft.figures import counted
from decaljobs.craft.stages import Stage
from decaljobs.craft.units import format_scale
from decaljobs.craft.waiting.forecast import Forecast
from decaljobs.craft.waiting.shares import Share
from decaljobs.craft.waiting.words import range_words
from decaljobs.links import address
from decaljobs.models import Decal, Room, Sheet
from decaljobs.services.bench.drawings import draw_coats, draw_section
from decaljobs.services.bench.moving import lies_in
from decaljobs.services.drying.air import Airs
from decaljobs.services.drying.spraying import spraying_in
from decaljobs.services.drying.waiting import (
    RunningWait,
    forecasts_of,
    shares_of,
    wait_of_decal,
    wait_of_sheet,
)
from decaljobs.services.words import say_moment, until
from decaljobs.shown import ways
from decaljobs.views.batches import project_batches
from decaljobs.views.bench_groups import HeldGroup, ReadyGroup, Rows, held_groups, ready_parts
from decaljobs.views.bench_words import (
    COAT,
    advice_on,
    group_title,
    lent_by,
    never_dries,
    next_words,
    rate_now,
    rest_words,
    what_dries,
    why_held,
    why_ready,
)

AS_REFERENCE = "an hour counts 1"


@dataclass(frozen=True, slots=True)
class Row:
    """What every row shows: the art on its paint, the drawing, what and where it is."""

    pk: int
    key: str
    href: str
    name: str
    where: str
    colour: str
    art: str
    art_name: str
    drawing: SafeString
    seen: int
    sheet: Sheet | None


@dataclass(frozen=True, slots=True)
class ReadyRow(Row):
    """A row with something to do now; coat_href is for a sheet, whose coat is logged there."""

    why: str
    caution: str
    first: str
    step: str
    label: str
    coat_href: str = ""


@dataclass(frozen=True, slots=True)
class DryingRow(Row):
    """A row to leave alone: how far it is, and from when what can be done."""

    told: str
    when: str
    then: str


@dataclass(frozen=True, slots=True)
class HeldRow(Row):
    """A row for which something is missing, and where to see to it; film_href is its own way.

    lent: what a button sends to take a twin's piece there, where one has a piece to spare.
    """

    reason: str
    remedy: str
    remedy_href: str
    film_href: str = ""
    lent: str = ""
    lent_words: str = ""
    lent_href: str = ""


def ready_groups(things: Sequence[Decal | Sheet], moment: datetime, airs: Airs) -> list[ReadyGroup]:
    """The ready rows, a group for each next step."""
    rows = [_ready_sheet(t, moment) if isinstance(t, Sheet) else _ready(t, moment) for t in things]
    groups = []
    for step, found in groupby(zip(rows, things, strict=True), key=lambda pair: pair[0].step):
        pairs = list(found)
        members = [thing for _, thing in pairs]
        weather = _weather(step, members, airs, moment)
        caution, parts = ready_parts(step, [row for row, _ in pairs])
        at_once, soak = project_batches(members, step), advice(step).soak
        groups.append(ReadyGroup(group_title(step), caution, weather, parts, at_once, soak))
    return groups


SPRAYED_STEPS = {COAT: "coat", Stage.OVERCOATED.value: "overcoat"}


def _weather(step: str, things: Sequence[Decal | Sheet], airs: Airs, moment: datetime) -> list[str]:
    """Spraying weather in each room that these lie in, for a step that sprays."""
    steps = SPRAYED_STEPS.get(step)
    if steps is None:
        return []
    rooms = {room.pk: room for room in (lies_in(thing, airs) for thing in things)}
    told = [
        (room, spraying_in(room=room, steps=steps, airs=airs, moment=moment))
        for room in rooms.values()
    ]
    return [f"{room}: {seen.words}" if len(told) > 1 else seen.words for room, seen in told]


def drying_rows(things: Sequence[Decal | Sheet], moment: datetime, airs: Airs) -> Rows:
    """The rows to leave alone, soonest ready first."""
    rows = [
        _drying_sheet(thing, dries, moment)
        if isinstance(thing, Sheet)
        else _drying(thing, dries, moment)
        for thing, dries in _with_waits(things, moment, airs)
    ]
    return Rows("drying", rows)


def held_rows(things: Sequence[Decal | Sheet], moment: datetime, airs: Airs) -> list[HeldGroup]:
    """The rows for which something is missing, by what that is."""
    return held_groups(
        _held_sheet(thing, dries, lies_in(thing, airs))
        if isinstance(thing, Sheet)
        else _held(thing, dries, moment, lies_in(thing, airs))
        for thing, dries in _with_waits(things, moment, airs)
    )


@dataclass(frozen=True, slots=True)
class Dries:
    """The wait that runs on a record, how far it is, and when it is likely over; or none."""

    wait: RunningWait | None = None
    far: Share | None = None
    seen: Forecast | None = None

    @property
    def share(self) -> float | None:
        return self.far.fraction if self.far else None


def _with_waits(
    things: Sequence[Decal | Sheet], moment: datetime, airs: Airs
) -> list[tuple[Decal | Sheet, Dries]]:
    """Each record with what dries on it."""
    # One air for all of them, so that each clock is asked once.
    airs.reach_back(begun_at(thing) for thing in things)
    waits = {
        place: wait_of_sheet(t, moment, airs)
        if isinstance(t, Sheet)
        else wait_of_decal(t, moment, airs)
        for place, t in enumerate(things)
    }
    shares, seen = shares_of(waits, moment), forecasts_of(waits)
    return [
        (thing, Dries(waits[place], shares.get(place), seen.get(place)))
        for place, thing in enumerate(things)
    ]


def begun_at(thing: Decal | Sheet) -> datetime:
    """When what dries on a record began, or its latest step."""
    if isinstance(thing, Sheet):
        return thing.worked_at or thing.made_at
    sheets = [p.sheet.worked_at for p in thing.pieces.all() if p.sheet.worked_at]
    return min([thing.stage_at, *sheets])


def _of_decal(decal: Decal, drawing: str) -> dict[str, object]:
    project = decal.project
    return {
        "pk": decal.pk,
        "key": f"d{decal.pk}",
        "href": address("decal", decal.pk),
        "name": decal.words,
        # Isolated (Unicode Annex 9): a name read from right to left turns nothing but itself.
        "where": f"\u2068{project.name}\u2069, {format_scale(project.scale_ratio)}",
        "colour": project.body_colour,
        "art": address("artwork-preview", decal.artwork_id),
        "art_name": decal.artwork.name,
        "drawing": mark_safe(drawing),  # noqa: S308 (drawn by ourselves, escaped there)
        "seen": decal.events_logged,
        "sheet": None,
    }


def _of_sheet(sheet: Sheet, share: float | None) -> dict[str, object]:
    good = sheet.good_count
    return {
        "pk": sheet.pk,
        "key": f"s{sheet.pk}",
        "href": sheet.get_absolute_url(),
        "name": f"Sheet {sheet.code}",
        "where": f"{sheet.film} film, {sheet.printer}, {counted(good, 'good piece')}",
        "colour": "",
        "art": "",
        "art_name": "",
        "drawing": mark_safe(draw_coats(sheet, share)),  # noqa: S308
        "seen": sheet.events_logged,
        "sheet": sheet,
    }


def _ready(decal: Decal, moment: datetime) -> ReadyRow:
    step = Stage(decal.next_step)
    told = advice_on(step.value, decal.build)
    surface = advice("surface").how[0] if decal.clean_surface else ""
    return ReadyRow(
        **_of_decal(decal, draw_section(decal, moment, None, None)),
        why=why_ready(decal, moment),
        caution=told.caution,
        first=surface,
        step=step.value,
        label=step.words.capitalize(),
    )


def _ready_sheet(sheet: Sheet, moment: datetime) -> ReadyRow:
    dry = say_moment(sheet.rested_at, now=moment) if sheet.rested_at else ""
    done = f"coat {sheet.coats_done}" if sheet.coats_done else "print"
    return ReadyRow(
        **_of_sheet(sheet, None),
        why=f"{done} dry since {dry}",
        caution=advice(COAT, printer=sheet.printer).caution,
        first="",
        step=COAT,
        label=f"Coat {sheet.coats_done + 1} of {sheet.coats_wanted} sprayed",
        coat_href=reverse("sheet-coat", args=[sheet.code], query={"next": reverse("bench")}),
    )


def _drying(decal: Decal, dries: Dries, moment: datetime) -> DryingRow:
    return DryingRow(
        **_of_decal(decal, draw_section(decal, moment, dries.wait, dries.share)),
        told=_told(
            dries, what_dries(decal, dries.wait), moment, rest_words(decal, dries.wait, moment)
        ),
        when=until(decal.ready_at, moment),
        then=f"then {next_words(decal)}",
    )


def _drying_sheet(sheet: Sheet, dries: Dries, moment: datetime) -> DryingRow:
    done = f"Coat {sheet.coats_done} drying" if sheet.coats_done else "Print drying"
    return DryingRow(
        **_of_sheet(sheet, dries.share),
        told=_told(dries, done, moment),
        when=until(sheet.rested_at, moment),
        then=f"then coat {sheet.coats_done + 1} of {sheet.coats_wanted}",
    )


def _told(dries: Dries, what: str, moment: datetime, then: str = "") -> str:
    """How far a wait is, what an hour counts unless as one, when it may end, and what then."""
    wait, far, seen = dries.wait, dries.far, dries.seen
    if wait is None or far is None or seen is None:
        return ""
    rate = rate_now(wait.terms, *wait.air.at(moment))
    ranged = range_words(seen, moment, timezone.get_current_timezone(), ways=ways())
    parts = [f"{what}: {wait.said(far)}", "" if rate == AS_REFERENCE else rate, ranged, then]
    return "; ".join(part for part in parts if part) + "."


def _held(decal: Decal, dries: Dries, moment: datetime, room: Room) -> HeldRow:
    reason, remedy, href = why_held(decal, room)
    drawing = draw_section(decal, moment, dries.wait, dries.share)
    wants_film = decal.wants_film and not hasattr(decal, "queued")
    return HeldRow(
        **_of_decal(decal, drawing),
        reason=reason,
        remedy="" if wants_film else remedy,
        remedy_href="" if wants_film else href,
        film_href=href if wants_film else "",
        **lent_by(decal),
    )


def _held_sheet(sheet: Sheet, dries: Dries, room: Room) -> HeldRow:
    reason, remedy, href = never_dries(room)
    return HeldRow(**_of_sheet(sheet, dries.share), reason=reason, remedy=remedy, remedy_href=href)
