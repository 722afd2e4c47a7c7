"""The logs of decals and sheets. They only grow: an undo is one more event."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, ClassVar

from django.db import models
from django.db.models import F, Q

from decaljobs.craft.figures import cut_tenths
from decaljobs.craft.mishaps import Cause
from decaljobs.craft.stages import Stage
from decaljobs.models.choices import choices_of, one_of
from decaljobs.models.decals import Decal
from decaljobs.models.people import Person
from decaljobs.models.pieces import Piece
from decaljobs.models.rooms import Room
from decaljobs.models.sheets import Sheet

if TYPE_CHECKING:
    from django.db.models.manager import Manager


class LogQuerySet(models.QuerySet):
    def in_force(self) -> LogQuerySet:
        """Events that stand: no undo, and not undone."""
        return self.filter(undoes=None, undone_by=None)

    def newest_first(self) -> list[Any]:
        """A thing's whole log, the last line first, each with what it undoes and whether it is
        undone (one query)."""
        lines = list(self.select_related("by").order_by("-number"))
        known = {line.pk: line for line in lines}
        for line in lines:
            if line.undoes_id:
                line.undoes = known[line.undoes_id]
                line.undoes.is_undone = True
        return lines


class LogEvent(models.Model):
    """What the two logs have in common.

    room is where the thing dries from then on. air keeps the figures used: the air
    at that time, and the wait that it ended or tested.
    """

    number = models.PositiveIntegerField()
    at = models.DateTimeField(help_text="when it was done at the bench")
    logged_at = models.DateTimeField(help_text="when it was written down")
    by = models.ForeignKey(
        Person, null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )
    reason = models.CharField(max_length=300, blank=True)
    room = models.ForeignKey(
        Room, null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )
    air = models.JSONField(default=dict)
    undoes = models.OneToOneField(
        "self", null=True, blank=True, on_delete=models.PROTECT, related_name="undone_by"
    )

    objects: ClassVar[Manager] = LogQuerySet.as_manager()

    #: Known of a line of a log that was read whole.
    is_undone = False

    class Meta:
        abstract = True
        ordering = ["number"]

    @property
    def stands(self) -> bool:
        """Whether it is no undo and not undone; read the whole log beforehand."""
        return not (self.undoes_id or self.is_undone)

    @property
    def air_words(self) -> str:
        """The figures used: 'Workshop, 19.4 °C and 52 % RH; 12.1 of 12 reference hours'."""
        if "room" not in self.air:
            return ""
        how = "" if self.air["read"] else ", not read"
        said = (
            f"{self.air['room']}, {self.air['temperature']:g} °C and "
            f"{self.air['humidity']:g} % RH{how}"
        )
        if "wait" not in self.air:
            return said
        done = cut_tenths(self.air["done_hours"])
        return f"{said}; {done} of {self.air['of_hours']:g} reference hours"


class SheetEvent(LogEvent):
    """Something done to a whole sheet."""

    class Kind(models.TextChoices):
        PRINTED = "printed", "printed"
        COAT = "coat", "sealing coat"
        DRY = "dry", "dry to the touch"
        NOT_YET = "not_yet", "not dry yet"
        MOVED = "moved", "moved"
        RULE = "rule", "follows the changed rule"
        CUT = "cut", "rest cut off"
        LOST = "lost", "lost"
        UNDO = "undo", "undone"

    # The unique pair below is index enough; one more would make every line dearer to write.
    sheet = models.ForeignKey(
        Sheet, on_delete=models.PROTECT, related_name="events", db_index=False
    )
    kind = models.CharField(max_length=7, choices=Kind.choices)
    coat = models.PositiveSmallIntegerField(default=0)
    wait = models.JSONField(null=True)

    class Meta(LogEvent.Meta):
        constraints = [
            models.UniqueConstraint(fields=["sheet", "number"], name="sheet_events_are_numbered"),
            models.CheckConstraint(
                condition=Q(at__lte=F("logged_at")), name="sheet_event_not_in_the_future"
            ),
            models.CheckConstraint(
                condition=Q(kind="undo", undoes__isnull=False)
                | (~Q(kind="undo") & Q(undoes__isnull=True)),
                name="sheet_undo_names_what_it_undoes",
            ),
            models.CheckConstraint(
                condition=~Q(kind="moved") | Q(room__isnull=False), name="sheet_move_names_a_room"
            ),
            one_of(
                "kind",
                ["printed", "coat", "dry", "not_yet", "moved", "rule", "cut", "lost", "undo"],
                "sheet_event_kind_is_known",
            ),
        ]

    def __str__(self) -> str:
        return self.words

    @property
    def words(self) -> str:
        if self.kind == self.Kind.COAT:
            return f"Sealing coat {self.coat}"
        if self.kind == self.Kind.MOVED:
            return f"Moved to {self.air.get('to', 'another room')}"
        if self.kind == self.Kind.CUT:
            return f"Rest cut off as {self.air.get('offcut', 'an offcut')}"
        return self.get_kind_display().capitalize()


class StageEvent(LogEvent):
    """Something that happened to one decal.

    twin: the equal decal that a piece went to or came from, also where that piece moved it along.
    """

    class Kind(models.TextChoices):
        STEP = "step", "step"
        SPOILED = "spoiled", "layer spoiled"
        PIECE_SPOILED = "piece_spoiled", "piece spoiled"
        GIVEN = "given", "piece given away"
        TAKEN = "taken", "piece taken over"
        NOT_YET = "not_yet", "not dry yet"
        MOVED = "moved", "moved"
        RULE = "rule", "follows the changed rule"
        UNDO = "undo", "undone"

    class How(models.TextChoices):
        HAND = "hand", "by hand"
        SHEET = "sheet", "with its sheet"
        CLOCK = "clock", "by the clock"
        TOUCH = "touch", "by touch"
        EARLY = "early", "before its time"

    decal = models.ForeignKey(
        Decal, on_delete=models.PROTECT, related_name="events", db_index=False
    )
    kind = models.CharField(max_length=13, choices=Kind.choices)
    how = models.CharField(max_length=5, choices=How.choices, default=How.HAND)
    from_stage = models.CharField(max_length=14, choices=choices_of(Stage))
    to_stage = models.CharField(max_length=14, choices=choices_of(Stage))
    waits = models.JSONField(default=list)
    clean_surface = models.BooleanField(default=False)
    cause = models.CharField(max_length=12, blank=True, choices=choices_of(Cause))
    pieces = models.ManyToManyField(Piece, related_name="events", blank=True)
    sheet_event = models.ForeignKey(
        SheetEvent, null=True, blank=True, on_delete=models.PROTECT, related_name="stage_events"
    )
    twin = models.ForeignKey(
        Decal,
        null=True,
        blank=True,
        on_delete=models.PROTECT,
        related_name="+",
        db_index=False,
    )

    class Meta(LogEvent.Meta):
        constraints = [
            models.UniqueConstraint(fields=["decal", "number"], name="stage_events_are_numbered"),
            one_of("from_stage", Stage, "stage_event_from_is_known"),
            one_of("to_stage", Stage, "stage_event_to_is_known"),
            models.CheckConstraint(
                condition=Q(at__lte=F("logged_at")), name="stage_event_not_in_the_future"
            ),
            models.CheckConstraint(
                condition=Q(kind="undo", undoes__isnull=False)
                | (~Q(kind="undo") & Q(undoes__isnull=True)),
                name="stage_undo_names_what_it_undoes",
            ),
            models.CheckConstraint(
                condition=~Q(how="early") | ~Q(reason=""), name="early_step_says_why"
            ),
            models.CheckConstraint(
                condition=~Q(kind="moved") | Q(room__isnull=False), name="stage_move_names_a_room"
            ),
            models.CheckConstraint(
                condition=Q(cause="")
                | Q(kind__in=["spoiled", "piece_spoiled"], cause__in=[c.value for c in Cause]),
                name="only_a_mishap_has_a_cause",
            ),
            one_of(
                "kind",
                [
                    *("step", "spoiled", "piece_spoiled", "given", "taken"),
                    *("not_yet", "moved", "rule", "undo"),
                ],
                "stage_event_kind_is_known",
            ),
            models.CheckConstraint(
                condition=Q(kind__in=["given", "taken"], twin__isnull=False)
                | Q(kind="step")
                | (~Q(kind__in=["given", "taken", "step"]) & Q(twin__isnull=True)),
                name="a_lent_piece_names_the_twin",
            ),
            models.CheckConstraint(
                condition=Q(twin=None) | ~Q(twin=F("decal")), name="no_decal_is_its_own_twin"
            ),
            one_of("how", ["hand", "sheet", "clock", "touch", "early"], "stage_event_how_is_known"),
        ]

    def __str__(self) -> str:
        return self.words

    @property
    def cause_words(self) -> str:
        """What went wrong; '' where none was told."""
        return Cause(self.cause).words if self.cause else ""

    @property
    def words(self) -> str:
        """The event as it stands in the log."""
        to = Stage(self.to_stage).words
        return {
            self.Kind.STEP: to.capitalize(),
            self.Kind.SPOILED: f"Spoiled: back to {to}",
            self.Kind.PIECE_SPOILED: "Piece spoiled",
            self.Kind.GIVEN: f"{self._lent} given to {self.air.get('twin', 'a twin')}",
            self.Kind.TAKEN: f"{self._lent} taken from {self.air.get('twin', 'a twin')}",
            self.Kind.NOT_YET: "Not dry yet",
            self.Kind.MOVED: f"Moved to {self.air.get('to', 'another room')}",
            self.Kind.RULE: "Follows the changed rule",
            self.Kind.UNDO: f"Undone: back to {to}",
        }[self.Kind(self.kind)]

    @property
    def _lent(self) -> str:
        return f"{self.air.get('layer', '')} piece".strip().capitalize()
