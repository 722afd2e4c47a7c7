"""How many copies of each layer to print: from the workshop's own record, and overruled."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from decaljobs.craft.figures import counted
from decaljobs.craft.film.copies import SURENESS, Copies, copies_to_print, dealt
from decaljobs.craft.stages import LAYERS, Build, Layer
from decaljobs.models import Decal, QueuedDecal
from decaljobs.models.pieces import MOST_COPIES
from decaljobs.services.film.twins import Piles, piles_of, twins_together
from decaljobs.services.records.piece_steps import Steps, steps_by_layer


@dataclass(frozen=True)
class Advised:
    """Copies of one layer that the rule gives a decal: its share of what it gives all its twins.

    first: whether it is the first of these twins, beside which the numbers stand.
    """

    share: int
    together: Copies
    first: bool = True

    @property
    def reason(self) -> str:
        """Why so many, for whom."""
        twins = self.together.wanted
        if twins == 1:
            return self.together.reason
        copies = counted(self.together.copies, "copy", "copies")
        shared = f"{twins} equal decals share {copies}"
        return f"{shared}. {self.together.reason}" if self.first else f"{shared}, as said above."


@dataclass(frozen=True)
class WantedLayer:
    """Copies of one layer of a decal, with the reason; overruled says whether by the maker."""

    layer: Layer
    copies: int
    advised: Advised
    overruled: bool

    @property
    def reason(self) -> str:
        if not self.overruled:
            return self.advised.reason
        return f"overruled by the maker. By the rule {self.advised.share}: {self.advised.reason}"


@dataclass(frozen=True)
class Wanted:
    """A queued decal with the copies of each layer that it still wants."""

    row: QueuedDecal
    told: tuple[WantedLayer, ...]

    @property
    def decal(self) -> Decal:
        return self.row.decal

    @property
    def layers(self) -> tuple[WantedLayer, ...]:
        """The layers to print: not those of which enough lies here already."""
        return tuple(layer for layer in self.told if layer.copies)

    @property
    def most(self) -> int:
        """The copies of the layer that wants most: on shared places both films get so many."""
        return max(layer.copies for layer in self.told)


#: By decal and layer, for the layers that are not on the model yet.
Advice = Mapping[tuple[int, Layer], Advised]


def wanted_of(rows: Sequence[QueuedDecal], *, sureness: float = SURENESS) -> list[Wanted]:
    """The queued decals with their copies; those with nothing left to lay fall out.

    Three queries for any number.
    """
    advice = advised([row.decal for row in rows], sureness=sureness)
    told = {row.pk: tuple(_layers_of(row, advice)) for row in rows}
    return [Wanted(row, told[row.pk]) for row in rows if told[row.pk]]


def advised(
    decals: Iterable[Decal], *, sureness: float = SURENESS
) -> dict[tuple[int, Layer], Advised]:
    """What the rule gives each of these decals; twins are counted together (three queries).

    What lies good of theirs counts, and what is left over from twins that want it no more.
    """
    listed = list(decals)
    piles, steps = piles_of(decal.artwork_id for decal in listed), steps_by_layer()
    found: dict[tuple[int, Layer], Advised] = {}
    for sort, twins in twins_together(listed).items():
        layer = Layer(sort.layer)
        found |= _shared_out(twins, layer, piles, steps[layer], sureness)
    return found


def copies_for(decals: Iterable[Decal], layer: Layer) -> dict[int, int]:
    """How many copies of a layer the rule gives each of these decals, by decal (three queries)."""
    return {
        pk: min(known.share, MOST_COPIES)
        for (pk, of_layer), known in advised(decals).items()
        if of_layer is layer
    }


def reasons_for(decals: Iterable[Decal], layer: Layer) -> list[str]:
    """Why so many copies of a layer, once for decals that are counted together (three queries)."""
    listed = list(decals)
    places = {decal.pk: decal.place for decal in listed}
    advice = advised(listed) if listed else {}
    return [
        f"{places[pk]}: {known.reason}"
        for (pk, of_layer), known in advice.items()
        if of_layer is layer and known.first
    ]


def _shared_out(
    twins: Sequence[Decal], layer: Layer, piles: Piles, steps: Steps, sureness: float
) -> dict[tuple[int, Layer], Advised]:
    """What the rule gives twins of which a layer is wanted, dealt out evenly over them."""
    wanting = [decal for decal in twins if not piles.of(decal, layer).laid]
    if not wanting:
        return {}
    own = [piles.of(decal, layer) for decal in wanting]
    among = {decal.pk for decal in wanting}
    left_over = [
        pile for pile in piles.twins_of(wanting[0], layer) if pile.laid and pile.decal not in among
    ]
    lying = [
        sum(there) for there in zip(*(p.before_steps for p in [*own, *left_over]), strict=True)
    ]
    together = copies_to_print(len(wanting), *steps, sureness=sureness, lying=lying)
    shares = dealt(together.copies, [pile.good for pile in own])
    return {
        (decal.pk, layer): Advised(share, together, first=decal is wanting[0])
        for decal, share in zip(wanting, shares, strict=True)
    }


def _layers_of(row: QueuedDecal, advice: Advice) -> Iterable[WantedLayer]:
    for layer in LAYERS[Build(row.decal.build)]:
        known = advice.get((row.decal_id, layer))
        if known is not None:
            own = row.base_copies if layer is Layer.BASE else row.clear_copies
            copies = min(known.share if own is None else own, MOST_COPIES)
            yield WantedLayer(layer, copies, known, overruled=own is not None)
