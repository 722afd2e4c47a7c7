"""Rooms that layers dry in, and what was read of their air."""

from __future__ import annotations

import secrets
from datetime import UTC, datetime, timedelta, tzinfo
from typing import TYPE_CHECKING, ClassVar

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import F, Q
from django.db.models.functions import Lower

from decaljobs.craft.climate import COLDEST, WARMEST
from decaljobs.craft.room.day_of_air import AirNow, DayOfAir
from decaljobs.craft.waits import WaitKind
from decaljobs.links import address
from decaljobs.models.waits import WaitRule

if TYPE_CHECKING:
    from django.db.models.manager import Manager

DRIEST, WETTEST = 0.0, 100.0  # %RH
EPOCH = datetime(1970, 1, 1, tzinfo=UTC)
MINUTE = timedelta(minutes=1)


def minute_of(moment: datetime) -> int:
    """Whole minutes from 1970 UTC to an aware moment: what a reading keeps of its time."""
    return (moment - EPOCH) // MINUTE


def moment_of(minute: int) -> datetime:
    """The UTC moment so many minutes after 1970."""
    return EPOCH + minute * MINUTE


def new_mark() -> str:
    """A name for one state of a room's air, never given twice."""
    return secrets.token_hex(8)


class RoomKind(models.TextChoices):
    WORKSHOP = "workshop", "workshop"
    CUPBOARD = "cupboard", "drying cupboard"
    SHED = "shed", "shed"


def _temperature(usual: float) -> models.FloatField:
    within = [MinValueValidator(COLDEST), MaxValueValidator(WARMEST)]
    return models.FloatField(default=usual, validators=within)


def _humidity(usual: float) -> models.FloatField:
    within = [MinValueValidator(DRIEST), MaxValueValidator(WETTEST)]
    return models.FloatField(default=usual, validators=within)


def _in_range(temperature: str, humidity: str) -> Q:
    return Q(
        **{
            f"{temperature}__gte": COLDEST,
            f"{temperature}__lte": WARMEST,
            f"{humidity}__gte": DRIEST,
            f"{humidity}__lte": WETTEST,
        }
    )


#: Which waits follow a sealing coat and which an overcoat, by the beginning of their names.
SPRAYED = {"coat": ("coat_", "last_coat_"), "overcoat": ("overcoat_",)}


class RoomQuerySet(models.QuerySet["Room"]):
    def own(self) -> RoomQuerySet:
        """Rooms that came with no example, the usual one first."""
        return self.filter(example=False).order_by("-is_default", "pk")

    def with_minimums(self) -> RoomQuerySet:
        """Each room with the strictest film-forming minimum, °C, of all sealing coats and of all
        overcoats beside it (still one query).
        """
        return self.annotate(
            **{f"{steps}_minimum": _strictest(kinds) for steps, kinds in SPRAYED.items()}
        )


def _strictest(starts: tuple[str, ...]) -> models.Subquery:
    # By name and not by a pattern, for which SQLite asks Python about every rule.
    kinds = [kind.value for kind in WaitKind if kind.value.startswith(starts)]
    rules = WaitRule.objects.filter(kind__in=kinds).order_by("-film_forming_minimum")
    return models.Subquery(rules.values("film_forming_minimum")[:1])


class Room(models.Model):
    """One room: its stated air by day and by night in °C and %RH, and how far it was read.

    read_from and read_until: minutes (since 1970 UTC) of the first and last reading.
    air_mark names the state of its air and stated figures, so that what was worked
    out from them can be kept; it is renewed by every change.
    """

    name = models.CharField(max_length=60)
    kind = models.CharField(max_length=8, choices=RoomKind.choices, default=RoomKind.WORKSHOP)
    day_temperature = _temperature(20)
    day_humidity = _humidity(50)
    night_temperature = _temperature(20)
    night_humidity = _humidity(50)
    is_default = models.BooleanField(default=False, editable=False)
    example = models.BooleanField(default=False, editable=False)
    read_from = models.PositiveIntegerField(null=True, editable=False)
    read_until = models.PositiveIntegerField(null=True, editable=False)
    air_mark = models.CharField(max_length=16, default=new_mark, editable=False)

    objects: ClassVar[Manager[Room]] = RoomQuerySet.as_manager()

    class Meta:
        ordering = ["-is_default", "name"]
        constraints = [
            models.UniqueConstraint(Lower("name"), name="room_names_differ"),
            models.UniqueConstraint(
                fields=["is_default"], condition=Q(is_default=True), name="one_default_room"
            ),
            models.CheckConstraint(
                condition=Q(kind__in=RoomKind.values), name="room_kind_is_known"
            ),
            models.CheckConstraint(
                condition=_in_range("day_temperature", "day_humidity")
                & _in_range("night_temperature", "night_humidity"),
                name="room_stated_air_in_range",
            ),
            models.CheckConstraint(
                condition=Q(read_from=None, read_until=None)
                | Q(
                    read_from__isnull=False,
                    read_until__isnull=False,
                    read_from__lte=F("read_until"),
                ),
                name="room_read_from_before_until",
            ),
        ]

    def __str__(self) -> str:
        return self.name

    def get_absolute_url(self) -> str:
        return address("room", self.pk)

    @property
    def kind_told(self) -> str:
        """What kind of room it is, in words; '' where its name says as much."""
        words = self.get_kind_display()
        return "" if words.casefold() == self.name.casefold() else words

    @property
    def last_read_at(self) -> datetime | None:
        """The moment (UTC) of the last reading, None for a room never read."""
        return None if self.read_until is None else moment_of(self.read_until)

    def stated_day(self, zone: tzinfo) -> DayOfAir:
        """The air the owner states, by the zone's wall clock."""
        return DayOfAir.day_and_night(
            AirNow(self.day_temperature, self.day_humidity),
            AirNow(self.night_temperature, self.night_humidity),
            zone=zone,
        )


class ReadingQuerySet(models.QuerySet["Reading"]):
    def since(self, minute: int) -> ReadingQuerySet:
        """Readings from a minute (since 1970 UTC) on, in order of time."""
        return self.filter(minute__gte=minute).order_by("minute")


class Reading(models.Model):
    """°C and %RH of a room at one minute, counted since 1970 UTC.

    A whole number, not a moment: a year of minute readings is then read in a second.
    """

    # The unique pair below is index enough; one more would make a long import slower.
    room = models.ForeignKey(
        Room, on_delete=models.PROTECT, related_name="readings", db_index=False
    )
    minute = models.PositiveIntegerField()
    temperature = models.FloatField()
    humidity = models.FloatField()

    objects: ClassVar[Manager[Reading]] = ReadingQuerySet.as_manager()

    class Meta:
        ordering = ["room", "minute"]
        constraints = [
            models.UniqueConstraint(fields=["room", "minute"], name="room_read_once_a_minute"),
            models.CheckConstraint(
                condition=_in_range("temperature", "humidity"), name="reading_in_range"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.room}, {self.at:%Y-%m-%d %H:%M} UTC: {self.words}"

    @property
    def at(self) -> datetime:
        """The moment of the reading, UTC."""
        return moment_of(self.minute)

    @property
    def words(self) -> str:
        """The reading in figures: '19.4 °C, 52 % RH'."""
        return f"{self.temperature:z.1f} °C, {self.humidity:.0f} % RH"
