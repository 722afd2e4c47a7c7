import io

import pytest
import resvg_py
from PIL import Image, ImageFilter
from zxingcpp import read_barcodes

from decaljobs.pdf.qr import draw_qr, modules, qr_svg


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


#: What the codes of cards and sheets say, at an address in a home network.
ADDRESSES = ["http://192.168.100.120:8000/projects/P-104/", "http://192.168.1.20:8000/sheets/W-07/"]
DPI = 150


def scanned(text: str, blur: float, turn: float) -> Image.Image:
    """A symbol of 25 mm on white paper as a scan at 150 dpi shows it, blurred and turned."""
    rows = modules(text)
    fine = 8  # the symbol is drawn so many times finer, then averaged down, as a lens does
    side = round(25 / 25.4 * DPI) * fine
    image = Image.new("L", (len(rows), len(rows)), 255)
    image.putdata([0 if dark else 255 for row in rows for dark in row])
    image = image.resize((side, side), Image.Resampling.NEAREST)
    paper = Image.new("L", (2 * side, 2 * side), 255)
    paper.paste(image, (side // 2, side // 2))
    turned = paper.rotate(turn, Image.Resampling.BICUBIC, fillcolor=255)
    small = turned.resize((2 * side // fine, 2 * side // fine), Image.Resampling.BOX)
    return small.filter(ImageFilter.GaussianBlur(blur))


@pytest.mark.parametrize("text", ADDRESSES)
@pytest.mark.parametrize("blur", [0.0, 1.0, 1.5], ids="blurred by {} px".format)
@pytest.mark.parametrize("turn", [0, 7, 33, 90, 147, 201], ids="turned by {}°".format)
def test_a_symbol_of_25_mm_is_read_at_150_dpi_blurred_and_turned(text, blur, turn):
    assert [found.text for found in read_barcodes(scanned(text, blur, turn))] == [text]


def test_a_scan_that_is_blurred_beyond_recognition_is_not_read():
    assert not read_barcodes(scanned(ADDRESSES[0], 5.0, 0))


def test_the_picture_for_a_page_is_read_as_written():
    text = "http://192.168.1.20:8000/enter/abc/"
    drawn = qr_svg(text, "a way in")
    assert drawn.startswith('<svg class="qr"')
    assert "style=" not in drawn
    coloured = drawn.replace('class="qr-paper"', 'fill="#ffffff"').replace('class="qr-ink"', "")
    coloured = coloured.replace("<svg ", '<svg xmlns="http://www.w3.org/2000/svg" ')
    picture = resvg_py.svg_to_bytes(svg_string=coloured, width=300)
    (found,) = read_barcodes(Image.open(io.BytesIO(bytes(picture))).convert("RGB"))
    assert found.text == text
