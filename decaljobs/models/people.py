"""The people of the workshop and the one-time links that let them in."""

from __future__ import annotations

from typing import Any, ClassVar

from django.contrib.auth.models import AbstractUser, UserManager
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models

from decaljobs.craft.knife.hand import (
    CLEAR_MARGIN,
    LEAST_MARGIN,
    LEAST_SPREAD,
    MOST_MARGIN,
    MOST_SPREAD,
    Hand,
)
from decaljobs.craft.plan.hours import FIRST_PATTERN
from decaljobs.craft.ways import Order, Ways
from decaljobs.models.choices import within


def spread_field(what: str = "") -> models.FloatField:
    """A spread of the hand in mm, one standard deviation."""
    return models.FloatField(
        default=Hand.knife_mm,
        help_text=what,
        validators=[MinValueValidator(LEAST_SPREAD), MaxValueValidator(MOST_SPREAD)],
    )


class Role(models.TextChoices):
    OWNER = "owner", "owner"
    MAKER = "maker", "maker"
    ONLOOKER = "onlooker", "onlooker (may only read)"


class LengthUnit(models.TextChoices):
    MM = "mm", "millimetres"
    INCH = "in", "inches"


class Clock(models.TextChoices):
    H24 = "24", "24 hours: 21:40"
    H12 = "12", "12 hours: 9:40 pm"


class DateOrder(models.TextChoices):
    DAY_FIRST = "dmy", "day first: 24 Nov 2026, 24/11/2026"
    MONTH_FIRST = "mdy", "month first: Nov 24, 2026, 11/24/2026"
    YEAR_FIRST = "ymd", "year first: 2026-11-24"


ORDERS: dict[DateOrder, Order] = {
    DateOrder.DAY_FIRST: "dmy",
    DateOrder.MONTH_FIRST: "mdy",
    DateOrder.YEAR_FIRST: "ymd",
}


class PersonQuerySet(models.QuerySet["Person"]):
    def owners(self) -> PersonQuerySet:
        """Owners who may sign in, the first one first."""
        return self.filter(role=Role.OWNER, is_active=True).order_by("pk")

    def at_the_bench(self) -> PersonQuerySet:
        """People who may sign in and log work."""
        return self.filter(is_active=True).exclude(role=Role.ONLOOKER)

    def with_calendar(self, secret: str) -> PersonQuerySet:
        """The one who may sign in and whose calendar has this secret in its address."""
        return self.filter(calendar_secret=secret, is_active=True)


class PersonManager(UserManager.from_queryset(PersonQuerySet)):  # type: ignore[misc]
    use_in_migrations = False


class Person(AbstractUser):
    """Someone who signs in: the owner, a maker, or an onlooker who may only read."""

    role = models.CharField(max_length=10, choices=Role.choices, default=Role.MAKER)

    knife_mm = spread_field("how far the knife strays")
    lay_down_mm = spread_field("how far a layer is laid off its place")
    clear_margin_mm = models.FloatField(
        default=CLEAR_MARGIN,
        validators=[MinValueValidator(LEAST_MARGIN), MaxValueValidator(MOST_MARGIN)],
    )

    guide_hidden = models.BooleanField(
        default=False, editable=False, help_text="the first evening's guide was put away"
    )
    calendar_secret = models.CharField(max_length=64, blank=True, default="", editable=False)

    length_unit = models.CharField(max_length=2, choices=LengthUnit.choices, default=LengthUnit.MM)
    clock = models.CharField(max_length=2, choices=Clock.choices, default=Clock.H24)
    date_order = models.CharField(
        max_length=3, choices=DateOrder.choices, default=DateOrder.DAY_FIRST
    )
    zone = models.CharField(
        max_length=60, blank=True, help_text="a time zone of their own; the workshop's when empty"
    )

    objects: ClassVar[PersonManager] = PersonManager()

    class Meta:
        ordering = ["username"]
        constraints = [
            models.CheckConstraint(
                condition=models.Q(role__in=Role.values), name="person_has_a_known_role"
            ),
            models.UniqueConstraint(
                fields=["calendar_secret"],
                condition=~models.Q(calendar_secret=""),
                name="person_calendar_secret_is_their_own",
            ),
            models.CheckConstraint(
                condition=models.Q(
                    length_unit__in=LengthUnit.values,
                    clock__in=Clock.values,
                    date_order__in=DateOrder.values,
                ),
                name="person_reads_in_known_ways",
            ),
            within(
                "person_hand_in_range",
                knife_mm=(LEAST_SPREAD, MOST_SPREAD),
                lay_down_mm=(LEAST_SPREAD, MOST_SPREAD),
                clear_margin_mm=(LEAST_MARGIN, MOST_MARGIN),
            ),
        ]

    def __str__(self) -> str:
        return self.username

    def save(self, *args: Any, **kwargs: Any) -> None:
        """A new person starts with the usual bench hours, which they then change."""
        is_new = self._state.adding
        super().save(*args, **kwargs)
        if is_new:
            hours = self.bench_hours.model
            hours.objects.bulk_create(
                hours(person=self, weekday=h.weekday, starts=h.start, ends=h.end)
                for h in FIRST_PATTERN
            )

    @property
    def may_change(self) -> bool:
        """Whether this person may log work and change records."""
        return self.role in (Role.OWNER, Role.MAKER)

    @property
    def ways(self) -> Ways:
        """How this person reads lengths and times."""
        return Ways(
            unit="in" if self.length_unit == LengthUnit.INCH else "mm",
            twelve=self.clock == Clock.H12,
            order=ORDERS[DateOrder(self.date_order)],
        )

    @property
    def hand(self) -> Hand:
        """How far this person's knife and laying stray."""
        return Hand(self.knife_mm, self.lay_down_mm)

    @property
    def is_owner(self) -> bool:
        return self.role == Role.OWNER


class EnterLink(models.Model):
    """A link that lets one person in once; only a digest of its secret is kept."""

    digest = models.CharField(max_length=64, unique=True)
    person = models.ForeignKey(
        Person,
        null=True,
        blank=True,
        on_delete=models.CASCADE,
        related_name="enter_links",
        help_text="nobody yet: whoever opens it first becomes the owner",
    )
    made_at = models.DateTimeField()
    ends_at = models.DateTimeField()
    used_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["-made_at"]
        constraints = [
            models.CheckConstraint(
                condition=models.Q(ends_at__gt=models.F("made_at")), name="link_ends_after_made"
            )
        ]

    def __str__(self) -> str:
        return f"link for {self.person or 'the first owner'}"
