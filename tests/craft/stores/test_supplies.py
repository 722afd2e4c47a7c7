from decimal import Decimal

import pytest

from decaljobs.craft.stores.supplies import USES, SupplyKind, amount_in_words


@pytest.mark.parametrize(
    ("amount", "unit", "words"),
    [
        ("1.000", "sheet", "1 sheet"),
        ("8.000", "sheet", "8 sheets"),
        ("10", "piece", "10 pieces"),
        ("0", "piece", "0 pieces"),
        ("0.2", "piece", "0.2 pieces"),
        ("14.50", "ml", "14.5 ml"),
        ("1", "ml", "1 ml"),
        ("100", "ml", "100 ml"),
        ("-3", "sheet", "-3 sheets"),
    ],
)
def test_an_amount_is_said_without_idle_noughts_and_counted_things_in_the_plural(
    amount, unit, words
):
    assert amount_in_words(Decimal(amount), unit) == words


def test_film_is_taken_off_by_the_sheet_and_by_no_work():
    assert USES[SupplyKind.FILM] == {}


def test_every_kind_of_supply_says_what_it_is_counted_in_and_what_uses_it():
    assert {kind.value: kind.counted_in for kind in SupplyKind} == {
        "film": "sheets",
        "sealer": "ml",
        "fluid": "ml",
        "blade": "pieces",
        "ink": "ml",
        "other": "pieces",
    }
    assert set(USES) == set(SupplyKind)
