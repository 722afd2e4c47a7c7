"""Twins: equal decals, whose pieces of a layer can stand in for each other."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from functools import cache
from typing import NamedTuple

from django.db.models import (
    Case,
    Count,
    Exists,
    JSONField,
    OuterRef,
    Q,
    QuerySet,
    Subquery,
    Value,
    When,
)
from django.db.models.functions import JSONObject

from decaljobs.craft.stages import LAYERS, Build, Hold, Layer
from decaljobs.models import Decal, Piece, PieceState
from decaljobs.models.decals import LACKS_PIECES
from decaljobs.models.pieces import IS_PRINTED, IS_SEALED


class Sort(NamedTuple):
    """What pieces must have in common to be laid in each other's stead.

    The artwork stands for its width too. Of a base, less than all may be printed by the build;
    a decal that lies upright only wants pieces that were never turned.
    """

    layer: str
    artwork: int
    upright: bool
    example: bool
    build: str


def sort_of(decal: Decal, layer: Layer) -> Sort:
    """The sort of a decal's pieces of a layer; fetch its project beforehand."""
    return _sort(layer.value, decal.artwork_id, decal.upright, decal.project.example, decal.build)


def _sort(layer: str, artwork: int, upright: bool, example: bool, build: str) -> Sort:
    by_build = build if layer == Layer.BASE else ""
    return Sort(layer, artwork, upright, example, by_build)


@dataclass(frozen=True)
class Pile:
    """The good pieces of one layer of one decal: not printed yet, not sealed yet, and sealed.

    laid: whether the layer is on the model already, so that none of them is wanted there.
    """

    decal: int
    unprinted: int = 0
    unsealed: int = 0
    sealed: int = 0
    laid: bool = False

    @property
    def printed(self) -> int:
        return self.unsealed + self.sealed

    @property
    def good(self) -> int:
        return self.unprinted + self.printed

    @property
    def spare(self) -> int:
        """Printed pieces beyond the one that the decal needs for itself."""
        return max(0, self.printed - (0 if self.laid else 1))

    @property
    def before_steps(self) -> tuple[int, int]:
        """How many still have to be sealed, and how many only to be cut and laid."""
        return self.unprinted + self.unsealed, self.sealed

    def with_more(self, kind: str, number: int) -> Pile:
        """The pile with so many pieces more of a kind."""
        if kind == "laid":
            return replace(self, laid=True)
        return replace(self, **{kind: getattr(self, kind) + number})


@dataclass
class Piles:
    """Piles of pieces by sort and decal."""

    by_sort: dict[Sort, dict[int, Pile]] = field(default_factory=dict)

    def of(self, decal: Decal, layer: Layer) -> Pile:
        """The pile of a decal, empty where nothing of it lies anywhere."""
        known = self.by_sort.get(sort_of(decal, layer), {})
        return known.get(decal.pk, Pile(decal.pk))

    def twins_of(self, decal: Decal, layer: Layer) -> list[Pile]:
        """The piles of its twins of which a piece was ever printed or laid out."""
        known = self.by_sort.get(sort_of(decal, layer), {})
        return [pile for pk, pile in known.items() if pk != decal.pk]


def piles_of(artworks: Iterable[int]) -> Piles:
    """The pieces of all decals with these artworks that are not in the bin (one query).

    A piece of another width than its artwork has now is none of them.
    """
    kind = Case(
        When(state=PieceState.USED, then=Value("laid")),
        When(IS_SEALED, then=Value("sealed")),
        When(IS_PRINTED, then=Value("unsealed")),
        default=Value("unprinted"),
    )
    there = Q(state=PieceState.USED) | Q(state=PieceState.GOOD, sheet__lost_at=None)
    told = ("decal__artwork", "decal__upright", "decal__project__example", "decal__build")
    rows = (
        Piece.objects.at_size()
        .filter(there, decal__artwork__in=set(artworks), decal__project__binned_at=None)
        .annotate(kind=kind)
        .values_list("decal", "layer", *told, "kind")
        .annotate(Count("pk"))
        .order_by("decal")
    )
    piles = Piles()
    for decal, layer, *sort, kind, number in rows:
        same = piles.by_sort.setdefault(_sort(layer, *sort), {})
        same[decal] = same.get(decal, Pile(decal)).with_more(kind, number)
    return piles


def twins_together(decals: Iterable[Decal]) -> dict[Sort, list[Decal]]:
    """Decals gathered with their twins, for each layer of their build."""
    found: dict[Sort, list[Decal]] = {}
    for decal in decals:
        for layer in LAYERS[Build(decal.build)]:
            found.setdefault(sort_of(decal, layer), []).append(decal)
    return found


#: The layer that a decal held for want of a piece lacks, the base first.
LACKS = Case(
    When(held_because=Hold.NO_CLEAR_PIECE.value, then=Value(Layer.CLEAR.value)),
    default=Value(Layer.BASE.value),
)


@cache
def near_lender() -> Case:
    """Of a decal held for want of a piece: a twin of the same project with one to spare.

    To annotate decals that `LACKS` a layer with: the twin's number and place and the layer, or
    None (no query more). Built once: on a page that is asked for all day it costs as much as
    several queries.
    """
    spare = spares_of_twins(OuterRef("lacks")).filter(decal__project=OuterRef("project"))
    told = JSONObject(
        twin="decal_id",
        place="decal__place",
        number="decal__number",
        out_of="decal__out_of",
        layer="layer",
    )
    # Any of them will do: in an order, all of them would have to be found first.
    one = Subquery(spare.order_by().values(found=told)[:1], output_field=JSONField())
    return Case(When(LACKS_PIECES, then=one), default=None, output_field=JSONField(null=True))


def spares_of_twins(layer: Layer | OuterRef) -> QuerySet[Piece]:
    """Pieces of a layer that twins of the decal of an outer query have to spare."""
    there = Piece.objects.at_hand().printed()
    of_lender = {"decal": OuterRef("decal"), "layer": OuterRef("layer")}
    laid = Piece.objects.filter(**of_lender, state=PieceState.USED)
    another = there.at_size().filter(~Q(pk=OuterRef("pk")), **of_lender)
    return there.at_size().filter(
        ~Q(decal=OuterRef("pk")),
        Q(layer=Layer.CLEAR) | Q(decal__build=OuterRef("build")),
        Exists(laid) | Exists(another),
        layer=layer,
        decal__artwork=OuterRef("artwork"),
        decal__upright=OuterRef("upright"),
        decal__project__example=OuterRef("project__example"),
        decal__project__binned_at=None,
    )
