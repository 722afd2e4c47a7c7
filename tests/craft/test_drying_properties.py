"""What holds for a drying wait in any air at all."""

from datetime import UTC, datetime, timedelta

from hypothesis import assume, given, settings
from hypothesis import strategies as st

from decaljobs.craft.climate import Clock
from decaljobs.craft.drying import WaitTerms, progress, ready_at, reference_hours
from decaljobs.craft.room.air import Air
from tests.craft.airs import air_through

START = datetime(2026, 2, 3, tzinfo=UTC)
HOUR = timedelta(hours=1)
WATER_CLOCKS = st.sampled_from([Clock.WATER, Clock.WATER_UNDER_FILM])
HOURS = st.floats(0, 60, allow_nan=False)
CLIMATES = st.lists(
    st.tuples(st.floats(-5, 40, width=32), st.floats(0, 100, width=32)), min_size=1, max_size=6
)


def air_of(climates: list[tuple[float, float]], cooler: float = 0, damper: float = 0) -> Air:
    return air_through(
        [
            (START + 6 * i * HOUR, t - cooler, min(rh + damper, 100))
            for i, (t, rh) in enumerate(climates)
        ]
    )


@st.composite
def waits(draw: st.DrawFn) -> WaitTerms:
    clock = draw(st.sampled_from(list(Clock)))
    return WaitTerms(draw(st.floats(0.1, 48)), draw(st.floats(0, 24)), clock)


@settings(deadline=None)
@given(waits(), CLIMATES, HOURS, HOURS)
def test_it_never_loses_progress(terms, climates, one, other):
    air = air_of(climates)
    early, late = sorted([one, other])
    before = progress(terms, air, START, START + early * HOUR)
    after = progress(terms, air, START, START + late * HOUR)
    # A billionth of an hour is rounding.
    assert after.done_hours >= before.done_hours - 1e-9
    assert after.fraction >= before.fraction - 1e-9
    assert 0.0 <= before.fraction <= 1.0


@settings(deadline=None)
@given(waits(), CLIMATES, HOURS, HOURS)
def test_it_never_counts_more_than_twice_what_has_passed(terms, climates, one, other):
    start, end = (START + hours * HOUR for hours in sorted([one, other]))
    counted = reference_hours(terms, air_of(climates), start, end)
    assert -1e-9 <= counted <= 2 * ((end - start) / HOUR) + 1e-9


@settings(deadline=None)
@given(waits(), CLIMATES, st.tuples(HOURS, HOURS, HOURS))
def test_it_counts_a_split_stretch_as_it_counts_the_whole(terms, climates, hours):
    air = air_of(climates)
    a, b, c = (START + h * HOUR for h in sorted(hours))
    whole = reference_hours(terms, air, a, c)
    parts = reference_hours(terms, air, a, b) + reference_hours(terms, air, b, c)
    assert abs(whole - parts) < 1e-9


@settings(deadline=None)
@given(waits(), CLIMATES, HOURS)
def test_it_counts_alike_when_a_reading_lies_on_the_line(terms, climates, hours):
    assume(len(climates) > 1)
    plain = air_of(climates)
    moment = START + timedelta(seconds=round(hours * 3600) % (6 * 3600 * (len(climates) - 1)))
    rows = [(START + 6 * i * HOUR, *climate) for i, climate in enumerate(climates)]
    if all(moment != row[0] for row in rows):
        rows.append((moment, *plain.at(moment)))
    end = START + 70 * HOUR
    counted = reference_hours(terms, plain, START, end)
    finer = reference_hours(terms, air_through(rows), START, end)
    # Other sub-steps, so alike only to the accuracy of the straight lines.
    assert abs(finer - counted) <= 2e-4 * counted + 1e-3


@settings(deadline=None)
@given(WATER_CLOCKS, CLIMATES, st.floats(0, 20), st.floats(0, 40), st.floats(0.1, 24))
def test_it_is_never_sooner_in_colder_or_damper_air(clock, climates, cooler, damper, asked):
    terms = WaitTerms(asked, 0, clock)
    ready = ready_at(terms, air_of(climates), START)
    worse = ready_at(terms, air_of(climates, cooler, damper), START)
    if worse is not None:
        assert ready is not None
        # The straight lines of two climates may differ by their 0.02 %.
        assert worse - START >= (ready - START) * 0.9995 - timedelta(seconds=1)


@settings(deadline=None)
@given(waits(), CLIMATES, HOURS)
def test_it_is_ready_when_both_clock_and_floor_are_done_and_not_before(terms, climates, late):
    air = air_of(climates)
    start = START + late * HOUR
    ready = ready_at(terms, air, start)
    if ready is None:
        horizon = reference_hours(terms, air, start, start + timedelta(days=366))
        assert horizon < terms.reference_hours + 1e-6
        return
    assert ready - start >= timedelta(hours=terms.floor_hours)
    assert reference_hours(terms, air, start, ready) >= terms.reference_hours - 1e-6
    if ready - start > timedelta(hours=terms.floor_hours) + timedelta(seconds=2):
        just_before = reference_hours(terms, air, start, ready - timedelta(seconds=1))
        assert just_before < terms.reference_hours


@settings(deadline=None)
@given(waits(), CLIMATES, HOURS)
def test_it_is_wholly_done_from_the_ready_moment_on_and_not_before(terms, climates, passed):
    air = air_of(climates)
    ready = ready_at(terms, air, START)
    moment = START + passed * HOUR
    over = ready is not None and moment >= ready
    assert (progress(terms, air, START, moment).fraction == 1.0) is over
