"""The job card against published sizes, and its code read back by another library."""

import numpy as np
import pytest
from zxingcpp import read_barcodes

from decaljobs.pdf.jobcard import job_card_pdf
from tests.pdf.papers import POINTS_PER_MM, art, card, decal, picture, read, reddish, size_of


def longest_run(row):
    """The length in dots of the longest unbroken stretch of ink."""
    edges = np.flatnonzero(np.diff(np.concatenate(([0], row.astype(int), [0]))))
    return max(edges[1::2] - edges[::2], default=0)


# ISO 216: A4 is 210 by 297 mm. ASME Y14.1, size A: 8.5 by 11 in, 612 by 792 points of
# 1/72 in (ISO 32000-1). A thousandth of a point is what the file's decimals leave.
@pytest.mark.parametrize(
    ("paper", "width", "height"),
    [("A4", 210 * POINTS_PER_MM, 297 * POINTS_PER_MM), ("Letter", 612, 792)],
)
def test_it_prints_on_the_paper_of_the_standard(paper, width, height):
    pdf = job_card_pdf(card(decal()), paper=paper)
    for page in read(pdf):
        assert page.get_size() == pytest.approx((width, height), abs=1e-3)


@pytest.mark.parametrize("paper", ["A4", "Letter"])
@pytest.mark.parametrize(("width", "height"), [(24.0, 10.0), (3.2, 1.7), (100.0, 41.5)])
def test_it_prints_art_at_actual_size(paper, width, height):
    pdf = job_card_pdf(card(decal(width_mm=width, height_mm=height)), paper=paper)
    measured = size_of(reddish(picture(pdf)))
    # The card's own promise is 0.1 mm; a dot at 600 to the inch is 0.042 mm.
    assert measured == pytest.approx((width, height), abs=0.1)


@pytest.mark.slow
def test_it_prints_turned_art_at_actual_size():
    pdf = job_card_pdf(card(decal(width_mm=190.0, height_mm=60.0)))
    pages = [picture(pdf, number) for number in range(len(read(pdf)))]
    (shown,) = [page for page in pages if reddish(page).any()]
    assert size_of(reddish(shown)) == pytest.approx((60.0, 190.0), abs=0.1)


def test_it_prints_a_coarse_picture_at_actual_size():
    coarse = art(24, 10, dpi=30)
    pdf = job_card_pdf(card(decal(width_mm=24.0, height_mm=10.0, art=coarse)))
    assert size_of(reddish(picture(pdf))) == pytest.approx((24.0, 10.0), abs=0.1)


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_it_prints_a_ruler_of_50_mm(paper):
    page = picture(job_card_pdf(card(decal()), paper=paper))
    foot = page[-round(20 / 25.4 * 600) :].max(axis=2) < 128
    lengths = [longest_run(row) for row in foot]
    assert max(lengths) / 600 * 25.4 == pytest.approx(50.0, abs=0.1)


@pytest.mark.parametrize("paper", ["A4", "Letter"])
@pytest.mark.parametrize(
    "address",
    ["http://localhost:8000/p/T-14", "http://workshop.local:8000/?a=1&b=2#x", "x" * 180],
)
def test_its_code_is_read_back_from_a_coarse_print(paper, address):
    # QR Code: ISO/IEC 18004, read with zxing-cpp from 150 dots to the inch.
    page = picture(job_card_pdf(card(decal(), address=address), paper=paper), dpi=150)
    (found,) = read_barcodes(page)
    assert found.text == address
    assert found.ec_level == "M"
    corners = found.position
    wide = (corners.top_right.x - corners.top_left.x) / 150 * 25.4
    assert wide >= 25.0
