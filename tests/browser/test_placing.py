"""Decals put on panels: dragged where there is JavaScript, typed where there is none."""

import pytest

from decaljobs.models import Panel, Placing
from tests.browser.visitor import DESK, PHONE
from tests.factories import make_decal, make_decals
from tests.services.projects.test_placing import make_panel, put

pytestmark = pytest.mark.browser
SCREENS = pytest.mark.parametrize("screen", [DESK, PHONE], ids=["desk", "phone"])


def address(decal):
    return f"/projects/{decal.project.code}/placing/"


@SCREENS
def test_a_decal_is_dragged_and_keeps_its_place(visit, mara, screen):
    one, other = make_decals(2)  # 24 by 12 mm each
    panel = make_panel(one.project)
    put(one, panel, 30, 15)
    put(other, panel, 90, 15)
    visitor = visit(mara, **screen)
    visitor.go(address(one))
    drawing = visitor.page.locator("svg[data-panel]")
    # The drawing shows 120 mm of panel and 4 % of white at either side.
    box = drawing.locator(".panel-body").bounding_box()
    pixel = box["width"] / 120
    x, y = box["x"] + 30 * pixel, box["y"] + 15 * pixel
    visitor.page.mouse.move(x, y)
    visitor.page.mouse.down()
    visitor.page.mouse.move(x + 25 * pixel, y + 2 * pixel, steps=4)
    visitor.page.mouse.move(x + 50 * pixel, y + 3 * pixel, steps=4)
    visitor.page.mouse.up()
    visitor.page.get_by_text(f"{one.words} is placed.").wait_for()
    kept = Placing.objects.get(decal=one)
    # A pixel is up to half a millimetre on the phone; up on the panel is less on the screen.
    assert float(kept.x_mm) == pytest.approx(80, abs=1)
    assert float(kept.y_mm) == pytest.approx(12, abs=1)
    assert visitor.page.get_by_text(f"{one.words} and {other.words} overlap").is_visible()
    assert Placing.objects.get(decal=other).x_mm == 90


def test_a_finger_drags_it_without_pushing_the_page(visit, mara):
    decal = make_decal()
    put(decal, make_panel(decal.project, height=90), 30, 45)
    visitor = visit(mara, **PHONE)
    visitor.go(address(decal))
    box = visitor.page.locator(".panel-body").bounding_box()
    pixel = box["width"] / 120
    x, y = box["x"] + 30 * pixel, box["y"] + 45 * pixel
    finger = visitor.context.new_cdp_session(visitor.page)
    for kind, across, down in (
        ("touchStart", 0, 0),
        ("touchMove", 10, 8),
        ("touchMove", 25, 20),
        ("touchMove", 40, 30),
    ):
        points = [{"x": x + across * pixel, "y": y + down * pixel}]
        finger.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": points})
    finger.send("Input.dispatchTouchEvent", {"type": "touchEnd", "touchPoints": []})
    visitor.page.get_by_text(f"{decal.words} is placed.").wait_for()
    kept = Placing.objects.get()
    assert float(kept.x_mm) == pytest.approx(70, abs=1)
    assert float(kept.y_mm) == pytest.approx(15, abs=1)
    assert visitor.page.evaluate("scrollY") == 0


def test_a_press_without_a_drag_moves_nothing(visit, mara):
    decal = make_decal()
    put(decal, make_panel(decal.project), 30, 15)
    visitor = visit(mara, **DESK)
    visitor.go(address(decal))
    visitor.page.locator("[data-decal]").click()
    visitor.go(address(decal))
    assert Placing.objects.get().x_mm == 30


@SCREENS
@pytest.mark.parametrize("scripts", [True, False], ids=["with scripts", "without"])
def test_a_panel_is_made_and_a_decal_typed_onto_it(visit, mara, screen, scripts):
    decal = make_decal(place="Tail")
    visitor = visit(mara, **screen, java_script_enabled=scripts)
    visitor.go(address(decal))
    visitor.write("Name", "Left side")
    visitor.page.get_by_label("Measured in").select_option("metres, on the full-size original")
    visitor.write("Width", "8.64")
    visitor.write("Height", "2.88")
    visitor.press("Add the panel")
    visitor.reads("120 × 40")
    visitor.write("From the left", "100")
    visitor.press("Put it there")
    visitor.page.get_by_text("Tail is placed.").wait_for()
    assert Placing.objects.get().x_mm == 100
    visitor.write("From the left", "115")
    visitor.press("Put there Tail")
    visitor.page.get_by_text("hangs over the right edge by 7.0 mm.").wait_for()
    assert Panel.objects.get().width_mm == 120


def test_a_place_that_makes_no_sense_is_told_beside_its_field(visit, mara):
    decal = make_decal()
    put(decal, make_panel(decal.project), 30, 15)
    visitor = visit(mara, **DESK)
    visitor.go(address(decal))
    visitor.write("From below", "9999")
    # The browser would not even send it: the server is asked all the same.
    visitor.page.locator("form.place").evaluate("form => { form.noValidate = true }")
    with visitor.refused():
        visitor.press(f"Put there {decal.words}")
        visitor.page.get_by_text("It must be -4000 to 4000 mm.").wait_for()
    assert visitor.page.get_by_label("From below").input_value() == "9999"
