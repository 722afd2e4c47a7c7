from datetime import date
from decimal import Decimal

import pytest

from decaljobs.craft.stores.stock import StockEntry, keeps_until, left_of, stock_after


def log(*lines):
    return [StockEntry(kind, Decimal(amount)) for kind, amount in lines]


def amounts(*numbers):
    return [Decimal(number) for number in numbers]


BOUGHT = date(2026, 1, 1)


@pytest.mark.parametrize(
    ("lines", "stock"),
    [
        ([], 0),
        ([("bought", 10), ("bought", 5)], 15),
        ([("bought", 10), ("used", 4), ("thrown", 1)], 5),
        ([("bought", 10), ("counted", 6), ("used", 1)], 5),
        ([("counted", 6), ("bought", 10)], 16),
        ([("bought", 10), ("counted", 0)], 0),
    ],
)
def test_stock_is_what_came_less_what_went_and_a_count_is_believed(lines, stock):
    assert stock_after(log(*lines)) == stock


def test_more_used_than_there_was_is_not_hidden():
    assert stock_after(log(("bought", 2), ("used", 3))) == -1


@pytest.mark.parametrize(
    ("stock", "left"),
    [
        (15, (10, 5)),
        (7, (2, 5)),
        (5, (0, 5)),
        (3, (0, 3)),
        (0, (0, 0)),
        (-4, (0, 0)),  # more used than was known to be there
        (20, (10, 5)),  # a count found more than was ever bought
    ],
)
def test_the_oldest_purchase_is_used_up_first(stock, left):
    assert left_of(amounts(10, 5), Decimal(stock)) == amounts(*left)


@pytest.mark.parametrize(
    ("known", "last_day"),
    [
        ({}, None),
        ({"keeps_days": 730}, date(2028, 1, 1)),
        ({"best_before": date(2027, 6, 1), "keeps_days": 730}, date(2027, 6, 1)),
        ({"best_before": date(2029, 6, 1), "keeps_days": 730}, date(2028, 1, 1)),
        ({"opened": date(2026, 2, 1), "opened_days": 180}, date(2026, 7, 31)),
        # Opened late, it is still no better than its own date says.
        (
            {"best_before": date(2026, 3, 1), "opened": date(2026, 2, 1), "opened_days": 180},
            date(2026, 3, 1),
        ),
        # Nobody has told when it was opened, or how long it keeps then.
        ({"opened_days": 180}, None),
        ({"opened": date(2026, 2, 1)}, None),
    ],
)
def test_a_supply_is_good_until_the_soonest_day_that_is_known(known, last_day):
    assert keeps_until(BOUGHT, **known) == last_day
