"""What the work ahead will take from the stores, copies to spare included."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import ROUND_UP, Decimal

from decaljobs.craft.doings import LAYING
from decaljobs.craft.film.copies import copies_each
from decaljobs.craft.stages import Layer
from decaljobs.models import BenchPlan, Decal, Piece, PieceState, SupplyUse
from decaljobs.services.film.filmuse import usual_films
from decaljobs.services.film.twins import twins_together
from decaljobs.services.money.estimates import film_wanted
from decaljobs.services.records.piece_steps import Steps, steps_by_layer

LAID = {doing.value: layer for layer, doing in LAYING.items()}


def needed() -> dict[int, Decimal]:
    """What the newest plan and the decals without film will use up, by supply (ten queries)."""
    steps = steps_by_layer()
    needs = _by_plan(steps)
    for supply, sheets in _film(steps).items():
        needs[supply] = needs.get(supply, Decimal(0)) + sheets
    return needs


def _by_plan(steps: Mapping[Layer, Steps]) -> dict[int, Decimal]:
    """Layers, coats and prints of the plan's tasks: of layers as many as leave enough good."""
    jobs: dict[str, int] = {}
    plan = BenchPlan.objects.made().first()
    for session in plan.found.get("sessions", ()) if plan else ():
        for task in session["tasks"]:
            # A layer is used up decal by decal, a coat or a print sheet by sheet.
            times = 1 if task["sheet"] else max(1, len(task["decals"]))
            jobs[task["doing"]] = jobs.get(task["doing"], 0) + times
    times_each = {doing: _layings(doing, number, steps) for doing, number in jobs.items()}
    needs: dict[int, Decimal] = {}
    for use in SupplyUse.objects.filter(doing__in=jobs, supply__gone_at=None):
        amount = use.amount * times_each[use.doing]
        needs[use.supply_id] = needs.get(use.supply_id, Decimal(0)) + amount
    return needs


def _layings(doing: str, number: int, steps: Mapping[Layer, Steps]) -> Decimal:
    """How often a layer is laid until so many are good; other work is done once."""
    if doing not in LAID:
        return Decimal(number)
    *_, laying = steps[LAID[doing]]
    return Decimal(repr(number * copies_each(number, laying)))


def _film(steps: Mapping[Layer, Steps]) -> dict[int, Decimal]:
    """Sheets of film for the layers of decals at work that no good piece lies anywhere for."""
    films = usual_films()
    if not films:
        return {}
    unfinished = Decal.objects.at_work().exclude(next_step="")
    size = ("artwork__width_mm", "artwork__width_px", "artwork__height_px")
    wide = unfinished.select_related("artwork", "project")
    decals = list(wide.only("build", "upright", "project__example", *size))
    pieces = Piece.objects.at_hand() | Piece.objects.filter(state=PieceState.USED)
    there = set(pieces.filter(decal__in=unfinished).values_list("decal", "layer"))
    areas: dict[int, float] = {}
    for sort, twins in twins_together(decals).items():
        layer = Layer(sort.layer)
        film = films.get((layer.film, sort.example))
        wanting = [decal for decal in twins if (decal.pk, layer.value) not in there]
        if film and wanting:
            copies = len(wanting) * copies_each(len(wanting), *steps[layer])
            areas[film.pk] = areas.get(film.pk, 0.0) + film_wanted(wanting[0], copies)
    whole = {film.pk: (film.width_mm or 0) * (film.height_mm or 0) for film in films.values()}
    return {pk: _tenth(Decimal(repr(area)) / whole[pk]) for pk, area in areas.items()}


def _tenth(sheets: Decimal) -> Decimal:
    return sheets.quantize(Decimal("0.1"), ROUND_UP)
