"""A phone is brought in by the QR code on the screen, is listed, and is signed out again."""

import io

import pytest
from PIL import Image
from zxingcpp import read_barcodes

from tests.browser.visitor import DESK, PHONE

SCREENS = pytest.mark.parametrize("screen", [DESK, PHONE], ids=["desk", "phone"])


@SCREENS
def test_a_phone_comes_in_once_and_is_signed_out(visit, mara, screen):
    maker = visit(mara, **screen)
    maker.go("/settings/")
    maker.follow("Devices")
    maker.follow("Bring a device in")
    maker.press("Show the QR code")
    seen = maker.page.locator(".bring svg").screenshot()
    (code,) = read_barcodes(Image.open(io.BytesIO(seen)))
    assert code.text == maker.page.get_by_label("The same as a link").input_value()

    phone = visit(**PHONE)
    phone.go(code.text)
    assert "Nothing is on the bench yet" in phone.text
    late = visit(**PHONE)
    with late.refused(410):
        late.go(code.text)

    maker.follow("Done")
    rows = maker.page.locator(".row")
    assert rows.count() == 2
    maker.page.locator(".row", has_not_text="this one").get_by_role("button").click()
    maker.reads("is signed out.")
    phone.go("/projects/")
    assert "/sign-in/" in phone.page.url
