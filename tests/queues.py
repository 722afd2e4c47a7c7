"""What waits for the next sheet, as tests queue it up and ask for it."""

from decaljobs.models import QueuedDecal
from decaljobs.services.layout import queue
from decaljobs.services.layout.copies import wanted_of
from tests.factories import EVENING


def queue_up(maker, *decals):
    queue.queue_decals(decals=[decal.pk for decal in decals], by=maker, moment=EVENING)


def all_wanted():
    """All that is queued, with its copies."""
    return wanted_of(list(QueuedDecal.objects.for_sheet()))


def queued(maker, *decals):
    """All that is queued once these are."""
    queue_up(maker, *decals)
    return all_wanted()
