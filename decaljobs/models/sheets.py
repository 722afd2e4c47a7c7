"""Sheets of film: printed once, then sealed coat by coat."""

from __future__ import annotations

from collections.abc import Collection
from datetime import datetime
from typing import TYPE_CHECKING, ClassVar

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import F, Q

from decaljobs.craft.layout.model import GAP, WIDEST_GAP
from decaljobs.craft.stages import Film, Printer
from decaljobs.links import address
from decaljobs.models.choices import choices_of, one_of
from decaljobs.models.finding import holds_words
from decaljobs.models.rooms import Room

if TYPE_CHECKING:
    from django.db.models.manager import Manager

SMALLEST_SIDE_MM, LARGEST_SIDE_MM, MOST_COATS = 10, 1000, 12
#: Edge left free: what home printers cannot reach, and room for the sheet's code (common practice).
MARGIN_MM, WIDEST_MARGIN_MM = 7, 60


class Sealer(models.TextChoices):
    WATER = "water", "water-borne"
    SOLVENT = "solvent", "solvent-borne"


#: Sealer and coats of a printer's first sheet (common practice).
FIRST_SEALING = {
    Printer.INKJET: (Sealer.WATER.value, 4),
    Printer.LASER: (Sealer.SOLVENT.value, 1),
}


class SheetQuerySet(models.QuerySet["Sheet"]):
    def coded(self, code: str) -> SheetQuerySet:
        """The sheet with this code, however it is typed: codes are kept in capitals."""
        return self.filter(code=code.upper())

    def found(self, words: str) -> SheetQuerySet:
        """Sheets whose code or note holds the words."""
        return self.filter(holds_words(words, "code", "note"))

    def with_counts(self) -> SheetQuerySet:
        """Each sheet with its pieces and its good pieces counted (one query)."""
        return self.annotate(
            piece_count=models.Count("pieces"),
            good_count=models.Count("pieces", filter=Q(pieces__state="good")),
        ).order_by("-made_at", "-pk")

    def standing(self, how: str, moment: datetime) -> SheetQuerySet:
        """Sheets that are 'unprinted', 'unsealed', 'drying' once sealed, 'dry' or 'lost'."""
        lost = Q(lost_at__isnull=False)
        sealed = Q(printed_at__isnull=False, coats_done__gte=F("coats_wanted"))
        dry = Q(rested_at__lte=moment)
        rules = {
            "unprinted": Q(printed_at=None) & ~lost,
            "unsealed": Q(printed_at__isnull=False) & ~sealed & ~lost,
            "drying": sealed & ~lost & (Q(rested_at__gt=moment) | Q(rested_at=None)),
            "dry": sealed & dry & ~lost,
            "lost": lost,
        }
        return self.filter(rules[how])

    def of_the_other_film(self, sheet: Sheet) -> SheetQuerySet:
        """Sheets with the other layer of the decals on this one, the newest first."""
        beside = self.filter(pieces__decal__pieces__sheet=sheet, lost_at=None)
        return beside.exclude(film=sheet.film).distinct().order_by("-pk")

    def workable_at(self, moment: datetime) -> SheetQuerySet:
        """Sheets that can be printed or coated at the moment, by code."""
        now = Q(printed_at=None) | Q(rested_at__lte=moment)
        unsealed = self.filter(lost_at=None, coats_done__lt=F("coats_wanted"))
        return unsealed.filter(now).order_by("code")

    def usual_printer(self) -> str:
        """The printer of the last sheet; inkjet before there was any (one query)."""
        last = self.order_by("-pk").values_list("printer", flat=True).first()
        return last or Printer.INKJET.value

    def usual_sealing(self, printer: str) -> tuple[str, int]:
        """Sealer and coats of a printer's last sheet, or what is usual before it (one query)."""
        of_printer = self.filter(printer=printer).order_by("-pk")
        last = of_printer.values_list("sealer", "coats_wanted").first()
        return last or FIRST_SEALING[Printer(printer)]

    def to_coat(self) -> SheetQuerySet:
        """Printed sheets that want another sealing coat, soonest ready first."""
        return self.filter(
            printed_at__isnull=False, lost_at=None, coats_done__lt=F("coats_wanted")
        ).order_by("rested_at", "pk")

    def laid_out_since(self, moment: datetime, offcuts: Collection[int] = ()) -> SheetQuerySet:
        """Sheets that got their pieces since the moment: whole ones first, the oldest first.

        offcuts: those that lay empty at the moment; later ones were not there yet.
        """
        new = self.filter(Q(made_at__gte=moment) | Q(pk__in=offcuts), lost_at=None)
        with_pieces = new.filter(pieces__isnull=False).distinct()
        return with_pieces.order_by(F("cut_from").asc(nulls_first=True), "made_at", "pk")

    def clean_offcuts(self) -> SheetQuerySet:
        """Offcuts with nothing on them that can still be printed, the smallest first.

        Laser film that was cut or went through the fuser is among them only where
        the owner has said why it may go through again.
        """
        return (
            self.filter(cut_from__isnull=False, printed_at=None, lost_at=None, pieces=None)
            .exclude(printer=Printer.LASER, refeed_reason="")
            .order_by(F("width_mm") * F("height_mm"), "pk")
        )


def _side() -> models.DecimalField:
    return models.DecimalField(
        max_digits=6,
        decimal_places=1,
        validators=[MinValueValidator(SMALLEST_SIDE_MM), MaxValueValidator(LARGEST_SIDE_MM)],
    )


class Sheet(models.Model):
    """One physical sheet of film.

    rested_at: when the wait after the last print or coat is over (UTC); for a
    sealed sheet that is when its pieces can be cut and soaked. Empty when it
    would never dry in this room. stays: the rooms the wait runs in, as
    [moment, room] from where it began. cut_from: an offcut is a sheet of its own,
    cut from this one. gap_mm and straight_cuts: how its pieces were laid out.
    refeed_reason: the owner's word why this laser film may go through the fuser although
    it was cut or went through before.
    """

    code = models.CharField(max_length=12, unique=True)
    film = models.CharField(max_length=5, choices=choices_of(Film))
    printer = models.CharField(
        max_length=6, choices=choices_of(Printer), default=Printer.INKJET.value
    )
    sealer = models.CharField(max_length=7, choices=Sealer.choices, default=Sealer.WATER)
    width_mm = _side()
    height_mm = _side()
    coats_wanted = models.PositiveSmallIntegerField(
        default=4, validators=[MinValueValidator(1), MaxValueValidator(MOST_COATS)]
    )
    margin_mm = models.DecimalField(
        max_digits=4,
        decimal_places=1,
        default=MARGIN_MM,
        validators=[MinValueValidator(0), MaxValueValidator(WIDEST_MARGIN_MM)],
    )
    gap_mm = models.DecimalField(
        max_digits=4,
        decimal_places=2,
        default=GAP,
        editable=False,
        validators=[MinValueValidator(0), MaxValueValidator(WIDEST_GAP)],
    )
    straight_cuts = models.BooleanField(default=False, editable=False)
    note = models.CharField(max_length=200, blank=True)
    made_at = models.DateTimeField()
    example = models.BooleanField(default=False, editable=False)

    cut_from = models.ForeignKey(
        "self",
        null=True,
        editable=False,
        on_delete=models.RESTRICT,
        related_name="offcuts",
    )
    lost_at = models.DateTimeField(null=True, editable=False)
    refeed_reason = models.CharField(max_length=300, blank=True, editable=False)
    printed_at = models.DateTimeField(null=True, editable=False)
    coats_done = models.PositiveSmallIntegerField(default=0, editable=False)
    worked_at = models.DateTimeField(null=True, editable=False)
    wait = models.JSONField(null=True, editable=False)
    room = models.ForeignKey(
        Room,
        null=True,
        blank=True,
        on_delete=models.PROTECT,
        related_name="sheets",
        help_text="where it dries; the usual room when empty",
    )
    stays = models.JSONField(default=list, editable=False)
    rested_at = models.DateTimeField(null=True, editable=False)
    events_logged = models.PositiveIntegerField(default=0, editable=False)

    objects: ClassVar[Manager[Sheet]] = SheetQuerySet.as_manager()

    class Meta:
        ordering = ["-made_at", "-pk"]
        constraints = [
            one_of("film", Film, "sheet_film_is_known"),
            one_of("printer", Printer, "sheet_printer_is_known"),
            models.CheckConstraint(
                condition=Q(sealer__in=Sealer.values), name="sheet_sealer_is_known"
            ),
            models.CheckConstraint(
                condition=Q(coats_wanted__range=(1, MOST_COATS), coats_done__lte=F("coats_wanted")),
                name="sheet_coats_within_wanted",
            ),
            models.CheckConstraint(
                condition=Q(coats_done=0) | Q(printed_at__isnull=False),
                name="sheet_printed_before_sealed",
            ),
            models.CheckConstraint(
                condition=Q(rested_at=None, worked_at=None) | Q(printed_at__isnull=False),
                name="sheet_printed_before_it_dries",
            ),
            models.CheckConstraint(
                condition=Q(margin_mm__gte=0, margin_mm__lte=WIDEST_MARGIN_MM),
                name="sheet_margin_in_range",
            ),
            models.CheckConstraint(
                condition=Q(gap_mm__gte=0, gap_mm__lte=WIDEST_GAP), name="sheet_gap_in_range"
            ),
            models.CheckConstraint(
                condition=Q(cut_from=None) | ~Q(cut_from=F("pk")), name="sheet_not_cut_from_itself"
            ),
            models.CheckConstraint(
                condition=Q(
                    width_mm__gte=SMALLEST_SIDE_MM,
                    width_mm__lte=LARGEST_SIDE_MM,
                    height_mm__gte=SMALLEST_SIDE_MM,
                    height_mm__lte=LARGEST_SIDE_MM,
                ),
                name="sheet_size_in_range",
            ),
        ]

    def __str__(self) -> str:
        return self.code

    def get_absolute_url(self) -> str:
        return address("sheet", self.code)

    @property
    def is_printed(self) -> bool:
        return self.printed_at is not None

    @property
    def is_sealed(self) -> bool:
        return self.is_printed and self.coats_done >= self.coats_wanted

    @property
    def is_lost(self) -> bool:
        return self.lost_at is not None

    @property
    def may_not_be_fed(self) -> bool:
        """Whether it is laser film that was cut, and nobody has said why it may be printed."""
        cut = self.printer == Printer.LASER and self.cut_from_id is not None
        return cut and not self.refeed_reason

    def is_dry(self, moment: datetime) -> bool:
        """Whether the wait after its last coat or print is over at the moment."""
        return self.rested_at is not None and self.rested_at <= moment

    def state_words(self, moment: datetime) -> str:
        """Where the sheet stands, as it is said at the bench."""
        if self.is_lost:
            return "lost"
        if not self.is_printed:
            return "not printed"
        if not self.is_sealed:
            return f"printed, {self.coats_done} of {self.coats_wanted} coats on"
        return "sealed and dry" if self.is_dry(moment) else "sealed, drying"
