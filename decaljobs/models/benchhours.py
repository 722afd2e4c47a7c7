"""Bench hours: each maker's week, the days that differ, and the minutes that work takes."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import F, Q

from decaljobs.craft.doings import AIRBRUSH, LEAST_MINUTES, MOST_MINUTES, Doing
from decaljobs.craft.plan.hours import BenchException, WeeklyHours
from decaljobs.craft.ways import WEEKDAYS
from decaljobs.models.choices import choices_of, one_of
from decaljobs.models.people import Person, Role

if TYPE_CHECKING:
    from datetime import date

    from django.db.models.manager import Manager


class ForMakersQuerySet(models.QuerySet):
    def of_makers(self) -> ForMakersQuerySet:
        """Those of everybody who may work at the bench, with their person."""
        makers = self.filter(person__is_active=True).exclude(person__role=Role.ONLOOKER)
        return makers.select_related("person")


class BenchHours(models.Model):
    """One stretch of a person's every week, by the workshop's clock on the wall.

    An end at or before the start lies on the next day.
    """

    person = models.ForeignKey(Person, on_delete=models.CASCADE, related_name="bench_hours")
    weekday = models.PositiveSmallIntegerField(choices=list(enumerate(WEEKDAYS)))
    starts = models.TimeField()
    ends = models.TimeField()

    objects: ClassVar[Manager[BenchHours]] = ForMakersQuerySet.as_manager()

    class Meta:
        ordering = ["person", "weekday", "starts"]
        constraints = [
            models.CheckConstraint(condition=Q(weekday__range=(0, 6)), name="bench_weekday_known"),
            models.CheckConstraint(
                condition=~Q(starts=F("ends")), name="bench_hours_take_some_time"
            ),
            models.UniqueConstraint(
                fields=["person", "weekday", "starts"], name="bench_hours_start_once"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.person}, {WEEKDAYS[self.weekday]} {self.starts:%H:%M}"

    @property
    def hours(self) -> WeeklyHours:
        """The stretch as the craft takes it."""
        return WeeklyHours(self.weekday, self.starts, self.ends)


class BenchDay(models.Model):
    """A day of a person's that differs: no bench hours at all, or an extra session."""

    person = models.ForeignKey(Person, on_delete=models.CASCADE, related_name="bench_days")
    day = models.DateField()
    starts = models.TimeField(null=True, blank=True)
    ends = models.TimeField(null=True, blank=True)
    note = models.CharField(max_length=100, blank=True)

    objects: ClassVar[Manager[BenchDay]] = ForMakersQuerySet.as_manager()

    class Meta:
        ordering = ["day", "starts", "pk"]
        constraints = [
            models.CheckConstraint(
                condition=Q(starts=None, ends=None) | Q(starts__isnull=False, ends__isnull=False),
                name="bench_day_has_both_times_or_none",
            ),
            models.CheckConstraint(
                condition=Q(starts=None) | ~Q(starts=F("ends")), name="bench_day_takes_some_time"
            ),
            models.UniqueConstraint(
                fields=["person", "day"], condition=Q(starts=None), name="bench_day_closed_once"
            ),
            models.UniqueConstraint(
                fields=["person", "day", "starts"], name="bench_day_session_starts_once"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.person}, {self.day}"

    @property
    def is_closed(self) -> bool:
        return self.starts is None

    @property
    def exception(self) -> BenchException:
        """The day as the craft takes it."""
        day: date = self.day
        return BenchException(day, self.starts, self.ends)


class StepMinutes(models.Model):
    """How long one kind of work takes, as the makers have set it; learned or usual without."""

    doing = models.CharField(max_length=20, unique=True, choices=choices_of(Doing))
    minutes = models.PositiveSmallIntegerField(
        validators=[MinValueValidator(0), MaxValueValidator(MOST_MINUTES)]
    )

    class Meta:
        ordering = ["pk"]
        constraints = [
            one_of("doing", Doing, "step_minutes_doing_is_known"),
            models.CheckConstraint(
                condition=Q(minutes__range=(LEAST_MINUTES, MOST_MINUTES))
                | Q(minutes=0, doing__in=sorted(doing.value for doing in AIRBRUSH)),
                name="step_minutes_in_range",
            ),
        ]

    def __str__(self) -> str:
        return f"{Doing(self.doing).words}: {self.minutes} min"
