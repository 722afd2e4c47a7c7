"""The log of the stores: stock is receipts minus uses plus counts, whatever is undone."""

from datetime import timedelta
from decimal import Decimal

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from decaljobs.craft.doings import Doing
from decaljobs.craft.stages import Build, Film, Stage
from decaljobs.craft.stores.stock import left_of
from decaljobs.models import StockLine, Supply
from decaljobs.services.bench.steps import log_step
from decaljobs.services.bench.undoing import undo_last
from decaljobs.services.film import sheet_undoing
from decaljobs.services.film.filmuse import clean_sheets
from decaljobs.services.film.offcuts import Side, cut_off
from decaljobs.services.money.costs import ledger_of
from decaljobs.services.money.estimates import estimate
from decaljobs.services.money.rates import change_rules
from decaljobs.services.plan import plans
from decaljobs.services.refused import Refused
from decaljobs.services.stores import stock, supplies
from decaljobs.services.stores.on_hand import held
from tests.factories import (
    EVENING,
    make_decals,
    make_person,
    make_sheet,
    sealed_decal,
    sealed_sheet,
)

pytestmark = pytest.mark.django_db


def make_supply(uses=None, **fields):
    start = {"name": "Fluid", "kind": "fluid", "low_at": 5}
    return supplies.keep_supply(supply=Supply(**{**start, **fields}), uses=uses or {})


def left(supply, moment=EVENING):
    return next(row for row in held(moment=moment) if row.supply == supply).stock


DOINGS = st.lists(
    st.tuples(
        st.sampled_from(["bought", "used", "thrown", "counted", "undo"]),
        st.integers(1, 50),
    ),
    max_size=25,
)


@settings(
    deadline=None, max_examples=40, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(DOINGS)
def test_stock_is_what_the_lines_that_stand_say(doings):
    supply, maker = make_supply(), make_person()
    standing: list[tuple[int, str, int]] = []
    for number, (what, amount) in enumerate(doings):
        moment = EVENING + timedelta(minutes=number)
        if what == "undo":
            if standing:
                pk, _, _ = standing.pop(amount % len(standing))
                stock.undo_line(line=pk, by=maker, moment=moment)
            continue
        keep = stock.buy if what == "bought" else stock.note
        kind = {} if what == "bought" else {"kind": what}
        line = keep(supply=supply, amount=Decimal(amount), by=maker, moment=moment, **kind)
        standing.append((line.pk, what, amount))
    expected = 0
    for _, what, amount in sorted(standing):
        expected = (
            amount if what == "counted" else expected + amount * (1 if what == "bought" else -1)
        )
    assert left(supply, EVENING + timedelta(days=1)) == expected


def test_a_layer_takes_from_the_stores_and_an_undo_gives_it_back(maker):
    supply = make_supply({Doing.BASE: Decimal("0.5")})
    stock.buy(supply=supply, amount=Decimal(10), by=maker, moment=EVENING - timedelta(days=9))
    decal = sealed_decal(maker)
    log_step(decals=[decal.pk], step=Stage.BASE_APPLIED, by=maker, moment=EVENING)
    assert left(supply) == Decimal("9.5")
    undo_last(decal=decal.pk, by=maker, moment=EVENING)
    assert left(supply) == 10
    assert StockLine.objects.filter(kind="undo").count() == 1, "the log only grows"


def test_sheets_take_film_and_their_own_sealer(maker):
    film = make_supply(
        name="Film", kind="film", film="white", printer="inkjet", width_mm=210, height_mm=297
    )
    water = make_supply({Doing.COAT: Decimal(4)}, name="Gloss", kind="sealer", sealer="water")
    solvent = make_supply({Doing.COAT: Decimal(4)}, name="Lacquer", kind="sealer", sealer="solvent")
    stock.buy(supply=film, amount=Decimal(3), by=maker, moment=EVENING - timedelta(days=9))
    decal = sealed_decal(maker)  # a white and a clear sheet, two coats each, water-borne
    assert left(film) == 2
    assert (left(water), left(solvent)) == (-16, 0)
    sheet = decal.pieces.get(layer="base", copy=1).sheet
    sheet_undoing.undo_sheet(sheet=sheet.pk, by=maker, moment=EVENING)
    assert left(water) == -12
    make_sheet(Film.CLEAR)
    assert left(film) == 2, "clear film is another supply"


def test_more_used_than_there_is_wants_counting(maker):
    supply = make_supply()
    stock.note(supply=supply, kind="used", amount=Decimal(2), by=maker, moment=EVENING)
    (row,) = held(moment=EVENING)
    assert row.wants_counting and row.stock == -2
    stock.note(supply=supply, kind="counted", amount=Decimal(7), by=maker, moment=EVENING)
    assert not held(moment=EVENING)[0].wants_counting


def test_a_receipt_can_be_undone_after_use_and_only_once(maker):
    supply = make_supply()
    bought = stock.buy(supply=supply, amount=Decimal(5), by=maker, moment=EVENING)
    stock.note(supply=supply, kind="used", amount=Decimal(3), by=maker, moment=EVENING)
    stock.undo_line(line=bought.pk, by=maker, moment=EVENING)
    assert left(supply) == -3
    with pytest.raises(Refused, match="undone already"):
        stock.undo_line(line=bought.pk, by=maker, moment=EVENING)


def test_what_a_step_used_is_undone_with_the_step(maker):
    make_supply({Doing.BASE: Decimal("0.5")})
    decal = sealed_decal(maker)
    log_step(decals=[decal.pk], step=Stage.BASE_APPLIED, by=maker, moment=EVENING)
    line = StockLine.objects.get(kind="used")
    with pytest.raises(Refused, match="undo the step"):
        stock.undo_line(line=line.pk, by=maker, moment=EVENING)


def test_low_old_and_opened_are_told(maker):
    supply = make_supply(low_at=5, opened_days=30)
    stock.buy(supply=supply, amount=Decimal(5), by=maker, moment=EVENING)
    stock.note(supply=supply, kind="opened", amount=Decimal(0), by=maker, moment=EVENING)
    (row,) = held(moment=EVENING)
    assert row.is_low and row.is_over_soon and not row.is_over
    assert held(moment=EVENING + timedelta(days=31))[0].is_over


def test_prices_keep_the_currency_of_their_day(maker):
    supply = make_supply({Doing.BASE: Decimal(1)})
    stock.buy(
        supply=supply,
        amount=Decimal(10),
        price=Decimal("5.00"),
        by=maker,
        moment=EVENING - timedelta(days=9),
    )
    decal = sealed_decal(maker)
    log_step(decals=[decal.pk], step=Stage.BASE_APPLIED, by=maker, moment=EVENING)
    change_rules(currency="EUR", hourly_rate=Decimal(0), moment=EVENING)
    (cost,) = ledger_of([decal.project]).costs("EUR")
    assert (cost.currency, cost.total) == ("GBP", Decimal("0.50"))
    assert "White film" in cost.missing
    assert estimate(decal.project, moment=EVENING).currency == "EUR"


def test_the_list_asks_the_same_of_the_records_for_any_number(maker, django_assert_num_queries):
    for number in range(12):
        supply = make_supply(name=f"S{number}")
        for _ in range(4):
            stock.buy(supply=supply, amount=Decimal(5), by=maker, moment=EVENING)
        stock.note(supply=supply, kind="counted", amount=Decimal(7), by=maker, moment=EVENING)
    with django_assert_num_queries(10):
        assert {row.stock for row in held(moment=EVENING)} == {Decimal(7)}


def test_the_age_of_what_is_left_counts_not_that_of_the_newest_purchase(maker):
    supply = make_supply(keeps_days=100)
    old, new = EVENING - timedelta(days=120), EVENING - timedelta(days=10)
    stock.buy(supply=supply, amount=Decimal(4), by=maker, moment=old, batch="A")
    stock.buy(supply=supply, amount=Decimal(6), by=maker, moment=new, batch="B")
    (row,) = held(moment=EVENING)
    assert [(b.bought.batch, b.left) for b in row.batches] == [("A", 4), ("B", 6)]
    assert row.is_over, "four are left of the old batch"
    stock.note(supply=supply, kind="used", amount=Decimal(5), by=maker, moment=EVENING)
    (row,) = held(moment=EVENING)
    assert [(b.bought.batch, b.left) for b in row.batches] == [("B", 5)]
    assert not row.is_over and row.good_until == (new + timedelta(days=100)).date()


def test_an_opening_is_of_the_oldest_batch_that_was_left_then(maker):
    supply = make_supply(opened_days=30)
    days = [EVENING - timedelta(days=back) for back in (90, 80, 60)]
    stock.buy(supply=supply, amount=Decimal(1), by=maker, moment=days[0], batch="A")
    stock.buy(supply=supply, amount=Decimal(1), by=maker, moment=days[1], batch="B")
    stock.note(supply=supply, kind="opened", amount=Decimal(0), by=maker, moment=days[2])
    (row,) = held(moment=EVENING)
    assert [bool(batch.opened) for batch in row.batches] == [True, False]
    assert row.is_over
    stock.note(supply=supply, kind="used", amount=Decimal(1), by=maker, moment=EVENING)
    (row,) = held(moment=EVENING)
    assert not row.is_over and row.good_until is None


@given(st.lists(st.integers(1, 20), max_size=6), st.integers(-10, 150))
def test_what_is_left_of_purchases_is_the_stock(bought, there):
    left = left_of([Decimal(amount) for amount in bought], Decimal(there))
    assert sum(left) == max(0, min(there, sum(bought)))
    assert all(0 <= part <= amount for part, amount in zip(left, bought, strict=True))
    whole = [part == amount for part, amount in zip(left, bought, strict=True)]
    first = next((n for n, part in enumerate(left) if part), len(left))
    assert all(whole[first + 1 :]), "the oldest goes first"


def test_the_work_ahead_needs_film_with_copies_to_spare(maker):
    """By hand: art 24 × 12 mm is 29 × 17 = 493 mm² with edge and gap. Ten equal ones wanted at
    Beta(18, 2), then Beta(17, 3) are 19 copies (scipy.stats.betabinom, tests/outside):
    493 · 19 ÷ 0.85 = 11 020 mm² of 10 000: 1.102, to the next tenth 1.2. Ten unlike ones are 3
    copies each: 493 · 3 ÷ 0.85 = 1740 mm² for each: 1.74 more, 2.842 in all, to the tenth 2.9."""
    film = make_supply(
        name="Film", kind="film", film="white", printer="inkjet", width_mm=100, height_mm=100
    )
    stock.buy(supply=film, amount=Decimal(1), by=maker, moment=EVENING)
    decals = make_decals(10, Build.WHITE_ALONE)
    (row,) = held(moment=EVENING)
    assert row.needed == Decimal("1.2") and row.is_low
    unlike = [make_decals(1, Build.WHITE_ALONE)[0] for _ in range(10)]
    (row,) = held(moment=EVENING)
    assert row.needed == Decimal("2.9")
    decals += unlike
    sealed_sheet("white", decals, maker)
    (row,) = held(moment=EVENING)
    assert row.needed == 0, "their pieces lie on a sheet"


def test_the_plan_needs_layers_with_what_goes_wrong(maker):
    """One base wanted, cut and laid well at Beta(17, 3): by scipy.stats.betabinom 2 layings give
    it with 97 %, one with 85 %; 0.5 ml each."""
    fluid = make_supply({Doing.BASE: Decimal("0.5")})
    sealed_decal(maker, Build.WHITE_ALONE)
    plans.make_now(moment=EVENING, iterations=1)
    row = next(row for row in held(moment=EVENING) if row.supply == fluid)
    assert row.needed == Decimal("1.0")


def test_clean_sheets_and_offcuts_are_told_of_their_film(maker):
    film = make_supply(
        name="Film", kind="film", film="white", printer="inkjet", width_mm=210, height_mm=297
    )
    sheet, other = make_sheet(Film.WHITE), make_sheet(Film.CLEAR)
    offcut = cut_off(sheet=sheet.pk, side=Side.FOOT, at_mm=100, by=maker, moment=EVENING)
    assert clean_sheets(film) == sorted([sheet, offcut], key=lambda sheet: sheet.code)
    assert other not in clean_sheets(film)
