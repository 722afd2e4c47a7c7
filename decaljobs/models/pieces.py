"""Pieces: copies of one layer of a decal, lying on a sheet."""

from __future__ import annotations

from decimal import Decimal
from typing import TYPE_CHECKING, ClassVar

from django.db import models
from django.db.models import Case, F, Q, When

from decaljobs.craft.layout.place import QUARTERS, Place
from decaljobs.craft.stages import Layer
from decaljobs.models.choices import choices_of, one_of
from decaljobs.models.decals import Decal
from decaljobs.models.sheets import Sheet

if TYPE_CHECKING:
    from django.db.models.manager import Manager


#: How far the width of a place may be off its artwork's by rounding, mm.
SLACK_MM = Decimal("0.02")
MOST_COPIES = 50  # of one decal on one sheet at one go

#: Pieces on printed sheets, and those whose sheets have every coat on.
IS_PRINTED = Q(sheet__printed_at__isnull=False)
IS_SEALED = IS_PRINTED & Q(sheet__coats_done__gte=F("sheet__coats_wanted"))


class PieceState(models.TextChoices):
    GOOD = "good", "good"
    USED = "used", "used"
    SPOILED = "spoiled", "spoiled"


class PieceQuerySet(models.QuerySet["Piece"]):
    def good(self) -> PieceQuerySet:
        """Pieces that were neither laid nor spoiled."""
        return self.filter(state=PieceState.GOOD)

    def at_hand(self) -> PieceQuerySet:
        """Good pieces on sheets that are not lost: one lost after a piece was laid from it has a
        good piece again once that step is undone."""
        return self.good().filter(sheet__lost_at=None)

    def printed(self) -> PieceQuerySet:
        """Pieces on printed sheets."""
        return self.filter(IS_PRINTED)

    def at_size(self) -> PieceQuerySet:
        """Pieces laid out at the width that their artwork has now; those without a place too."""
        turned = When(degrees__in=(90, 270), then=F("height_mm"))
        art, slack = F("decal__artwork__width_mm"), SLACK_MM
        found = self.annotate(art_mm=Case(turned, default=F("width_mm")))
        return found.filter(Q(art_mm=None) | Q(art_mm__range=(art - slack, art + slack)))

    def placed(self) -> PieceQuerySet:
        """Pieces whose place on the sheet is known."""
        return self.filter(x_mm__isnull=False)

    def to_lay(self, layer: Layer) -> PieceQuerySet:
        """Good pieces of the layer on sealed sheets, the longest dry first."""
        return (
            self.at_hand()
            .filter(IS_SEALED, layer=layer)
            .order_by(F("sheet__rested_at").asc(nulls_last=True), "pk")
        )


PLACE_FIELDS = ("x_mm", "y_mm", "width_mm", "height_mm", "degrees")
NO_PLACE = Q(**{f"{field}__isnull": True for field in PLACE_FIELDS})
#: Said of each column that it is there: a check that comes out as unknown is let through.
HAS_PLACE = Q(
    **{f"{field}__isnull": False for field in PLACE_FIELDS},
    x_mm__gte=0,
    y_mm__gte=0,
    width_mm__gt=0,
    height_mm__gt=0,
    degrees__in=QUARTERS,
)


class Piece(models.Model):
    """One copy of one layer of a decal. The layer follows from the sheet's film.

    Its place is its top left corner from the sheet's top left corner; width and
    height are as it lies, so a piece turned by a quarter has them changed over;
    degrees are anticlockwise. A piece put on a sheet by hand may have no place.
    outline: corners in mm from the picture's own top left corner, where the piece
    is nested by them and its rectangle reaches into others.
    """

    decal = models.ForeignKey(Decal, on_delete=models.PROTECT, related_name="pieces")
    sheet = models.ForeignKey(Sheet, on_delete=models.PROTECT, related_name="pieces")
    layer = models.CharField(max_length=5, choices=choices_of(Layer))
    copy = models.PositiveSmallIntegerField()
    state = models.CharField(
        max_length=7, choices=PieceState.choices, default=PieceState.GOOD, editable=False
    )
    x_mm = models.FloatField(null=True, editable=False)
    y_mm = models.FloatField(null=True, editable=False)
    width_mm = models.FloatField(null=True, editable=False)
    height_mm = models.FloatField(null=True, editable=False)
    degrees = models.PositiveSmallIntegerField(null=True, editable=False)
    outline = models.JSONField(null=True, editable=False)

    objects: ClassVar[Manager[Piece]] = PieceQuerySet.as_manager()

    class Meta:
        ordering = ["sheet", "decal", "copy"]
        constraints = [
            one_of("layer", Layer, "piece_layer_is_known"),
            models.CheckConstraint(
                condition=Q(state__in=PieceState.values), name="piece_state_is_known"
            ),
            models.CheckConstraint(
                condition=NO_PLACE | HAS_PLACE, name="piece_place_is_whole_or_none"
            ),
            models.UniqueConstraint(
                fields=["decal", "sheet", "copy"], name="piece_copies_are_numbered"
            ),
            models.UniqueConstraint(
                fields=["decal", "layer"],
                condition=Q(state="used"),
                name="decal_wears_one_piece_of_a_layer",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.layer} {self.copy} on {self.sheet}"

    @property
    def place(self) -> Place | None:
        """Where it lies on its sheet; None where that is not known."""
        x, y, wide, high = self.x_mm, self.y_mm, self.width_mm, self.height_mm
        if x is None or y is None or wide is None or high is None:
            return None
        return Place(x, y, wide, high, self.degrees or 0)

    @property
    def is_at_hand(self) -> bool:
        """Whether it can still be used; fetch its sheet beforehand."""
        return self.state == PieceState.GOOD and not self.sheet.is_lost

    @property
    def has_place(self) -> bool:
        return self.x_mm is not None
