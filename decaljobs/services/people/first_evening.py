"""The first evening's five steps: what of them the records show done, and putting them away."""

from __future__ import annotations

from django.db import transaction
from django.db.models import Exists, Q

from decaljobs.craft.stages import LAID_LAYER
from decaljobs.models import Artwork, Person, Project, Room, Sheet, StageEvent

STEPS = ("project", "artwork", "sheet", "layer", "room")


def done_steps(person: Person) -> dict[str, bool]:
    """Which of the five steps the workshop's own records show done, the example's left out
    (one query)."""
    laid = StageEvent.objects.in_force().filter(
        decal__project__example=False,
        kind=StageEvent.Kind.STEP,
        to_stage__in=[step.value for step in LAID_LAYER],
    )
    done = {
        "project": Project.objects.filter(example=False),
        "artwork": Artwork.objects.filter(example=False),
        "sheet": Sheet.objects.filter(example=False),
        "layer": laid,
        "room": Room.objects.filter(example=False).filter(_told_of()),
    }
    asked = Person.objects.filter(pk=person.pk).values_list(*(Exists(done[s]) for s in STEPS))
    return dict(zip(STEPS, asked.get(), strict=True))


@transaction.atomic
def show_guide(*, person: Person, shown: bool) -> None:
    """Put the guide away for one person, or bring it back."""
    person.guide_hidden = not shown
    person.save(update_fields=["guide_hidden"])


def _told_of() -> Q:
    """A room that was read, or of which other air is stated than the first room came with."""
    fresh = Room()
    stated = ("day_temperature", "day_humidity", "night_temperature", "night_humidity")
    as_it_came = Q(**{name: getattr(fresh, name) for name in stated})
    return ~as_it_came | Q(read_until__isnull=False)
