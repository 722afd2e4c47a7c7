"""The rate and currency of each day: a change leaves what was done before it alone."""

from datetime import timedelta
from decimal import Decimal

import pytest

from decaljobs.models import RateLine
from decaljobs.services.money.rates import Rates, change_rules
from tests.factories import EVENING

pytestmark = pytest.mark.django_db
WEEK = timedelta(days=7)


def minute(moment):
    price = Rates().at(moment)
    return price.amount * 60, price.currency


def test_the_first_rate_counts_for_what_was_done_before_it():
    change_rules(currency="GBP", hourly_rate=Decimal(24), moment=EVENING)
    assert minute(EVENING - WEEK) == minute(EVENING) == (24, "GBP")
    assert not RateLine.objects.exists()


def test_a_change_halfway_leaves_the_old_figures_theirs():
    change_rules(currency="GBP", hourly_rate=Decimal(24), moment=EVENING - 2 * WEEK)
    change_rules(currency="EUR", hourly_rate=Decimal(30), moment=EVENING)
    change_rules(currency="EUR", hourly_rate=Decimal(33), moment=EVENING + WEEK)
    assert minute(EVENING - WEEK) == (24, "GBP")
    assert minute(EVENING) == (30, "EUR")
    assert minute(EVENING + WEEK) == (33, "EUR")
    assert (Rates().now.amount * 60, Rates().currency) == (33, "EUR")


def test_the_same_money_again_writes_nothing():
    for _ in range(2):
        change_rules(currency="GBP", hourly_rate=Decimal(24), moment=EVENING)
    change_rules(currency="GBP", hourly_rate=Decimal(25), moment=EVENING)
    change_rules(currency="GBP", hourly_rate=Decimal(25), moment=EVENING + WEEK)
    assert RateLine.objects.count() == 2
