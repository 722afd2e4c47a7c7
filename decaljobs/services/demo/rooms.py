"""The rooms of the example workshop, with two weeks of readings made by formula."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta

import numpy as np
from django.db.models import Q
from django.utils import timezone

from decaljobs.models import Decal, Reading, ReadingsImport, Room, Sheet, SheetEvent, StageEvent
from decaljobs.models.rooms import minute_of
from decaljobs.services.drying.rooms import add_room, keep_readings
from decaljobs.services.refused import Refused

DAYS, EVERY = 14, 10  # days of readings, minutes between two of them
LAST_READ = timedelta(minutes=6)
SEED = 20


@dataclass(frozen=True)
class DemoRoom:
    """A room's means in °C and %RH, and how far they swing over the day and from day to day."""

    name: str
    kind: str
    temperature: float
    humidity: float
    by_day: tuple[float, float]
    from_day_to_day: tuple[float, float]


WORKSHOP = DemoRoom("Bench room", "workshop", 20.6, 46.5, (1.1, -3.5), (0.4, 1.5))
SHED = DemoRoom("Boat shed", "shed", 6.9, 81.0, (1.6, -5.0), (0.7, 2.5))


def make_rooms(moment: datetime) -> tuple[Room, Room]:
    """The example's workshop and its cold shed, read until a moment."""
    workshop, shed = (_make(plan, moment) for plan in (WORKSHOP, SHED))
    return workshop, shed


def refuse_while_used() -> None:
    """Raise Refused where own work lies, or lay, in a room of the example."""
    used = Room.objects.filter(example=True).filter(
        Q(decals__project__example=False)
        | Q(sheets__example=False)
        | Q(pk__in=StageEvent.objects.filter(decal__project__example=False).values("room"))
        | Q(pk__in=SheetEvent.objects.filter(sheet__example=False).values("room"))
    )
    found = used.first()
    if found is not None:
        raise Refused(f"Own work dries in ‘{found}’ of the example.")
    if Room.objects.filter(example=True, is_default=True).exists():
        raise Refused("Layers dry in a room of the example: choose one of your own first.")


def clear_rooms() -> None:
    """Remove the example's rooms, once nothing of the example lies in them."""
    rooms = Room.objects.filter(example=True)
    for thing in (Decal, Sheet):
        thing.objects.filter(room__in=rooms).update(room=None)
    ReadingsImport.objects.filter(room__in=rooms).delete()
    Reading.objects.filter(room__in=rooms).delete()
    rooms.delete()


def _make(plan: DemoRoom, moment: datetime) -> Room:
    room = add_room(name=_free_name(plan.name), kind=plan.kind, example=True, **_stated(plan))
    minutes, temperatures, humidities = _readings(plan, moment)
    keep_readings(room=room.pk, minutes=minutes, temperatures=temperatures, humidities=humidities)
    return Room.objects.get(pk=room.pk)


def _free_name(name: str) -> str:
    """The plan's name, or with 'example' behind it where the maker has such a room."""
    taken = Room.objects.filter(name__iexact=name).exists()
    return f"{name} (example)" if taken else name


def _stated(plan: DemoRoom) -> dict[str, float]:
    warmer, drier = plan.by_day
    return {
        "day_temperature": round(plan.temperature + warmer / 2, 1),
        "day_humidity": round(plan.humidity + drier / 2),
        "night_temperature": round(plan.temperature - warmer / 2, 1),
        "night_humidity": round(plan.humidity - drier / 2),
    }


def _readings(plan: DemoRoom, moment: datetime) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Minutes, °C and %RH: warmest in the afternoon, drifting from day to day, never smooth."""
    last = minute_of(moment - LAST_READ)
    minutes = last - np.arange(DAYS * 24 * 60 // EVERY)[::-1] * EVERY
    offset = timezone.localtime(moment).utcoffset() or timedelta(0)
    hours = minutes / 60.0 + offset / timedelta(hours=1)
    swing = np.sin((hours - 9.0) / 24.0 * 2.0 * np.pi)
    drift = np.sin(hours / 24.0 * 2.0 * np.pi / 5.3)
    noise = np.random.default_rng(SEED).normal(0.0, 1.0, (2, minutes.size))
    means = (plan.temperature, plan.humidity)
    made = [
        mean + day * swing + days * drift + size * unrest
        for mean, day, days, size, unrest in zip(
            means, plan.by_day, plan.from_day_to_day, (0.08, 0.5), noise, strict=True
        )
    ]
    return minutes, np.round(made[0], 1), np.round(np.clip(made[1], 0.0, 100.0), 1)
