"""How the edges of one maker's bases came out, beside what was computed for their art."""

from __future__ import annotations

from django.db.models import Count, F, QuerySet

from decaljobs.craft.knife.edgerecord import EdgeChance, Edges, edge_chance
from decaljobs.craft.mishaps import Cause
from decaljobs.craft.stages import Layer, Stage
from decaljobs.models import Measuring, Person, PieceState, StageEvent
from decaljobs.services.records.mishaps import SPOILED

#: What the knife and the laying are to blame for; a torn or bled piece says nothing of the edge.
EDGE_CAUSES = (Cause.CUT_OUTSIDE.value, Cause.SLIPPED.value)


def edge_for(measuring: Measuring, person: Person) -> EdgeChance | None:
    """The chance of a clean edge of measured art with the maker's record in it (three queries).

    None where no chance was computed.
    """
    computed = (measuring.found or {}).get("clean_chance")
    return None if computed is None else edge_chance(computed, edges_of(person))


def edges_of(person: Person) -> list[Edges]:
    """The maker's bases on art that is measured for their hand, by artwork (three queries)."""
    events = StageEvent.objects.in_force().filter(by=person, pieces__layer=Layer.BASE)
    clean = _by_artwork(
        events.filter(
            kind=StageEvent.Kind.STEP, to_stage=Stage.BASE_APPLIED, pieces__state=PieceState.USED
        )
    )
    spoiled = _by_artwork(events.filter(kind__in=SPOILED, cause__in=EDGE_CAUSES))
    hand = {"knife_mm": person.knife_mm, "lay_down_mm": person.lay_down_mm}
    measured = Measuring.objects.done().filter(
        artwork__in={*clean, *spoiled}, width_mm=F("artwork__width_mm"), **hand
    )
    chances = dict(measured.order_by("pk").values_list("artwork", "found__clean_chance"))
    return [
        Edges(chance, clean.get(artwork, 0), spoiled.get(artwork, 0))
        for artwork, chance in sorted(chances.items())
        if chance is not None
    ]


def _by_artwork(events: QuerySet[StageEvent]) -> dict[int, int]:
    counted = events.values_list("decal__artwork").annotate(Count("pieces"))
    return dict(counted.order_by())
