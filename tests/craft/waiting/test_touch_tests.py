import numpy as np
import pytest

from decaljobs.craft.climate import Clock
from decaljobs.craft.drying import WaitTerms
from decaljobs.craft.waiting.touch_tests import TouchTest, added_hours, dry_between, propose

TERMS = WaitTerms(12, 8, Clock.WATER)


def touched(rng: np.random.Generator, count: int, median: float, spread: float):
    """Layers touched at 60 to 110 % of 12 h, 'not yet' again a quarter later until dry."""
    layers = []
    for _ in range(count):
        dry_at = median * np.exp(spread * rng.logistic())
        hours, tests = 12 * rng.uniform(0.6, 1.1), []
        while not tests or not tests[-1].dry:
            tests.append(TouchTest(hours, bool(hours >= dry_at)))
            hours += 3
        layers.append(tests)
    return layers


def test_it_adds_a_quarter_for_each_not_yet():
    assert added_hours(TERMS, []) == 0
    assert added_hours(TERMS, [9]) == 3
    assert added_hours(TERMS, [9, 12]) == 6


def test_it_never_calls_dry_what_was_just_found_wet():
    assert 12 + added_hours(TERMS, [20]) == 23
    assert 12 + added_hours(TERMS, [20, 21]) == 26


@pytest.mark.parametrize(
    ("tests", "between"),
    [
        ([(10, True)], (0, 10)),
        ([(10, False)], (10, np.inf)),
        ([(10, False), (13, True)], (10, 13)),
        # A 'dry' before a later 'not yet' was a slip.
        ([(8, True), (10, False), (13, True)], (10, 13)),
    ],
)
def test_it_knows_only_between_which_touches_a_layer_dried(tests, between):
    assert dry_between([TouchTest(*test) for test in tests]) == between


def test_it_proposes_nothing_from_fewer_than_five_tests():
    assert propose(12, [[TouchTest(10, True)]] * 4) is None
    assert propose(12, [[TouchTest(10, True)]] * 5) is not None


def test_it_finds_the_true_figure_from_many_tests():
    layers = touched(np.random.default_rng(1), 200, 15, 0.12)
    found = propose(12, layers)
    # Nine in ten of a log-logistic are below median · 9^spread.
    assert found.hours == pytest.approx(15 * 9**0.12, rel=0.08)
    assert found.low < found.hours < found.high
    assert found.is_bracketed
    assert found.tests == sum(len(layer) for layer in layers)


def test_it_holds_the_truth_in_its_range_about_four_times_in_five():
    rng = np.random.default_rng(2)
    truth = 15 * 9**0.12
    found = [propose(12, touched(rng, 10, 15, 0.12)) for _ in range(100)]
    held = sum(p.low <= truth <= p.high for p in found)
    assert 68 <= held <= 92


def test_it_narrows_its_range_with_more_tests():
    few, many = (propose(12, touched(np.random.default_rng(3), n, 15, 0.12)) for n in (6, 60))
    assert (many.high - many.low) < 0.6 * (few.high - few.low)


def test_it_is_hardly_moved_by_one_slip_of_the_finger():
    layers = touched(np.random.default_rng(4), 20, 15, 0.12)
    plain = propose(12, layers).hours
    slipped = propose(12, [*layers, [TouchTest(60, False)]]).hours
    assert slipped == pytest.approx(plain, rel=0.12)


def test_it_is_never_shorter_than_the_shortest_time_found_dry():
    found = propose(12, [[TouchTest(h, True)] for h in (11.5, 12, 12, 12.5, 12)] * 4)
    assert found.hours >= 11.5
    assert not found.is_bracketed


def test_it_proposes_longer_after_not_yet_and_shorter_after_dry():
    wet = [[TouchTest(h, False), TouchTest(h + 6, True)] for h in (12, 13, 12.5, 14, 13)]
    dry = [[TouchTest(h, True)] for h in (5, 6, 5.5, 6.5, 6)]
    assert propose(12, wet).hours > 14
    assert 5 <= propose(12, dry).hours < 9


def test_it_refuses_hours_out_of_range():
    assert TouchTest(0, False).hours == 0  # touched as soon as it was laid
    with pytest.raises(ValueError, match="0 to 20000 h"):
        TouchTest(-1, True)
    with pytest.raises(ValueError, match="0 to 20000 h"):
        TouchTest(float("nan"), True)
    for figure in (0.0099, 2000.1):
        with pytest.raises(ValueError, match="0.01 to 2000 h"):
            propose(figure, [])
    assert propose(0.01, []) is propose(2000, []) is None
