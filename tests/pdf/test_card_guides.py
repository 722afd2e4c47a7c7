"""The cut guides on the job card: at 1:1 and 3:1, or why not."""

import pytest
from pypdfium2 import PdfDocument

from decaljobs.craft.paper.jobcard import CardGuides
from decaljobs.craft.units import paper
from decaljobs.pdf.card_guides import guide_blocks
from decaljobs.pdf.page import Running, body_width, paper_pdf


def words(width_mm: float, height_mm: float) -> str:
    box = ((0.0, 0.0), (width_mm, 0.0), (width_mm, height_mm), (0.0, 0.0))
    guides = CardGuides(
        left=0, top=0, width_mm=width_mm, height_mm=height_mm, base=(box,), clear=(), relief=()
    )
    sheet = paper("A4")
    blocks = list(guide_blocks(guides, body_width(sheet)))
    pdf = PdfDocument(paper_pdf(blocks, sheet, Running("Card", "", "", "")))
    return pdf[0].get_textpage().get_text_range()


@pytest.mark.parametrize(
    ("size", "shown", "told"),
    [
        ((20, 20), {"1:1", "3:1"}, ""),
        ((55, 30), {"1:1", "3:1"}, ""),
        ((100, 50), {"1:1"}, "At 3:1 these guides are larger than the page"),
        ((20, 60), {"1:1"}, "At 3:1 these guides are larger than the page"),
        ((250, 50), set(), "larger than the page at 1:1"),
    ],
)
def test_it_draws_the_guides_where_they_fit_and_says_where_not(size, shown, told):
    found = words(*size)
    assert {one for one in ("1:1", "3:1") if f"{one}\r" in f"{found}\r" or f"{one}\n" in found} == (
        shown
    )
    assert told in found
    assert bool(told) == ("larger than the page" in found)
