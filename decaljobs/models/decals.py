"""Decals: one marking at one place of one project each."""

from __future__ import annotations

from datetime import datetime
from typing import TYPE_CHECKING, Any, ClassVar

from django.db import models
from django.db.models import Case, Q, When

from decaljobs.craft.stages import LAID_LAYER, LAYERS, SHEET_STEPS, Build, Film, Hold, Layer, Stage
from decaljobs.links import address
from decaljobs.models.artwork import Artwork
from decaljobs.models.choices import choices_of, one_of
from decaljobs.models.finding import holds_words
from decaljobs.models.projects import Project
from decaljobs.models.rooms import Room

if TYPE_CHECKING:
    from django.db.models.manager import Manager


MOST_DECALS_AT_ONCE = 200  # of one marking, asked for at one go


def place_words(place: str, number: int, out_of: int) -> str:
    """A place, with its number where there are several."""
    return f"{place} {number} of {out_of}" if out_of > 1 else place


def is_ready(moment: datetime) -> Q:
    """Nothing is missing and every wait before the next step is over."""
    return Q(held_because="", ready_at__lte=moment) & ~Q(next_step="")


def is_drying(moment: datetime) -> Q:
    """Nothing is missing but a wait still runs."""
    return Q(held_because="", ready_at__gt=moment)


ON_MODEL = [stage for stage in Stage if stage not in SHEET_STEPS and stage is not Stage.PLANNED]
IS_HELD = ~Q(held_because="")
#: What only another piece of film helps against.
FILM_HOLDS = (Hold.NO_BASE_PIECE, Hold.NO_CLEAR_PIECE, Hold.NO_PIECES)
LACKS_PIECES = Q(held_because__in=[hold.value for hold in FILM_HOLDS])


def _standing(moment: datetime) -> dict[str, models.Count]:
    """Counts of what is ready, drying and held at the moment."""
    rules = {"ready": is_ready(moment), "drying": is_drying(moment), "held": IS_HELD}
    return {name: models.Count("pk", filter=rule) for name, rule in rules.items()}


class DecalQuerySet(models.QuerySet["Decal"]):
    def at_work(self) -> DecalQuerySet:
        """Decals of projects that are neither put away nor thrown away."""
        return self.filter(project__archived_at=None, project__binned_at=None)

    def kept(self) -> DecalQuerySet:
        """Decals of projects that are not in the bin."""
        return self.filter(project__binned_at=None)

    def ready_at(self, moment: datetime) -> DecalQuerySet:
        """Decals whose next step can be taken at the moment, longest ready first."""
        return self.filter(is_ready(moment)).order_by("ready_at", "pk")

    def drying_at(self, moment: datetime) -> DecalQuerySet:
        """Decals to be left alone at the moment, soonest ready first."""
        return self.filter(is_drying(moment)).order_by("ready_at", "pk")

    def held(self) -> DecalQuerySet:
        """Decals for which something is missing, newest first."""
        return self.filter(IS_HELD).order_by("-pk")

    def lacking_pieces(self) -> DecalQuerySet:
        """Decals held because a layer has no good piece, in the order they were made."""
        return self.filter(LACKS_PIECES).order_by("pk")

    def counts(self, moment: datetime) -> dict[str, Any]:
        """How many there are, how many ready, drying, held, finished, queued for film and lacking
        a piece without being queued, when the last one that dries is ready, and a drawing to know
        them by (one query)."""
        free = Q(held_because="", ready_at__lte=moment)
        return self.aggregate(
            **_standing(moment),
            all=models.Count("pk"),
            first_artwork=models.Min("artwork"),
            lacking=models.Count("pk", filter=LACKS_PIECES & Q(queued=None)),
            queued=models.Count("queued"),
            finished=models.Count("pk", filter=free & Q(next_step="")),
            last_ready=models.Max("ready_at", filter=is_drying(moment)),
        )

    def counted_at(self, moment: datetime) -> dict[str, int]:
        """How many are ready, drying and held at the moment (one query)."""
        return self.aggregate(**_standing(moment))

    def of_project(self, code: str) -> DecalQuerySet:
        """Decals of the project with this code."""
        return self.filter(project__code=code)

    def next_is(self, step: Stage) -> DecalQuerySet:
        """Decals whose next step for the hands is this one."""
        return self.filter(next_step=step.value)

    def next_on_layer(self, layer: Layer) -> DecalQuerySet:
        """Decals whose next step lays this layer, or prints or seals a sheet of it."""
        laying = [step.value for step, laid in LAID_LAYER.items() if laid is layer]
        builds = [build.value for build in Build if layer in LAYERS[build]]
        on_sheets = Q(next_step__in=[step.value for step in SHEET_STEPS], build__in=builds)
        # As a case, so that no database looks the steps up in their index: nearly every decal has
        # one of them, and the lists that are filtered by it have better indexes to go by.
        return self.filter(
            Case(When(Q(next_step__in=laying) | on_sheets, then=True), default=False)
        )

    def on_model_of(self, project: int) -> DecalQuerySet:
        """Decals of a project of which a layer lies on the model."""
        return self.filter(project=project, stage__in=[stage.value for stage in ON_MODEL])

    def that_want(self, film: Film) -> DecalQuerySet:
        """Unfinished decals at work whose build has this film's layer, project by project."""
        builds = [build.value for build in Build if film.layer in LAYERS[build]]
        wanting = self.at_work().filter(build__in=builds).exclude(next_step="")
        return wanting.select_related("project", "artwork").order_by("project", "place", "number")

    def for_rows(self) -> DecalQuerySet:
        """With what a row on a page shows: project, artwork, pieces on their sheets (3 queries)."""
        found = self.select_related("project", "artwork", "queued")
        return found.prefetch_related("pieces__sheet")

    def found(self, words: str) -> DecalQuerySet:
        """Decals whose place, note, project or artwork holds the words."""
        columns = ("place", "note", "project__name", "project__code", "artwork__name")
        return self.filter(holds_words(words, *columns))


class Decal(models.Model):
    """One marking at one place of one project.

    The fields below `stage` are kept by the services from the decal's log, its
    pieces and its sheets, so that lists need not read them all. `stays` are the
    rooms its waits run in, as [moment, room] from where the first of them began.
    """

    project = models.ForeignKey(Project, on_delete=models.PROTECT, related_name="decals")
    artwork = models.ForeignKey(Artwork, on_delete=models.PROTECT, related_name="decals")
    place = models.CharField(max_length=120)
    number = models.PositiveSmallIntegerField(default=1)
    out_of = models.PositiveSmallIntegerField(default=1)
    build = models.CharField(max_length=12, choices=choices_of(Build))
    note = models.CharField(max_length=200, blank=True)
    upright = models.BooleanField(
        "Upright on the film only",
        default=False,
        help_text="never turned by 90°: for film or ink with a grain, or where copies must match",
    )
    made_at = models.DateTimeField()

    stage = models.CharField(
        max_length=14, choices=choices_of(Stage), default=Stage.PLANNED.value, editable=False
    )
    stage_at = models.DateTimeField(editable=False)
    waits = models.JSONField(default=list, editable=False)
    room = models.ForeignKey(
        Room,
        null=True,
        blank=True,
        on_delete=models.PROTECT,
        related_name="decals",
        help_text="where it dries; the usual room when empty",
    )
    stays = models.JSONField(default=list, editable=False)
    turns_to = models.CharField(max_length=14, blank=True, default="", editable=False)
    turns_at = models.DateTimeField(null=True, editable=False)
    next_step = models.CharField(
        max_length=14, blank=True, default=Stage.PRINTED.value, editable=False
    )
    ready_at = models.DateTimeField(null=True, editable=False)
    held_because = models.CharField(
        max_length=20, blank=True, default=Hold.NO_PIECES.value, editable=False
    )
    clean_surface = models.BooleanField(default=False, editable=False)
    events_logged = models.PositiveIntegerField(default=0, editable=False)

    objects: ClassVar[Manager[Decal]] = DecalQuerySet.as_manager()

    class Meta:
        ordering = ["project", "place", "number"]
        constraints = [
            one_of("build", Build, "decal_build_is_known"),
            one_of("stage", Stage, "decal_stage_is_known"),
            models.UniqueConstraint(
                fields=["project", "place", "number"], name="decal_once_a_place_and_number"
            ),
            models.CheckConstraint(
                condition=Q(number__gte=1, number__lte=models.F("out_of")),
                name="decal_number_within_its_count",
            ),
            models.CheckConstraint(
                condition=~Q(held_because="", ready_at__isnull=True),
                name="decal_held_or_with_a_ready_time",
            ),
            one_of("held_because", Hold, "decal_hold_is_known", blank=True),
            one_of("next_step", Stage, "decal_next_step_is_known", blank=True),
            one_of("turns_to", Stage, "decal_turns_to_a_known_stage", blank=True),
            models.CheckConstraint(
                condition=Q(turns_to="", turns_at=None)
                | ~Q(turns_to="") & Q(turns_at__isnull=False),
                name="decal_turns_at_a_time",
            ),
        ]
        indexes = [
            models.Index(fields=["held_because", "ready_at"], name="decal_bench"),
            models.Index(fields=["next_step", "ready_at"], name="decal_next_step"),
        ]

    def __str__(self) -> str:
        return self.words

    def get_absolute_url(self) -> str:
        return address("decal", self.pk)

    @property
    def wants_film(self) -> bool:
        """Whether it is held because a layer has no good piece."""
        return self.held_because in FILM_HOLDS

    @property
    def film_wanted(self) -> Film:
        """The film of the layer that it lacks, or else of its first."""
        if self.held_because == Hold.NO_CLEAR_PIECE or Build(self.build) is Build.CLEAR_ALONE:
            return Film.CLEAR
        return Film.WHITE

    @property
    def has_layers_to_come(self) -> bool:
        """Whether a layer is not on the model yet; fetch its pieces beforehand."""
        laid = {piece.layer for piece in self.pieces.all() if piece.state == "used"}
        return any(layer not in laid for layer in LAYERS[Build(self.build)])

    @property
    def layers_without_piece(self) -> tuple[Layer, ...]:
        """Layers neither on the model nor good on a printed sheet; fetch its pieces beforehand."""
        there = {
            piece.layer
            for piece in self.pieces.all()
            if piece.state == "used" or piece.is_at_hand and piece.sheet.is_printed
        }
        return tuple(layer for layer in LAYERS[Build(self.build)] if layer not in there)

    @property
    def words(self) -> str:
        """The place, with its number where there are several."""
        return place_words(self.place, self.number, self.out_of)

    def stage_now(self, moment: datetime) -> Stage:
        """The stage at the moment: what is logged, or what drying has led to since."""
        if self.turns_to and self.turns_at and self.turns_at <= moment:
            return Stage(self.turns_to)
        return Stage(self.stage)
