"""Art measured and widened, and a whole colour trial by eye, by clicking."""

import pytest

from decaljobs.models import Artwork, Recipe
from tests.browser.visitor import DESK, PHONE
from tests.factories import picture_bytes

pytestmark = pytest.mark.browser
SCREENS = pytest.mark.parametrize("screen", [DESK, PHONE], ids=["desk", "phone"])


@SCREENS
def test_art_is_measured_looked_at_and_widened(visit, mara, screen):
    visitor = visit(mara, **screen)
    visitor.go("/artwork/new/")
    visitor.write("Name", "Roundel")
    picture = {"name": "art.png", "mimeType": "image/png", "buffer": picture_bytes()}
    visitor.page.get_by_label("Picture").set_input_files(picture)
    visitor.write("Print width", "24")
    visitor.press("Keep the artwork")
    visitor.press("Measure it")
    # 10 px of 240 at 24 mm: a band of 1 mm.
    visitor.reads("1\u00a0mm at its narrowest")
    drawing = visitor.page.locator("svg.art-drawing")
    whole = drawing.get_attribute("viewBox")
    visitor.follow("8 times")
    assert drawing.get_attribute("viewBox") != whole
    visitor.write("Wider by", "0.5")
    visitor.press("Make a wider version")
    visitor.reads("Roundel, version 2")
    assert [art.change for art in Artwork.objects.order_by("version")] == [
        "",
        "band widened by 0.5 mm",
    ]


def test_a_picture_on_its_way_is_said_to_be_read(visit, mara):
    visitor = visit(mara, **PHONE)
    visitor.go("/artwork/new/")
    visitor.write("Name", "Roundel")
    visitor.write("Print width", "24")
    line = visitor.page.locator("form[data-reading] .sending")
    assert not line.is_visible()
    picture = {"name": "art.png", "mimeType": "image/png", "buffer": picture_bytes()}
    visitor.page.get_by_label("Picture").set_input_files(picture)
    # held back at the very last, so that there is time to look
    visitor.page.evaluate("addEventListener('submit', (event) => event.preventDefault())")
    visitor.page.get_by_role("button", name="Keep the artwork").click()
    assert line.is_visible()
    assert "Reading the picture" in line.inner_text()


@SCREENS
def test_a_colour_trial_by_eye_ends_in_a_recipe(visit, mara, screen):
    visitor = visit(mara, **screen)
    visitor.go("/trials/new/")
    visitor.write("Paint", "Harbour blue")
    visitor.write("First guess", "#1f3a6e")
    visitor.write("Printer", "desk printer")
    visitor.press("Make round 1")
    answer(visitor, 7, 12, 31)
    visitor.page.get_by_label("Printed on").select_option("film")
    visitor.press("Make the next round")
    with visitor.refused():
        answer(visitor, 5, 5, 6)
    visitor.reads("Name three different patches.")
    answer(visitor, 5, 6, 7)
    visitor.reads("Your choice")
    visitor.press("Make a second strip")
    answer(visitor, 1, 2, 3)
    visitor.press("Keep as the recipe")
    recipe = Recipe.objects.get()
    assert recipe.colour in visitor.text
    assert (recipe.material, recipe.printer) == ("film", "desk printer")


def answer(visitor, best, second, third):
    for label, number in (("Best patch", best), ("Second", second), ("Third", third)):
        visitor.page.get_by_label(label, exact=True).fill(str(number))
    visitor.press("Keep my answer")
