"""The stores: what is kept there, and a log of what came, went and was counted."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from django.core.validators import MaxValueValidator, MinValueValidator, RegexValidator
from django.db import models
from django.db.models import F, Q

from decaljobs.craft.doings import Doing
from decaljobs.craft.stages import Film, Printer
from decaljobs.craft.stores.supplies import SupplyKind, amount_in_words
from decaljobs.links import address
from decaljobs.models.choices import choices_of, one_of, within
from decaljobs.models.events import LogQuerySet, SheetEvent, StageEvent
from decaljobs.models.finding import holds_words
from decaljobs.models.people import Person
from decaljobs.models.sheets import Sealer, Sheet

if TYPE_CHECKING:
    from django.db.models.manager import Manager

MOST_STOCK = 1_000_000
#: A hundred years: nothing in a workshop keeps longer, and dates do not reach for ever.
MOST_DAYS = 36_525
CURRENCY = r"^[A-Z]{3}$"


def _amount(**more: object) -> models.DecimalField:
    """An amount in the supply's unit, to a thousandth."""
    return models.DecimalField(max_digits=11, decimal_places=3, **more)  # type: ignore[arg-type]


def _days() -> models.PositiveIntegerField:
    """How long something keeps; empty: nothing is known."""
    return models.PositiveIntegerField(
        null=True, blank=True, validators=[MaxValueValidator(MOST_DAYS)]
    )


class StoresRules(models.Model):
    """The one row of what the workshop reckons with: its money and its rate."""

    only = models.BooleanField(default=True, unique=True, editable=False)
    currency = models.CharField(max_length=3, default="GBP", validators=[RegexValidator(CURRENCY)])
    hourly_rate = models.DecimalField(
        max_digits=8, decimal_places=2, default=0, validators=[MinValueValidator(0)]
    )

    class Meta:
        constraints = [
            models.CheckConstraint(condition=Q(only=True), name="stores_rules_are_one_row"),
            models.CheckConstraint(condition=Q(hourly_rate__gte=0), name="hourly_rate_not_below_0"),
            models.CheckConstraint(
                condition=Q(currency__regex=CURRENCY), name="stores_currency_is_three_letters"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.currency}, {self.hourly_rate} an hour"


class RateLine(models.Model):
    """The currency and rate for an hour from a moment on; without one, from the beginning.

    A change adds a line, so that work done before it keeps the money of its day.
    """

    since = models.DateTimeField(null=True)
    currency = models.CharField(max_length=3, validators=[RegexValidator(CURRENCY)])
    hourly_rate = models.DecimalField(
        max_digits=8, decimal_places=2, validators=[MinValueValidator(0)]
    )

    class Meta:
        ordering = [F("since").asc(nulls_first=True), "pk"]
        constraints = [
            models.CheckConstraint(condition=Q(hourly_rate__gte=0), name="rate_line_not_below_0"),
            models.CheckConstraint(
                condition=Q(currency__regex=CURRENCY), name="rate_currency_is_three_letters"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.currency}, {self.hourly_rate} an hour"


class SupplyQuerySet(models.QuerySet["Supply"]):
    def kept(self) -> SupplyQuerySet:
        """Supplies that are still in the stores."""
        return self.filter(gone_at=None)

    def found(self, words: str) -> SupplyQuerySet:
        """Supplies whose name or note holds the words."""
        return self.filter(holds_words(words, "name", "note"))

    def films(self) -> SupplyQuerySet:
        """Films that sheets are taken from."""
        return self.filter(kind=SupplyKind.FILM.value)


class Supply(models.Model):
    """One thing that is bought, used up and bought again.

    low_at: at this much or less it is on the list of what runs low. keeps_days and opened_days:
    how long it keeps from its purchase, and once opened. film, printer and size tell which sheets
    are taken from a film; sealer which coats from a sealer.
    """

    name = models.CharField(max_length=120)
    kind = models.CharField(max_length=6, choices=choices_of(SupplyKind))
    low_at = _amount(default=0, validators=[MinValueValidator(0), MaxValueValidator(MOST_STOCK)])
    keeps_days = _days()
    opened_days = _days()
    film = models.CharField(max_length=5, blank=True, choices=choices_of(Film))
    printer = models.CharField(max_length=6, blank=True, choices=choices_of(Printer))
    sealer = models.CharField(max_length=7, blank=True, choices=Sealer.choices)
    width_mm = models.DecimalField(max_digits=6, decimal_places=1, null=True, blank=True)
    height_mm = models.DecimalField(max_digits=6, decimal_places=1, null=True, blank=True)
    note = models.CharField(max_length=200, blank=True)
    gone_at = models.DateTimeField(null=True, editable=False)
    example = models.BooleanField(default=False, editable=False)

    objects: ClassVar[Manager[Supply]] = SupplyQuerySet.as_manager()

    class Meta:
        ordering = ["kind", "name", "pk"]
        verbose_name_plural = "supplies"
        constraints = [
            one_of("kind", SupplyKind, "supply_kind_is_known"),
            models.CheckConstraint(
                condition=~Q(kind="film")
                | Q(width_mm__isnull=False, height_mm__isnull=False)
                & Q(width_mm__gt=0, height_mm__gt=0)
                & ~Q(film="")
                & ~Q(printer=""),
                name="film_says_what_it_is",
            ),
            models.CheckConstraint(
                condition=Q(low_at__gte=0, low_at__lte=MOST_STOCK), name="supply_low_in_range"
            ),
            within("supply_keeps_in_range", keeps_days=(0, MOST_DAYS), opened_days=(0, MOST_DAYS)),
            one_of("film", Film, "supply_film_is_known", blank=True),
            one_of("printer", Printer, "supply_printer_is_known", blank=True),
            one_of("sealer", Sealer.values, "supply_sealer_is_known", blank=True),
        ]

    def __str__(self) -> str:
        return self.name

    def get_absolute_url(self) -> str:
        return address("supply", self.pk)

    @property
    def unit(self) -> str:
        return SupplyKind(self.kind).unit

    @property
    def counted_in(self) -> str:
        return SupplyKind(self.kind).counted_in


class SupplyUse(models.Model):
    """How much of a supply one piece of work uses up, each time it is done."""

    # The unique pair below is index enough.
    supply = models.ForeignKey(
        Supply, on_delete=models.CASCADE, related_name="uses", db_index=False
    )
    doing = models.CharField(max_length=20, choices=choices_of(Doing))
    amount = _amount(validators=[MinValueValidator(0), MaxValueValidator(MOST_STOCK)])

    class Meta:
        ordering = ["supply", "doing"]
        constraints = [
            one_of("doing", Doing, "supply_use_doing_is_known"),
            models.UniqueConstraint(fields=["supply", "doing"], name="supply_used_once_a_doing"),
            models.CheckConstraint(condition=Q(amount__gt=0), name="supply_use_above_0"),
        ]

    def __str__(self) -> str:
        return f"{amount_in_words(self.amount, self.supply.unit)} of {self.supply}"

    @property
    def words(self) -> str:
        """The work that uses it up."""
        return Doing(self.doing).words


class StockLine(models.Model):
    """One line of a supply's log, which only grows: an undo is one more line.

    amount is what came, went, or was there when it was counted. price is for the whole amount, in
    the currency of that day. A use names the event that used it up.
    """

    class Kind(models.TextChoices):
        BOUGHT = "bought", "bought"
        OPENED = "opened", "opened"
        USED = "used", "used"
        COUNTED = "counted", "counted"
        THROWN = "thrown", "thrown away"
        UNDO = "undo", "undone"

    supply = models.ForeignKey(Supply, on_delete=models.PROTECT, related_name="lines")
    kind = models.CharField(max_length=7, choices=Kind.choices)
    amount = _amount(default=0)
    price = models.DecimalField(max_digits=10, decimal_places=2, null=True, blank=True)
    currency = models.CharField(max_length=3, blank=True)
    batch = models.CharField(max_length=60, blank=True)
    best_before = models.DateField(null=True, blank=True)
    note = models.CharField(max_length=200, blank=True)
    at = models.DateTimeField()
    logged_at = models.DateTimeField()
    by = models.ForeignKey(
        Person, null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )
    undoes = models.OneToOneField(
        "self", null=True, blank=True, on_delete=models.PROTECT, related_name="undone_by"
    )
    stage_event = models.ForeignKey(
        StageEvent, null=True, blank=True, on_delete=models.PROTECT, related_name="stock_lines"
    )
    sheet_event = models.ForeignKey(
        SheetEvent, null=True, blank=True, on_delete=models.PROTECT, related_name="stock_lines"
    )
    sheet = models.ForeignKey(
        Sheet, null=True, blank=True, on_delete=models.PROTECT, related_name="stock_lines"
    )

    objects: ClassVar[Manager[StockLine]] = LogQuerySet.as_manager()

    class Meta:
        ordering = ["at", "pk"]
        constraints = [
            models.CheckConstraint(
                condition=Q(amount__gte=0, amount__lte=MOST_STOCK), name="stock_amount_in_range"
            ),
            models.CheckConstraint(
                condition=Q(price=None) | Q(price__gte=0) & ~Q(currency=""),
                name="stock_price_has_its_currency",
            ),
            models.CheckConstraint(condition=Q(at__lte=F("logged_at")), name="stock_not_in_future"),
            models.CheckConstraint(
                condition=Q(kind="undo", undoes__isnull=False)
                | (~Q(kind="undo") & Q(undoes__isnull=True)),
                name="stock_undo_names_what_it_undoes",
            ),
            one_of(
                "kind",
                ["bought", "opened", "used", "counted", "thrown", "undo"],
                "stock_kind_is_known",
            ),
        ]

    def __str__(self) -> str:
        said = amount_in_words(self.amount, self.supply.unit)
        return f"{self.get_kind_display().capitalize()}: {said} of {self.supply}"
