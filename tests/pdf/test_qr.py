import pytest
from PIL import Image
from zxingcpp import read_barcodes

from decaljobs.pdf.qr import draw_qr, modules


def test_it_draws_every_dark_module_and_no_other():
    drawn: list[tuple[float, float, float, float]] = []

    class Page:
        def rect(self, x, top, width, height, *, fill):
            drawn.append((x, top, width, height))

    rows = modules("http://localhost:8000/")
    draw_qr(Page(), "http://localhost:8000/", 10.0, 20.0, 29.0)
    module = 29.0 / len(rows)
    dark = sum(sum(row) for row in rows)
    assert sum(width * height for *_, width, height in drawn) == pytest.approx(dark * module**2)
    assert min(x for x, *_ in drawn) == 10.0
    assert max(x + width for x, _, width, _ in drawn) == pytest.approx(39.0)


def test_it_refuses_a_symbol_too_small_to_scan():
    with pytest.raises(ValueError, match="at least 25 mm"):
        draw_qr(None, "x", 0, 0, 24.9)


@pytest.mark.parametrize("text", ["T", "1234", "http://localhost:8000/?a=1&b=é", "x" * 180])
def test_it_is_read_as_written_at_level_m(text):
    rows = modules(text)
    side = len(rows) + 8
    image = Image.new("L", (side, side), 255)
    for top, row in enumerate(rows):
        for left, dark in enumerate(row):
            image.putpixel((left + 4, top + 4), 0 if dark else 255)
    (found,) = read_barcodes(image.resize((side * 4, side * 4), Image.Resampling.NEAREST))
    assert found.text == text
    assert found.ec_level == "M"
