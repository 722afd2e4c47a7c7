"""The keyboard alone: to the search, into a list, from row to row, and never while typing."""

import pytest

from tests.browser.visitor import DESK, PHONE
from tests.factories import make_project

pytestmark = pytest.mark.browser
FOCUSED = "document.activeElement.textContent.trim()"


@pytest.fixture
def three(mara):
    return [make_project(name=name) for name in ("Tug Heron", "Tug Gannet", "Tug Tern")]


@pytest.mark.parametrize("screen", [DESK, PHONE], ids=["desk", "phone"])
def test_a_slash_leads_to_the_search_and_arrows_through_what_it_finds(visit, mara, three, screen):
    visitor = visit(mara, **screen)
    keys = visitor.page.keyboard
    visitor.go("/projects/")
    keys.press("/")
    keys.type("tug")
    keys.press("Enter")
    visitor.page.wait_for_url("**/search/?q=tug")
    keys.press("/")
    keys.press("ArrowDown")
    first = visitor.page.evaluate(FOCUSED)
    keys.press("ArrowDown")
    second = visitor.page.evaluate(FOCUSED)
    keys.press("ArrowUp")
    assert visitor.page.evaluate(FOCUSED) == first != second
    keys.press("End")
    assert visitor.page.evaluate(FOCUSED) == "Tug Heron"
    keys.press("Enter")
    visitor.page.wait_for_url(f"**{three[0].get_absolute_url()}")


def test_arrows_go_from_button_to_button(visit, mara, three):
    visitor = visit(mara)
    visitor.go("/projects/")
    card = visitor.page.get_by_role("link", name="Job card of Tug Tern")
    card.focus()
    visitor.page.keyboard.press("ArrowDown")
    assert "Tug Gannet" in visitor.page.evaluate("document.activeElement.closest('.row').innerText")


def test_a_slash_that_is_typed_stays_a_slash(visit, mara):
    visitor = visit(mara)
    visitor.go("/projects/new/")
    scale = visitor.page.get_by_label("Scale")
    scale.focus()
    visitor.page.keyboard.type("1/72?")
    assert scale.input_value() == "1/72?"


def test_a_question_mark_opens_the_keys_and_there_they_are_switched_off(visit, mara):
    visitor = visit(mara)
    visitor.go("/")
    visitor.page.keyboard.press("?")
    visitor.page.wait_for_url("**/keys/")
    visitor.press("Switch the keys / and ? off")
    visitor.page.keyboard.press("/")
    assert visitor.page.evaluate("document.activeElement.tagName") == "BODY"


def test_the_first_tab_skips_to_the_page_and_every_focus_is_seen(visit, mara, three):
    visitor = visit(mara)
    visitor.go("/projects/")
    visitor.page.keyboard.press("Tab")
    assert visitor.page.evaluate(FOCUSED) == "Skip to the page"
    visitor.page.keyboard.press("Enter")
    assert visitor.page.evaluate("document.activeElement.id") == "main"
    for _ in range(8):
        visitor.page.keyboard.press("Tab")
        width = visitor.page.evaluate("getComputedStyle(document.activeElement).outlineWidth")
        assert width == "3px"
