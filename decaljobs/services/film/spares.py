"""What can still be made from the pieces that lie on the sheets."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass

from django.db.models import Exists, Q, QuerySet

from decaljobs.craft.stages import LAYERS, Build, Layer
from decaljobs.models import Decal, Piece
from decaljobs.models.decals import LACKS_PIECES
from decaljobs.services.film.twins import Piles, piles_of, spares_of_twins


@dataclass(frozen=True)
class Spare:
    """A decal with its good pieces: how many whole markings they make, and where they lie.

    lent: what its twins have to spare, and with_twins: how many markings it makes with that.
    """

    decal: Decal
    markings: int
    lines: tuple[str, ...]
    missing: tuple[Layer, ...]
    lent: tuple[str, ...]
    with_twins: int


def decals_with_pieces() -> QuerySet[Decal]:
    """Decals with a good piece on a printed sheet, and those at work that a twin could lend one.

    By project and place (3 queries).
    """
    lying = Piece.objects.at_hand().printed()
    could_take = Q(
        LACKS_PIECES,
        Exists(spares_of_twins(Layer.BASE)) | Exists(spares_of_twins(Layer.CLEAR)),
        project__archived_at=None,
    )
    return (
        Decal.objects.kept()
        .filter(Q(pk__in=lying.values("decal")) | could_take)
        .for_rows()
        .order_by("project__name", "place", "number")
    )


def spares_of(decals: Iterable[Decal]) -> list[Spare]:
    """What the good pieces of these decals (with pieces and sheets fetched) would still make.

    One query.
    """
    listed = list(decals)
    piles = piles_of(decal.artwork_id for decal in listed)
    return [_spare(decal, piles) for decal in listed]


def _spare(decal: Decal, piles: Piles) -> Spare:
    good = [piece for piece in decal.pieces.all() if piece.is_at_hand and piece.sheet.is_printed]
    counted = Counter(piece.layer for piece in good)
    lying = Counter((piece.layer, piece.sheet.code) for piece in good)
    wanted = LAYERS[Build(decal.build)]
    lent = {layer: sum(pile.spare for pile in piles.twins_of(decal, layer)) for layer in wanted}
    return Spare(
        decal=decal,
        markings=min(counted[layer.value] for layer in wanted),
        lines=tuple(f"{count} {layer} on {code}" for (layer, code), count in sorted(lying.items())),
        missing=tuple(layer for layer in wanted if not counted[layer.value]),
        lent=tuple(f"{number} {layer}" for layer, number in lent.items() if number),
        with_twins=min(counted[layer.value] + lent[layer] for layer in wanted),
    )
