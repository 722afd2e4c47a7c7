"""The stores in a browser: from purchase to the low-stock warning to the next receipt."""

import pytest

from tests.browser.visitor import DESK, PHONE
from tests.factories import sealed_decal


@pytest.mark.browser
@pytest.mark.parametrize("screen", [DESK, PHONE], ids=["desk", "phone"])
def test_a_purchase_is_used_up_runs_low_and_is_bought_again(visit, mara, screen):
    decal = sealed_decal(mara)
    visitor = visit(mara, **screen)
    visitor.go("/stores/")
    visitor.follow("Put something in")
    visitor.follow("Fluid")
    visitor.write("Name", "Setting fluid")
    visitor.write("Runs low at, ml", "5")
    visitor.write("Used each time: cut and lay the base of one decal, ml", "0,5")
    visitor.press("Keep it")
    bought = visitor.page.locator("form", has_text="Log the purchase")
    bought.get_by_label("How much").fill("5")
    bought.get_by_label("Price for all of it").fill("6,20")
    visitor.press("Log the purchase")
    visitor.go("/stores/")
    visitor.reads("Setting fluid: 5 ml left")
    visitor.follow("Setting fluid", visitor.page.locator("table"))
    bought.get_by_label("How much").fill("0.3")
    visitor.press("Log the purchase")
    visitor.go("/stores/")
    assert "Runs low" not in visitor.text
    visitor.go(decal.get_absolute_url())
    visitor.press("Base applied")
    visitor.go("/stores/")
    visitor.reads("Setting fluid: 4.8 ml left")
    visitor.follow("Setting fluid", visitor.page.locator("table"))
    bought.get_by_label("How much").fill("25")
    visitor.press("Log the purchase")
    visitor.reads("There should be 29.8 ml")
    visitor.go("/stores/")
    assert "Runs low" not in visitor.text
