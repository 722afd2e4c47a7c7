"""How many copies of each layer to print: from the workshop's own record, and overruled."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from decaljobs.craft.film.copies import SURENESS, Copies, copies_to_print
from decaljobs.craft.stages import Layer
from decaljobs.models import Decal, QueuedDecal
from decaljobs.models.pieces import MOST_COPIES
from decaljobs.services.layout.queue import layers_wanted
from decaljobs.services.records.piece_steps import steps_by_layer


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

    Three queries for any number.
    """
    layers = layers_wanted(row.decal for row in rows)
    steps = steps_by_layer()
    advised = {layer: copies_to_print(1, *steps[layer], sureness=sureness) for layer in Layer}
    return [
        Wanted(
            row, tuple(_wanted_layer(row, layer, advised[layer]) for layer in layers[row.decal_id])
        )
        for row in rows
        if layers[row.decal_id]
    ]


def _wanted_layer(row: QueuedDecal, layer: Layer, advised: Copies) -> WantedLayer:
    own = row.base_copies if layer is Layer.BASE else row.clear_copies
    copies = min(advised.copies if own is None else own, MOST_COPIES)
    return WantedLayer(layer, copies, advised, overruled=own is not None)
