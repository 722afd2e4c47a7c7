"""What a project costs: by hand to the penny, and film to the square millimetre."""

from datetime import timedelta
from decimal import Decimal

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from decaljobs.craft.doings import Doing
from decaljobs.craft.film.filmuse import FilmAccount
from decaljobs.craft.stages import Build, Film, Stage
from decaljobs.models import Piece, Sheet, Supply
from decaljobs.services.bench.steps import log_step
from decaljobs.services.film import sheets
from decaljobs.services.film.filmuse import film_of
from decaljobs.services.film.lost_sheets import lose_sheet
from decaljobs.services.film.offcuts import Side, cut_off
from decaljobs.services.money.costs import customer_costs, customers, decal_costs, ledger_of
from decaljobs.services.money.rates import change_rules
from decaljobs.services.plan.benchminutes import keep_minutes
from decaljobs.services.refused import Refused
from decaljobs.services.stores import stock, supplies
from tests.factories import (
    EVENING,
    make_artwork,
    make_decal,
    make_person,
    make_project,
    make_sheet,
)

pytestmark = pytest.mark.django_db
BEFORE = EVENING - timedelta(days=9)


def bought(maker, amount, price, uses=None, moment=BEFORE, **fields):
    supply = supplies.keep_supply(supply=Supply(**fields), uses=uses or {})
    stock.buy(supply=supply, amount=Decimal(amount), price=Decimal(price), by=maker, moment=moment)
    return supply


def white_film(maker, **fields):
    start = {"name": "White film", "kind": "film", "film": "white", "printer": "inkjet"}
    return bought(
        maker, 10, "18.00", **{**start, "width_mm": 100, "height_mm": 100, "low_at": 0, **fields}
    )


def one_layer(maker, project, places, *, cut_at=None, name="Side"):
    """White film alone, its pieces where they are told, one coat, an offcut cut off before."""
    art = make_artwork(width_mm=24)
    decals = [
        make_decal(Build.WHITE_ALONE, project=project, artwork=art, place=f"{name} {n}")
        for n in range(len(places))
    ]
    sheet = make_sheet(Film.WHITE, width_mm=100, height_mm=100, coats_wanted=1)
    sheets.put_on_sheet(sheet=sheet.pk, decals=[decal.pk for decal in decals], copies=1)
    for piece, (x, y, wide, high) in zip(sheet.pieces.order_by("decal"), places, strict=True):
        Piece.objects.filter(pk=piece.pk).update(
            x_mm=x, y_mm=y, width_mm=wide, height_mm=high, degrees=0
        )
    if cut_at:
        cut_off(sheet=sheet.pk, side=Side.FOOT, at_mm=cut_at, by=maker, moment=EVENING)
    start = EVENING - timedelta(hours=60)
    sheets.log_printed(sheet=sheet.pk, by=maker, moment=EVENING, at=start)
    sheets.log_coat(sheet=sheet.pk, by=maker, moment=EVENING, at=start + timedelta(hours=13))
    log_step(
        decals=[decal.pk for decal in decals], step=Stage.BASE_APPLIED, by=maker, moment=EVENING
    )
    return decals


def test_a_project_by_hand_to_the_penny(maker):
    """A white sheet of 100 × 100 mm, ten of them for 18.00, so 0.018 for each of its 100 cm².

    Its foot of 40 mm is cut off and kept: 40 cm² cost the project nothing. On the 60 cm² left lie
    pieces of 30 × 20 mm (side 0) and 60 × 20 mm (side 1): 6 + 12 = 18 cm². Their gaps, 3 mm at two
    sides: 33 · 23 − 600 = 159 and 63 · 23 − 1200 = 249, together 408 mm² = 4.08 cm². Waste is
    60 − 18 − 4.08 = 37.92 cm². Pieces 18 · 0.018 = 0.324 → 0.32; gaps 4.08 · 0.018 = 0.07344 →
    0.07; waste 37.92 · 0.018 = 0.68256 → 0.68.
    Sealer: 100 ml for 8.50, one coat of 4 ml: 4 · 0.085 = 0.34. Fluid: 25 ml for 6.00, 0.5 ml for
    each of two layers: 1 · 0.24 = 0.24.
    Bench: print 15, coat 5, two layers of 15: 50 min at 24.00 an hour: 20.00.
    Together 0.32 + 0.07 + 0.68 + 0.34 + 0.24 + 20.00 = 21.65.

    Side 0 has a third of what lies on the sheet (600 of 1800 mm²): film 6 · 0.018 = 0.108 → 0.11,
    gaps 1.36 · 0.018 = 0.02448 → 0.02, waste 12.64 · 0.018 = 0.22752 → 0.23, sealer 0.11333 →
    0.11, fluid 0.12, bench (15 + 5) ÷ 3 + 15 = 21.667 min → 8.67. Together 9.26.
    """
    change_rules(currency="GBP", hourly_rate=Decimal(24), moment=BEFORE)
    keep_minutes(minutes={Doing.PRINT: 15, Doing.COAT: 5, Doing.BASE: 15})
    white_film(maker)
    sealer = {"name": "Gloss", "kind": "sealer", "sealer": "water"}
    bought(maker, 100, "8.50", {Doing.COAT: Decimal(4)}, **sealer)
    bought(maker, 25, "6.00", {Doing.BASE: Decimal("0.5")}, name="Fluid", kind="fluid")
    project = make_project()
    one_layer(maker, project, [(6, 6, 30, 20), (6, 30, 60, 20)], cut_at=60)
    ledger = ledger_of([project])
    (cost,) = ledger.costs("GBP")
    assert {line.words: str(line.amount) for line in cost.lines} == {
        "White film, pieces": "0.32",
        "White film, gaps": "0.07",
        "White film, waste": "0.68",
        "Gloss": "0.34",
        "Fluid": "0.24",
        "Bench time": "20.00",
    }
    assert cost.total == Decimal("21.65")
    first = decal_costs(project, ledger)[0]
    assert (first.decal.place, first.costs[0].total) == ("Side 0", Decimal("9.26"))


def test_old_work_keeps_the_currency_and_rate_of_its_day(maker):
    change_rules(currency="GBP", hourly_rate=Decimal(24), moment=BEFORE)
    keep_minutes(minutes={Doing.PRINT: 15, Doing.COAT: 5, Doing.BASE: 15})
    project = make_project()
    one_layer(maker, project, [(6, 6, 30, 20)])
    change_rules(currency="EUR", hourly_rate=Decimal(60), moment=EVENING + timedelta(hours=1))
    (cost,) = ledger_of([project]).costs("EUR")
    assert (cost.currency, cost.total) == ("GBP", Decimal("14.00"))


def test_film_that_is_no_longer_kept_keeps_its_price(maker):
    film = white_film(maker)
    project = make_project()
    one_layer(maker, project, [(6, 6, 30, 20)])
    supplies.no_longer_kept(supply=film, moment=EVENING)
    (cost,) = ledger_of([project]).costs("GBP")
    assert cost.total == Decimal("1.80") and not cost.missing


def test_a_customers_projects_are_added_up(maker):
    white_film(maker)
    for name in ("Launch", "Tender"):
        project = make_project(name=name, customer="Mrs Ferry")
        one_layer(maker, project, [(6, 6, 30, 20)])
    make_project(customer="Mr Quay")
    assert {(row.name, row.projects) for row in customers()} == {("Mrs Ferry", 2), ("Mr Quay", 1)}
    found = customer_costs("Mrs Ferry")
    assert [row.costs[0].total for row in found.projects] == [Decimal("1.80")] * 2
    assert found.totals == {"GBP": Decimal("3.60")}


def test_the_ledger_asks_the_same_for_any_number_of_decals(maker):
    white_film(maker)
    project, asked = make_project(), []
    for name in ("Bow", "Stern", "Mast"):
        one_layer(maker, project, [(6, 6, 30, 20), (6, 30, 30, 20)], name=name)
        with CaptureQueriesContext(connection) as queries:
            (cost,) = ledger_of([project]).costs("GBP")
        asked.append((len(queries), cost.total))
    # Each of three sheets is a whole one of 1.80; each line of three is rounded by itself.
    assert [float(total) for _, total in asked] == pytest.approx([1.8, 3.6, 5.4], abs=0.015)
    assert {number for number, _ in asked} == {asked[0][0]}
    assert asked[0][0] <= 14


DOINGS = st.lists(
    st.tuples(
        st.sampled_from(["open", "put", "cut", "print", "lose"]),
        st.integers(0, 9),
        st.integers(20, 180),
    ),
    max_size=14,
)


@settings(
    deadline=None, max_examples=25, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(DOINGS)
def test_pieces_gaps_waste_and_offcuts_are_the_sheets_that_were_opened(doings):
    maker, decal = make_person(), make_decal(Build.WHITE_ALONE)
    listed = [make_sheet(Film.WHITE)]
    opened = 210 * 297
    for what, which, mm in doings:
        sheet = listed[which % len(listed)]
        try:
            if what == "open":
                listed.append(make_sheet(Film.WHITE, width_mm=mm, height_mm=100))
                opened += mm * 100
            elif what == "put":
                sheets.put_on_sheet(sheet=sheet.pk, decals=[decal.pk], copies=1 + which % 3)
            elif what == "cut":
                side = Side.FOOT if which % 2 else Side.RIGHT
                listed.append(
                    cut_off(sheet=sheet.pk, side=side, at_mm=mm, by=maker, moment=EVENING)
                )
            elif what == "print":
                sheets.log_printed(sheet=sheet.pk, by=maker, moment=EVENING)
            else:
                lose_sheet(sheet=sheet.pk, by=maker, moment=EVENING)
        except Refused:
            continue
    there = list(Sheet.objects.filter(pk__in=[sheet.pk for sheet in listed]))
    account = sum((film.account for film in film_of(there)), FilmAccount())
    assert account.whole == pytest.approx(opened, abs=1)  # to 1 mm²
    assert min(account.pieces, account.gaps, account.kept, account.waste) >= 0
