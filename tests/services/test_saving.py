"""Columns of many records saved at once."""

from datetime import timedelta

import pytest

from decaljobs.models import Decal
from decaljobs.services.saving import save_columns
from tests.factories import EVENING, make_decals

pytestmark = pytest.mark.django_db


def test_it_saves_these_columns_and_no_other(django_assert_num_queries):
    decals = make_decals(3)
    for place, decal in enumerate(decals):
        decal.waits = [{"to": "set", "place": place}]
        decal.ready_at, decal.held_because = EVENING + timedelta(hours=place), ""
        decal.note = "not to be saved"
    with django_assert_num_queries(1):
        save_columns(decals, ["waits", "ready_at", "held_because"])
    assert Decal.objects.count() == 3
    for place, kept in enumerate(Decal.objects.order_by("pk")):
        assert kept.waits == [{"to": "set", "place": place}]
        assert kept.ready_at == EVENING + timedelta(hours=place)
        assert (kept.held_because, kept.note) == ("", "")


def test_nothing_to_save_asks_nothing(django_assert_num_queries):
    (decal,) = make_decals(1)
    with django_assert_num_queries(0) as asked:
        save_columns([], ["waits"])
    assert len(asked) == 0
    unchanged = Decal.objects.get()
    assert (unchanged.waits, unchanged.ready_at) == (decal.waits, decal.ready_at)
