"""What can still be made from the pieces that lie on the sheets."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass

from django.db.models import QuerySet

from decaljobs.craft.stages import LAYERS, Build, Layer
from decaljobs.models import Decal, Piece


@dataclass(frozen=True)
class Spare:
    """A decal with its good pieces: how many whole markings they make, and where they lie."""

    decal: Decal
    markings: int
    lines: tuple[str, ...]
    missing: tuple[Layer, ...]


def decals_with_pieces() -> QuerySet[Decal]:
    """Decals with a good piece on a printed sheet, by project and place (3 queries)."""
    lying = Piece.objects.at_hand().filter(sheet__printed_at__isnull=False)
    return (
        Decal.objects.kept()
        .filter(pk__in=lying.values("decal"))
        .for_rows()
        .order_by("project__name", "place", "number")
    )


def spares_of(decals: Iterable[Decal]) -> list[Spare]:
    """What the good pieces of these decals (with pieces and sheets fetched) would still make."""
    return [_spare(decal) for decal in decals]


def _spare(decal: Decal) -> Spare:
    good = [piece for piece in decal.pieces.all() if piece.is_at_hand and piece.sheet.is_printed]
    counted = Counter(piece.layer for piece in good)
    lying = Counter((piece.layer, piece.sheet.code) for piece in good)
    wanted = LAYERS[Build(decal.build)]
    return Spare(
        decal=decal,
        markings=min(counted[layer.value] for layer in wanted),
        lines=tuple(f"{count} {layer} on {code}" for (layer, code), count in sorted(lying.items())),
        missing=tuple(layer for layer in wanted if not counted[layer.value]),
    )
