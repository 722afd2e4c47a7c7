"""How pieces fare at each step from the print to the model, by layer: the workshop's own record."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace

from django.db.models import Count

from decaljobs.craft.film.copies import CUTTING_AND_LAYING, SEALING, StepRecord
from decaljobs.craft.stages import Layer
from decaljobs.models import Piece, PieceState, StageEvent
from decaljobs.services.records.mishaps import SEALED, SHEET, SPOILED, step_of

#: Printing and sealing, then cutting and laying.
Steps = tuple[StepRecord, StepRecord]


def steps_by_layer() -> dict[Layer, Steps]:
    """The steps of a piece with the record of each, by layer (two queries).

    A spare that nobody has laid yet speaks for the sealing alone. A sheet that was lost as a
    whole says nothing of the hand, so what was spoiled with it does not count.
    """
    there, lost = _there(), _lost()
    found = {}
    for layer in Layer:
        used = there[layer, PieceState.USED]
        sheet, hand = lost[layer, True], lost[layer, False]
        sealed = used + there[layer, PieceState.GOOD] + hand
        found[layer] = (
            replace(SEALING, good=sealed, spoiled=sheet),
            replace(CUTTING_AND_LAYING, good=used, spoiled=hand),
        )
    return found


def _there() -> Counter[tuple[Layer, PieceState]]:
    """Sealed pieces that are good or used, by layer and state."""
    rows = (
        Piece.objects.filter(SEALED).values_list("layer", "state").annotate(Count("pk")).order_by()
    )
    return Counter({(Layer(layer), PieceState(state)): number for layer, state, number in rows})


def _lost() -> Counter[tuple[Layer, bool]]:
    """Spoiled pieces by layer, and whether it was on the sheet or later."""
    told = ("kind", "from_stage", "decal__build", "cause")
    rows = (
        StageEvent.objects.in_force()
        .filter(kind__in=SPOILED, pieces__state=PieceState.SPOILED)
        .exclude(how=StageEvent.How.SHEET)
        .values_list("pieces__layer", *told)
        .annotate(Count("pieces"))
        .order_by()
    )
    lost: Counter[tuple[Layer, bool]] = Counter()
    for layer, *mishap, number in rows:
        lost[Layer(layer), step_of(*mishap) == SHEET] += number
    return lost
