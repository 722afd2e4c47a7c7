"""The print file read back: page size, place and size of each art, bytes, clips and corrections.

Page units: 1/72 inch, ISO 32000-1; read back with pypdfium2 (PDFium).
"""

from io import BytesIO

import numpy as np
import pypdfium2.raw as pdfium
import pytest
from PIL import Image
from zxingcpp import read_barcodes

from decaljobs.craft.film.freeplace import free_for_qr
from decaljobs.craft.layout.place import Place
from decaljobs.craft.paper.printfile import PrintPiece, PrintSheet, band_strip, factor_from, frame
from decaljobs.craft.units import paper
from decaljobs.pdf.printfile import TICK, TICK_OFF, cross_pdf, print_file_pdf
from tests.pdf import papers

POINTS_PER_MM = 72 / 25.4


def two_tone(width_mm: float, height_mm: float, dpi: int = 300) -> bytes:
    """A red picture whose left quarter is blue."""
    size = (round(width_mm / 25.4 * dpi), round(height_mm / 25.4 * dpi))
    image = Image.new("RGB", size, (255, 0, 0))
    image.paste((0, 0, 255), (0, 0, size[0] // 4, size[1]))
    file = BytesIO()
    image.save(file, "PNG")
    return file.getvalue()


def sheet(*pieces: PrintPiece, **changes) -> PrintSheet:
    given = {
        "code": "W-07",
        "width": 210.0,
        "height": 297.0,
        "margin": 7.0,
        "said": "2 November 2026, print at 100 %",
        "address": "http://192.168.178.20:8000/sheets/W-07/",
        "pieces": pieces,
    } | changes
    return PrintSheet(**given)


def images(pdf: bytes) -> list[tuple[float, float, float, float]]:
    """Left, top, width and height of each picture on the first page, mm from the top left."""
    page = papers.read(pdf)[0]
    height = page.get_height()
    found = []
    for thing in page.get_objects(filter=[pdfium.FPDF_PAGEOBJ_IMAGE]):
        left, foot, right, top = thing.get_bounds()
        sides = (left, height - top, right - left, top - foot)
        found.append(tuple(side / POINTS_PER_MM for side in sides))
    return found


@pytest.mark.parametrize("size", [(210.0, 297.0), (215.9, 279.4), (147.3, 61.5)])
def test_the_page_is_the_sheet(size):
    page = papers.read(print_file_pdf(sheet(width=size[0], height=size[1])))[0]
    got = (page.get_width() / POINTS_PER_MM, page.get_height() / POINTS_PER_MM)
    assert got == pytest.approx(size, abs=0.01)


def test_each_art_lies_at_its_place_in_its_size():
    art = two_tone(24, 10)
    places = [(6.0, 6.0, 24.0, 10.0, 0), (40.25, 80.5, 10.0, 24.0, 90)]
    pieces = [PrintPiece(art, x, y, wide, high, turn) for x, y, wide, high, turn in places]
    got = images(print_file_pdf(sheet(*pieces)))
    for found, place in zip(got, places, strict=True):
        assert found == pytest.approx(place[:4], abs=0.1)


def test_a_turned_piece_lies_a_quarter_anticlockwise():
    piece = PrintPiece(two_tone(24, 10), 50, 50, 10, 24, degrees=90)
    seen = papers.picture(print_file_pdf(sheet(piece, ticks=False)), dpi=200)
    blue = (seen[..., 2] > 200) & (seen[..., 0] < 60)
    rows = np.nonzero(blue)[0] / 200 * 25.4
    # The left quarter of the picture has come to lie at the foot.
    assert (rows.min(), rows.max()) == pytest.approx((68, 74), abs=0.3)


@pytest.mark.parametrize(
    ("degrees", "size", "blue_x", "blue_y"),
    [
        (0, (24, 10), (50, 56), (50, 60)),
        (90, (10, 24), (50, 60), (68, 74)),
        (180, (24, 10), (68, 74), (50, 60)),
        (270, (10, 24), (50, 60), (50, 56)),
    ],
)
def test_each_turn_is_anticlockwise_in_its_rectangle(degrees, size, blue_x, blue_y):
    """The blue quarter, on the left of the picture, goes to the foot, the right and the top."""
    piece = PrintPiece(two_tone(24, 10), 50, 50, *size, degrees=degrees)
    pdf = print_file_pdf(sheet(piece, ticks=False))
    assert images(pdf)[0] == pytest.approx((50, 50, *size), abs=0.1)
    seen = papers.picture(pdf, dpi=200)
    blue = (seen[..., 2] > 200) & (seen[..., 0] < 60)
    rows, columns = (places / 200 * 25.4 for places in np.nonzero(blue))
    assert (columns.min(), columns.max()) == pytest.approx(blue_x, abs=0.3)
    assert (rows.min(), rows.max()) == pytest.approx(blue_y, abs=0.3)


@pytest.mark.parametrize("degrees", [-90, 45, 360])
def test_it_rejects_a_turn_that_is_no_quarter(degrees):
    with pytest.raises(ValueError, match="0, 90, 180 or 270"):
        PrintPiece(b"", 50, 50, 24, 10, degrees=degrees)


def test_the_render_agrees_with_the_layout():
    piece = PrintPiece(papers.art(30, 12), 33.3, 44.4, 30, 12)
    seen = papers.picture(print_file_pdf(sheet(piece, ticks=False)), dpi=600)
    red = (seen[..., 0] > 200) & (seen[..., 1] < 60)
    assert papers.size_of(red, 600) == pytest.approx((30, 12), abs=0.1)
    rows, columns = np.nonzero(red)
    corner = (columns.min() / 600 * 25.4, rows.min() / 600 * 25.4)
    assert corner == pytest.approx((33.3, 44.4), abs=0.1)


@pytest.mark.parametrize(("x_factor", "y_factor"), [(1.005, 0.99), (0.95, 1.05)])
def test_a_printer_that_strays_is_corrected_about_the_middle(x_factor, y_factor):
    piece = PrintPiece(two_tone(24, 10), 93, 143.5, 24, 10)
    pdf = print_file_pdf(sheet(piece, x_factor=x_factor, y_factor=y_factor))
    left, top, wide, high = images(pdf)[0]
    assert (wide, high) == pytest.approx((24 * x_factor, 10 * y_factor), abs=0.02)
    assert (left + wide / 2, top + high / 2) == pytest.approx((105, 148.5), abs=0.02)
    assert papers.read(pdf)[0].get_width() / POINTS_PER_MM == pytest.approx(210, abs=0.01)


def test_the_art_keeps_all_its_pixels_and_is_kept_once_for_all_copies():
    art = papers.art(24, 10, dpi=600)
    pieces = [PrintPiece(art, 6 + 30 * n, 6, 24, 10) for n in range(5)]
    pdf = print_file_pdf(sheet(*pieces))
    page = papers.read(pdf)[0]
    things = list(page.get_objects(filter=[pdfium.FPDF_PAGEOBJ_IMAGE]))
    assert {thing.get_px_size() for thing in things} == {(567, 236)}
    assert pdf.count(b"/Subtype /Image") == 1


def test_colours_go_out_as_plain_rgb():
    clear = Image.new("RGBA", (60, 30), (10, 200, 30, 128))
    file = BytesIO()
    clear.save(file, "PNG")
    pdf = print_file_pdf(sheet(PrintPiece(file.getvalue(), 20, 20, 24, 12)))
    assert b"/DeviceRGB" in pdf
    assert b"ICCBased" not in pdf
    assert b"/SMask" in pdf


def test_the_same_file_comes_again_to_the_byte_and_differs_by_its_date_alone():
    piece = PrintPiece(two_tone(24, 10), 6, 6, 24, 10)
    first, again = print_file_pdf(sheet(piece)), print_file_pdf(sheet(piece))
    assert first == again
    later = print_file_pdf(sheet(piece, said="3 November 2026, print at 100 %"))
    assert papers.text(first).replace("2 Nov", "3 Nov") == papers.text(later)
    assert images(first) == images(later)


def test_the_edge_says_the_code_the_date_and_100_percent():
    said = papers.words(print_file_pdf(sheet()))
    assert "W-07 · 2 November 2026, print at 100 %" in said
    assert "50 mm if printed at 100 %" in said


def test_the_words_of_the_edge_stay_in_the_edge():
    page = papers.read(print_file_pdf(sheet()))[0]
    height = page.get_height()
    written = papers.boxes(page)
    assert len(written) == 2
    for _, foot, _, top in written:
        down_from_top = (height - foot) / POINTS_PER_MM
        up_from_foot = top / POINTS_PER_MM
        assert min(down_from_top, up_from_foot) <= 7.0 - 1.0


def test_the_ruler_is_50_mm_long_when_the_printer_strays_as_measured():
    pdf = print_file_pdf(sheet(x_factor=1.02))
    seen = papers.picture(pdf, dpi=600)
    row = seen.shape[0] - round((7.0 - 1.3 - 1.6) / 25.4 * 600)
    right = round(58 / 25.4 * 600)  # the words come after it
    dark = np.nonzero(seen[row - 3 : row + 4, :right, 0].min(axis=0) < 128)[0]
    assert (dark.max() - dark.min() + 1) / 600 * 25.4 == pytest.approx(50 * 1.02, abs=0.1)


def test_a_narrow_edge_stays_empty():
    assert papers.words(print_file_pdf(sheet(margin=2.0))) == ""


def test_a_wide_edge_has_a_code_that_can_be_read():
    edge = free_for_qr(210, 297, 34, [])
    seen = papers.picture(print_file_pdf(sheet(margin=34.0, qr=edge)), dpi=300)
    (found,) = read_barcodes(seen)
    assert found.text == "http://192.168.178.20:8000/sheets/W-07/"
    for turn in (0, 5, -12, 180):
        poor = papers.scan(print_file_pdf(sheet(margin=34.0, qr=edge)), blur=1.0, turn=turn)
        assert [code.text for code in read_barcodes(poor)] == [found.text]


def test_the_band_alone_leaves_the_middle_white():
    outer, cut = [list(frame(30, 20))], [list(frame(26, 16))]
    cut = [[(x + 2, y + 2) for x, y in cut[0]]]
    strip = band_strip(outer, cut, inside=0.5)
    piece = PrintPiece(papers.art(30, 20), 50, 50, 30, 20, clip=strip)
    seen = papers.picture(print_file_pdf(sheet(piece, ticks=False)), dpi=600)
    red = (seen[..., 0] > 200) & (seen[..., 1] < 128)
    # 30 by 20 less the middle of 25 by 15, in square mm; half a pixel along 180 mm of edge.
    assert red.sum() / (600 / 25.4) ** 2 == pytest.approx(600 - 375, abs=4)
    assert papers.size_of(red, 600) == pytest.approx((30, 20), abs=0.1)


def test_the_cut_line_alone_prints_no_art():
    line = frame(30, 20)
    piece = PrintPiece(papers.art(30, 20), 50, 50, 30, 20, show_art=False, lines=(line,))
    pdf = print_file_pdf(sheet(piece, ticks=False))
    assert images(pdf) == []
    dark = papers.picture(pdf, dpi=600)[1100:1700, 1100:2000].min(axis=2) < 200
    assert papers.size_of(dark, 600) == pytest.approx((30, 20), abs=0.15)


@pytest.mark.parametrize("name", ["A4", "Letter"])
def test_the_cross_has_arms_of_100_mm(name):
    pdf = cross_pdf(paper(name), code="inkjet on white film", said="2 November 2026")
    seen = papers.picture(pdf, dpi=300)
    middle_y, middle_x, reach = seen.shape[0] // 2, seen.shape[1] // 2, round(57 / 25.4 * 300)
    across = seen[middle_y, middle_x - reach : middle_x + reach, 0] < 128
    along = seen[middle_y - reach : middle_y + reach, middle_x, 0] < 128
    for line in (across, along):
        ends = np.nonzero(line)[0]
        assert (ends.max() - ends.min()) / 300 * 25.4 == pytest.approx(100, abs=0.3)


@pytest.mark.parametrize("measured", [90.9, 109.1, 0, -1, float("nan"), float("inf")])
def test_a_cross_that_cannot_be_is_refused_with_the_range(measured):
    with pytest.raises(ValueError, match="91 to 109"):
        factor_from(measured)


@pytest.mark.parametrize("side", [0, -1, float("nan"), float("inf")])
def test_pieces_and_sheets_without_a_size_are_refused(side):
    with pytest.raises(ValueError, match="more than 0"):
        PrintPiece(b"", 0, 0, side, 10)
    with pytest.raises(ValueError, match="more than 0"):
        sheet(height=side)


@pytest.mark.parametrize("turn", [0, 8])
def test_a_code_in_a_free_place_between_ticked_pieces_can_be_read(turn):
    """Four pictures leave a place in the middle that is no wider than the code needs."""
    art = two_tone(60, 60)
    hole = 25 + 2 * (4 + 1.3)
    places = [Place(x, y, 60, 60) for x in (7.0, 67.0 + hole) for y in (7.0, 67.0 + hole)]
    walls = [Place(7.0, 67.0, 60, hole), Place(67.0, 7.0, hole, 60)]
    walls += [Place(67.0 + hole, 67.0, 60, hole), Place(67.0, 67.0 + hole, hole, 60)]
    side = 14 + 120 + hole
    lying = [*places, *walls]
    qr = free_for_qr(side, side, 7, [(place, ()) for place in lying])
    pieces = [PrintPiece(art, place.x, place.y, place.width, place.height) for place in lying]
    pdf = print_file_pdf(sheet(*pieces, width=side, height=side, qr=qr))
    scan = papers.scan(pdf, blur=0.8, turn=turn)
    assert [found.text for found in read_barcodes(scan)] == [sheet().address]


def test_corner_ticks_are_hairlines_outside_the_art_and_none_where_not_wanted():
    """Strokes off each corner; all of them together reach as far on each side of 30 by 20 mm."""
    piece = PrintPiece(papers.art(30, 20), 50, 50, 30, 20, show_art=False)
    ticked, plain = (
        papers.picture(print_file_pdf(sheet(piece, ticks=ticks)), dpi=600)[1000:1800, 1000:2100]
        for ticks in (True, False)
    )
    dark = ticked.min(axis=2) < 200
    assert not (plain.min(axis=2) < 200).any()
    reach = TICK_OFF + TICK
    assert papers.size_of(dark, 600) == pytest.approx((30 + 2 * reach, 20 + 2 * reach), abs=0.15)
    assert reach < 2.0, "short of the neighbour at the least gap of 2 mm"
    left, top = round((50 - 1000 / 600 * 25.4) / 25.4 * 600), round((50 - 42.333) / 25.4 * 600)
    inside = dark[top + 6 : top + 466, left + 6 : left + 702]
    assert not inside.any()
    assert dark.sum() / (600 / 25.4) ** 2 < 8 * TICK * 0.2, "eight strokes, each under 0.2 mm wide"
