"""The bench plan as it is kept, and what makers have pinned in it."""

from __future__ import annotations

from datetime import datetime
from typing import TYPE_CHECKING, ClassVar

from django.db import models
from django.db.models import F, Q

from decaljobs.models.people import Person

if TYPE_CHECKING:
    from django.db.models.manager import Manager


class BenchPlanQuerySet(models.QuerySet["BenchPlan"]):
    def made(self) -> BenchPlanQuerySet:
        """Plans that are ready to be looked at, newest first."""
        return self.filter(state=BenchPlan.State.MADE).order_by("-pk")

    def running(self) -> BenchPlanQuerySet:
        """The plan that is being made, if any."""
        return self.filter(state=BenchPlan.State.RUNNING)


class BenchPlan(models.Model):
    """One plan of the coming sessions.

    marks: the state of the records it was made from, by kind, so that the page can say what
    changed since. found: sessions, ends, notes and slips in plain values. moment: the plan's own
    now; beat_at: when its making was last heard of.
    """

    class State(models.TextChoices):
        RUNNING = "running", "being made"
        MADE = "made", "made"
        FAILED = "failed", "failed"

    state = models.CharField(max_length=7, choices=State.choices, default=State.RUNNING)
    moment = models.DateTimeField()
    beat_at = models.DateTimeField()
    made_at = models.DateTimeField(null=True)
    marks = models.JSONField(default=dict)
    found = models.JSONField(default=dict)
    problem = models.CharField(max_length=300, blank=True)

    objects: ClassVar[Manager[BenchPlan]] = BenchPlanQuerySet.as_manager()

    class Meta:
        ordering = ["-pk"]
        constraints = [
            models.CheckConstraint(
                condition=Q(state__in=["running", "made", "failed"]), name="plan_state_is_known"
            ),
            models.CheckConstraint(
                condition=~Q(state="made") | Q(made_at__isnull=False), name="plan_made_at_a_time"
            ),
            models.UniqueConstraint(
                fields=["state"], condition=Q(state="running"), name="plan_one_is_made_at_a_time"
            ),
        ]

    def __str__(self) -> str:
        return f"plan of {self.moment:%Y-%m-%d %H:%M}"


class PlanPinQuerySet(models.QuerySet["PlanPin"]):
    def coming(self, moment: datetime) -> PlanPinQuerySet:
        """Pins to sessions that are not over, with the person whose sessions they are."""
        return self.filter(ends_at__gt=moment).select_related("person")


class PlanPin(models.Model):
    """One piece of work held in one session of a person's.

    work: what is pinned, such as 'base:17' (the base of decal 17) or 'coat:4:2' (the second coat
    on sheet 4).
    """

    work = models.CharField(max_length=40, unique=True)
    person = models.ForeignKey(Person, on_delete=models.CASCADE, related_name="plan_pins")
    starts_at = models.DateTimeField()
    ends_at = models.DateTimeField()

    objects: ClassVar[Manager[PlanPin]] = PlanPinQuerySet.as_manager()

    class Meta:
        ordering = ["starts_at", "work"]
        constraints = [
            models.CheckConstraint(
                condition=Q(ends_at__gt=F("starts_at")), name="pinned_session_ends_after_start"
            )
        ]

    def __str__(self) -> str:
        return f"{self.work} on {self.starts_at:%Y-%m-%d %H:%M}"
