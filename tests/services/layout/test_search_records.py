"""Searches behind the page: begun once, whoever asks first."""

from functools import partial

import pytest

from decaljobs.models import LayoutSearch
from decaljobs.services.layout import search_records
from tests.factories import EVENING

pytestmark = pytest.mark.django_db


@pytest.fixture
def begin(maker, settings):
    settings.WORK_BEHIND = "page"
    return partial(
        search_records.begin_record,
        kind=LayoutSearch.Kind.BETTER,
        key="k" * 64,
        asked={},
        seconds=1.0,
        by=maker,
        moment=EVENING,
    )


def test_of_two_who_ask_for_the_same_at_once_both_are_led_to_one_search(begin, monkeypatch):
    worked = []
    first = begin(work=worked.append)
    # Who asks at the same moment does not see it yet.
    monkeypatch.setattr(search_records, "_still_good", lambda kind, key, moment: None)
    assert begin(work=worked.append) == first
    assert worked == [first.pk]
