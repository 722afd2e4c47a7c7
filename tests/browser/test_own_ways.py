"""Lists kept in the address, and a reader of inches and twelve hours at both widths."""

import re

import pytest

from decaljobs.models import Placing
from tests.browser.visitor import DESK, PHONE
from tests.factories import make_decal, make_project
from tests.services.projects.test_placing import make_panel, put

SCREENS = pytest.mark.parametrize("screen", [DESK, PHONE], ids=["desk", "phone"])


@SCREENS
def test_what_is_asked_of_a_list_stays_in_its_address(visit, mara, screen):
    for name in ("Tug Heron", "Tug Tern", "Ferry"):
        make_project(name=name)
    maker = visit(mara, **screen)
    maker.go("/projects/")
    maker.page.locator("#main").get_by_label("Search").fill("tug")
    maker.unfold("Filter and sort")
    maker.page.get_by_label("Order").select_option(label="by name")
    maker.press("Search")
    maker.page.wait_for_url(re.compile("q=tug"))
    names = maker.page.locator(".row .name").all_inner_texts()
    assert names == ["Tug Heron", "Tug Tern"]
    other = visit(mara, **screen)
    other.go(maker.page.url)
    assert other.page.locator(".row .name").all_inner_texts() == names
    maker.follow("Tug Tern")
    maker.page.go_back()
    assert maker.page.locator(".row .name").all_inner_texts() == names


@SCREENS
def test_units_and_clock_are_changed_and_forms_follow(visit, mara, screen):
    maker = visit(mara, **screen)
    maker.go("/looks/")
    maker.page.get_by_label("Lengths in").select_option(label="inches")
    maker.page.get_by_label("Clock of").select_option(value="12")
    maker.press("Keep this")
    maker.reads("8.2677 × 11.6929")
    maker.go("/plan/hours/")
    maker.write("Monday", "7-10 pm")
    maker.press("Keep the week")
    maker.reads("Your bench hours are kept.")
    kept = maker.page.get_by_label("Monday").input_value()
    assert kept.replace("\u00a0", " ") == "7:00 pm–10:00 pm"


def test_a_decal_is_dragged_by_whoever_reads_inches(visit, mara):
    mara.length_unit = "in"
    mara.save()
    decal = make_decal(project=make_project(code="T-14"), place="Door")
    put(decal, make_panel(decal.project, width=120, height=40), x=30, y=20)
    maker = visit(mara, **DESK)
    maker.go("/projects/T-14/placing/")
    picture = maker.page.locator("svg[data-panel]").bounding_box()
    box = maker.page.locator(f'[data-decal="{decal.pk}"]').first.bounding_box()
    x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
    # The drawing shows the panel's 120 mm and 4 % of it on each side.
    by = 25.4 * picture["width"] / (120 * 1.08)
    maker.page.mouse.move(x, y)
    maker.page.mouse.down()
    maker.page.mouse.move(x + by, y, steps=5)
    maker.page.mouse.up()
    maker.reads("is placed.")
    assert float(Placing.objects.get().x_mm) == pytest.approx(30 + 25.4, abs=0.3)
