"""What a project will cost: by hand, copies to spare included."""

from decimal import Decimal

import pytest

from decaljobs.craft.doings import Doing
from decaljobs.craft.stages import Build, Film
from decaljobs.models import KeptEstimate, Sheet
from decaljobs.services.film import sheets
from decaljobs.services.money.estimates import estimate, kept_cost
from decaljobs.services.money.rates import change_rules
from tests.factories import (
    EVENING,
    make_artwork,
    make_decal,
    make_decals,
    make_project,
    make_sheet,
)
from tests.services.money.test_costs import BEFORE, bought, one_layer, white_film

pytestmark = pytest.mark.django_db


def test_an_estimate_is_kept_when_the_first_sheet_is_printed_and_not_after(maker):
    change_rules(currency="GBP", hourly_rate=Decimal(24), moment=BEFORE)
    white_film(maker)
    project = make_project()
    one_layer(maker, project, [(6, 6, 30, 20)])
    made_at, kept = kept_cost(project)
    assert made_at == EVENING and kept.total > 0 and kept.lines
    change_rules(currency="EUR", hourly_rate=Decimal(99), moment=EVENING)
    sheet = make_sheet(Film.WHITE)
    sheets.put_on_sheet(sheet=sheet.pk, decals=[project.decals.get().pk], copies=1)
    sheets.log_printed(sheet=sheet.pk, by=maker, moment=EVENING)
    assert kept_cost(project) == (made_at, kept)
    assert KeptEstimate.objects.count() == 1


def test_an_estimate_by_hand_has_the_copies_to_spare_in_it(maker):
    """White alone, art 24 × 12 mm (240 × 120 px): with 1 mm round it and a gap of 3, 29 × 17 = 493.

    One wanted at Beta(8, 2) takes 3 copies (checks: k = 1), a sheet fills to 85 %:
    493 · 3 ÷ 0.85 = 1740 mm² of 10 000 at 1.80 a sheet: 0.3132 → 0.31.
    """
    white_film(maker)
    project = make_project()
    make_decal(Build.WHITE_ALONE, project=project, artwork=make_artwork(width_mm=24))
    cost = estimate(project, moment=EVENING)
    assert [(line.words, str(line.amount)) for line in cost.lines] == [("White film", "0.31")]


def test_an_estimate_counts_equal_decals_together(maker):
    """Four equal ones take 8 copies and not 4 · 3 (checks: k = 4, Beta(8, 2)).

    493 · 8 ÷ 0.85 = 4640 mm² of 10 000 at 1.80 a sheet: 0.8352 → 0.84.
    """
    white_film(maker)
    project = make_project()
    make_decals(4, Build.WHITE_ALONE, project=project, artwork=make_artwork(width_mm=24))
    cost = estimate(project, moment=EVENING)
    assert [(line.words, str(line.amount)) for line in cost.lines] == [("White film", "0.84")]


@pytest.mark.parametrize(("printer", "coats"), [("inkjet", 4), ("laser", 1)])
def test_an_estimate_counts_coats_as_the_printers_last_sheet_had_them(maker, printer, coats):
    """Before there is one: 4 light coats on inkjet film, one fine coat on laser (common practice).

    493 · 3 ÷ 0.85 = 1740 mm² of 10 000, and a coat of 100 ml at 1.00 a ml on a whole sheet.
    """
    white_film(maker, printer=printer)
    bought(maker, 1000, "1000.00", {Doing.COAT: Decimal(100)}, name="Sealer", kind="sealer")
    project = make_project()
    make_decal(Build.WHITE_ALONE, project=project, artwork=make_artwork(width_mm=24))

    def sealer():
        lines = estimate(project, moment=EVENING).lines
        return next(line.amount for line in lines if line.words == "Sealer")

    assert float(sealer()) == pytest.approx(0.174 * 100 * coats, abs=0.01)
    make_sheet(Film.WHITE, printer=printer, coats_wanted=2)
    assert float(sealer()) == pytest.approx(0.174 * 100 * 2, abs=0.01)


def test_an_estimate_takes_the_film_that_is_printed_on(maker):
    """At 1.80 a sheet for inkjet as above: 0.31; laser film at 3.60 costs twice that, 0.63."""
    white_film(maker)
    size = {"width_mm": 100, "height_mm": 100}
    laser = {"name": "Laser film", "kind": "film", "film": "white", "printer": "laser", **size}
    bought(maker, 10, "36.00", **laser)
    one_layer(maker, make_project(), [(6, 6, 30, 20)])
    project = make_project()
    make_decal(Build.WHITE_ALONE, project=project, artwork=make_artwork(width_mm=24))
    assert str(estimate(project, moment=EVENING).lines[0].amount) == "0.31"
    Sheet.objects.update(printer="laser")
    assert str(estimate(project, moment=EVENING).lines[0].amount) == "0.63"


def test_an_estimate_tells_what_was_paid_for_in_other_money(maker):
    white_film(maker)
    change_rules(currency="EUR", hourly_rate=Decimal(0), moment=EVENING)
    project = make_project()
    make_decal(Build.WHITE_ALONE, project=project)
    cost = estimate(project, moment=EVENING)
    assert (cost.currency, cost.total) == ("EUR", 0)
    assert cost.missing == ("White film (paid for in GBP)",)
