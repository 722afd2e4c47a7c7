"""Supplies: put into the stores, changed, and no longer kept."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from decimal import Decimal

from django.db import transaction

from decaljobs.craft.doings import Doing
from decaljobs.models import Supply, SupplyUse


@transaction.atomic
def keep_supply(*, supply: Supply, uses: Mapping[Doing, Decimal]) -> Supply:
    """Keep a supply (new or changed) and what each piece of work uses up of it from now on.

    What was used before stays as it was logged.
    """
    supply.save()
    supply.uses.exclude(doing__in=[doing.value for doing in uses]).delete()
    for doing, amount in uses.items():
        SupplyUse.objects.update_or_create(
            supply=supply, doing=doing.value, defaults={"amount": amount}
        )
    return supply


@transaction.atomic
def no_longer_kept(*, supply: Supply, moment: datetime) -> None:
    """Take a supply out of the lists; its log stays, and work uses up none of it any more."""
    supply.gone_at = moment
    supply.save(update_fields=["gone_at"])
