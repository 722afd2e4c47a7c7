"""Decals that wait for the next sheet."""

from datetime import timedelta

import pytest

from decaljobs.craft.stages import Build, Layer
from decaljobs.models import QueuedDecal
from decaljobs.services.bench import steps
from decaljobs.services.layout import queue
from decaljobs.services.projects.projects import drop_decal
from decaljobs.services.refused import Refused
from tests.factories import EVENING, make_decals, sealed_decal

pytestmark = pytest.mark.django_db

HOUR = timedelta(hours=1)


def test_it_queues_decals_once_in_the_order_they_came(maker):
    first, second = make_decals(2)
    queue.queue_decals(decals=[second.pk], by=maker, moment=EVENING)
    made = queue.queue_decals(decals=[first.pk, second.pk], by=maker, moment=EVENING + HOUR)
    assert [row.decal for row in made] == [first]
    assert [row.decal for row in QueuedDecal.objects.for_sheet()] == [second, first]


def test_it_refuses_a_decal_with_every_layer_on_the_model(maker):
    decal = sealed_decal(maker, Build.CLEAR_ALONE)
    steps.log_step(decals=[decal.pk], step="clear_applied", by=maker, moment=EVENING)
    with pytest.raises(Refused, match="wants no more film"):
        queue.queue_decals(decals=[decal.pk], by=maker, moment=EVENING + HOUR)
    assert not QueuedDecal.objects.exists()


def test_only_the_layers_not_yet_laid_are_wanted(maker):
    decal = sealed_decal(maker)
    assert queue.layers_wanted([decal])[decal.pk] == (Layer.BASE, Layer.CLEAR)
    steps.log_step(decals=[decal.pk], step="base_applied", by=maker, moment=EVENING)
    assert queue.layers_wanted([decal])[decal.pk] == (Layer.CLEAR,)


def test_it_refuses_more_than_the_list_holds(maker, monkeypatch):
    monkeypatch.setattr(queue, "MOST_QUEUED", 2)
    decals = make_decals(3)
    with pytest.raises(Refused, match="2 decals wait"):
        queue.queue_decals(decals=[d.pk for d in decals], by=maker, moment=EVENING)


def test_it_takes_decals_off_the_list(maker):
    decals = make_decals(2)
    queue.queue_decals(decals=[d.pk for d in decals], by=maker, moment=EVENING)
    assert queue.unqueue(decals=[decals[0].pk]) == 1
    assert queue.unqueue(decals=[decals[0].pk]) == 0
    assert QueuedDecal.objects.get().decal == decals[1]


def test_a_dropped_decal_leaves_the_list(maker):
    (decal,) = make_decals(1)
    queue.queue_decals(decals=[decal.pk], by=maker, moment=EVENING)
    drop_decal(decal=decal.pk)
    assert not QueuedDecal.objects.exists()


@pytest.mark.parametrize("copies", [0, -1, 51])
def test_it_refuses_copies_that_make_no_sense(maker, copies):
    (decal,) = make_decals(1)
    queue.queue_decals(decals=[decal.pk], by=maker, moment=EVENING)
    with pytest.raises(Refused, match="1 to 50"):
        queue.set_copies(decal=decal.pk, base=2, clear=copies)
    assert QueuedDecal.objects.get().base_copies is None


def test_the_maker_overrules_the_copies_and_goes_back_to_the_rule(maker):
    (decal,) = make_decals(1)
    queue.queue_decals(decals=[decal.pk], by=maker, moment=EVENING)
    queue.set_copies(decal=decal.pk, base=4, clear=None)
    row = QueuedDecal.objects.get()
    assert (row.base_copies, row.clear_copies) == (4, None)
    queue.set_copies(decal=decal.pk, base=None, clear=None)
    row.refresh_from_db()
    assert row.base_copies is None


def test_copies_of_a_decal_taken_off_meanwhile_are_refused():
    (decal,) = make_decals(1)
    with pytest.raises(Refused, match="no longer waits"):
        queue.set_copies(decal=decal.pk, base=1, clear=1)
