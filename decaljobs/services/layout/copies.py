"""How many copies of each layer to print: from the workshop's own record, and overruled."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from django.db.models import Count

from decaljobs.craft.copies import SURENESS, WHOLE_CHAIN, Copies, Success, copies_to_print
from decaljobs.craft.stages import Layer
from decaljobs.models import Decal, Piece, PieceState, QueuedDecal, SheetEvent
from decaljobs.models.pieces import MOST_COPIES
from decaljobs.services.layout.queue import layers_wanted


@dataclass(frozen=True)
class WantedLayer:
    """Copies of one layer of a decal, with the reason; overruled says whether by the maker."""

    layer: Layer
    copies: int
    advised: Copies
    overruled: bool

    @property
    def reason(self) -> str:
        if not self.overruled:
            return self.advised.reason
        return f"overruled by the maker. By the rule {self.advised.copies}: {self.advised.reason}"


@dataclass(frozen=True)
class Wanted:
    """A queued decal with the copies of each layer that it still wants."""

    row: QueuedDecal
    layers: tuple[WantedLayer, ...]

    @property
    def decal(self) -> Decal:
        return self.row.decal

    @property
    def most(self) -> int:
        """The copies of the layer that wants most: on shared places both films get so many."""
        return max(layer.copies for layer in self.layers)


def wanted_of(rows: Sequence[QueuedDecal], *, sureness: float = SURENESS) -> list[Wanted]:
    """The queued decals with their copies; those with nothing left to print fall out.

    Two queries for any number.
    """
    layers = layers_wanted(row.decal for row in rows)
    success = success_by_layer()
    advised = {layer: copies_to_print(1, success[layer], sureness=sureness) for layer in Layer}
    return [
        Wanted(
            row, tuple(_wanted_layer(row, layer, advised[layer]) for layer in layers[row.decal_id])
        )
        for row in rows
        if layers[row.decal_id]
    ]


def success_by_layer() -> dict[Layer, Success]:
    """What is known of a piece's success from sheet to model, by layer (one query).

    A sheet that was lost as a whole says nothing of the hand, so its pieces do not count.
    """
    rows = (
        Piece.objects.filter(state__in=[PieceState.USED, PieceState.SPOILED])
        .exclude(sheet__events__in=SheetEvent.objects.in_force().filter(kind="lost"))
        .values_list("layer", "state")
        .annotate(Count("pk"))
        .order_by()
    )
    counted = {(layer, state): number for layer, state, number in rows}
    return {
        layer: WHOLE_CHAIN.with_record(
            good=counted.get((layer.value, PieceState.USED.value), 0),
            spoiled=counted.get((layer.value, PieceState.SPOILED.value), 0),
        )
        for layer in Layer
    }


def _wanted_layer(row: QueuedDecal, layer: Layer, advised: Copies) -> WantedLayer:
    own = row.base_copies if layer is Layer.BASE else row.clear_copies
    copies = min(advised.copies if own is None else own, MOST_COPIES)
    return WantedLayer(layer, copies, advised, overruled=own is not None)
