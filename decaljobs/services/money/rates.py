"""The workshop's money: its currency and rate now, and what they were at the time."""

from __future__ import annotations

from datetime import datetime
from decimal import Decimal

from django.db import transaction

from decaljobs.models import RateLine, StoresRules
from decaljobs.services.money.prices import UnitPrice

MINUTES_AN_HOUR = 60


def rules() -> StoresRules:
    """The workshop's money and rate; made on the first look."""
    return StoresRules.objects.get_or_create(only=True)[0]


@transaction.atomic
def change_rules(*, currency: str, hourly_rate: Decimal, moment: datetime) -> StoresRules:
    """Keep a currency and rate from now on; work done before keeps the money of its day.

    The first rate that is set counts for all that was done before it: nothing was reckoned then.
    """
    money = StoresRules.objects.select_for_update().get(pk=rules().pk)
    old = (money.currency, money.hourly_rate)
    if old == (currency, hourly_rate):
        return money
    if not RateLine.objects.exists() and money.hourly_rate:
        RateLine.objects.create(currency=money.currency, hourly_rate=money.hourly_rate)
    if RateLine.objects.exists():
        RateLine.objects.create(since=moment, currency=currency, hourly_rate=hourly_rate)
    money.currency, money.hourly_rate = currency, hourly_rate
    money.save()
    return money


class Rates:
    """What a minute at the bench costs now, and what it cost at any moment (two queries)."""

    def __init__(self) -> None:
        self._lines = list(RateLine.objects.all())
        money = rules()
        self.currency = money.currency
        self.now = UnitPrice(money.hourly_rate / MINUTES_AN_HOUR, money.currency)

    def at(self, moment: datetime) -> UnitPrice:
        """The price of a minute at a moment."""
        known = [line for line in self._lines if line.since is None or line.since <= moment]
        if not known:
            return self.now
        return UnitPrice(known[-1].hourly_rate / MINUTES_AN_HOUR, known[-1].currency)
