"""A page of waits is told as each wait alone is."""

from datetime import UTC, datetime, timedelta

import pytest

from decaljobs.craft.climate import Clock
from decaljobs.craft.drying import WaitTerms, progress, ready_at
from decaljobs.craft.room.air import Air
from decaljobs.craft.waiting.shares import Span, shares_at

START = datetime(2026, 11, 2, 19, tzinfo=UTC)
AIR = Air.steady(16, 62)


def span(terms: WaitTerms, start: datetime) -> Span:
    return Span(terms, start, ready_at(terms, AIR, start))


def test_it_agrees_with_each_wait_alone():
    terms = [
        WaitTerms(12, 8, Clock.WATER_UNDER_FILM),
        WaitTerms(4, 1, Clock.WATER),
        WaitTerms(24, 12, Clock.SOLVENT),
        WaitTerms(1, 1, Clock.FIXED),
    ]
    spans = [span(t, START + timedelta(hours=n)) for t in terms for n in (2, 0, -30, -3)]
    told = shares_at(spans, AIR, START + timedelta(hours=1))
    for one, share in zip(spans, told, strict=True):
        alone = progress(one.terms, AIR, one.start, START + timedelta(hours=1))
        assert share.done_hours == pytest.approx(alone.done_hours, abs=1e-9)
        assert share.of_hours == alone.of_hours
        assert share.fraction == pytest.approx(alone.fraction, abs=1e-12)


def test_it_never_reads_as_over_before_the_wait_is():
    one = span(WaitTerms(12, 8, Clock.WATER), START)
    (before,) = shares_at([one], AIR, one.ready - timedelta(seconds=1))
    (after,) = shares_at([one], AIR, one.ready)
    assert before.fraction < 1 == after.fraction


def test_it_tells_a_wait_without_end():
    cold = Air.steady(5, 50)
    (share,) = shares_at([Span(WaitTerms(12, 8, Clock.WATER), START, None)], cold, START)
    assert share.fraction == 0


def test_it_rejects_a_moment_without_a_zone():
    with pytest.raises(ValueError, match="aware|zone"):
        shares_at([span(WaitTerms(1, 0, Clock.WATER), START)], AIR, datetime(2026, 11, 2))


def test_it_has_nothing_to_say_of_no_waits():
    assert shares_at([], AIR, START) == []
