"""The slip of a sheet read back: its code scans (ISO/IEC 18004, read by zxing-cpp), its words."""

import pytest
from zxingcpp import read_barcodes

from decaljobs.craft.paper.sheetslip import SheetSlip
from decaljobs.pdf.sheetslip import sheet_slip_pdf
from tests.pdf import papers

ADDRESS = "http://192.168.178.20:8000/sheets/W-07/"


def slip(**changes) -> SheetSlip:
    given = {
        "code": "W-07",
        "address": ADDRESS,
        "written": "written Mon 2 Nov 2026",
        "facts": ("White film for inkjet, 210 × 297 mm", "Sealed and dry"),
        "pieces": (("Left side 1 of 2, Harbour launch", 3), ("Tail, Harbour launch", 0)),
    }
    return SheetSlip(**{**given, **changes})


@pytest.mark.parametrize("paper", ["A4", "Letter"])
@pytest.mark.parametrize("turn", [0, 8])
def test_its_code_is_read_at_150_dpi_blurred_and_turned(paper, turn):
    scan = papers.scan(sheet_slip_pdf(slip(), paper=paper), blur=0.8, turn=turn)
    assert [found.text for found in read_barcodes(scan)] == [ADDRESS]


def test_it_says_what_the_sheet_is_and_what_lies_on_it():
    said = papers.words(sheet_slip_pdf(slip()))
    for words in ("Sheet W-07", "Sealed and dry", "Left side 1 of 2, Harbour launch 3 good"):
        assert words in said
    assert "Tail, Harbour launch 0 good" in said


def test_many_markings_run_over_several_pages_and_long_words_are_cut():
    many = tuple((f"{'Very long words ' * 30}{number}", number) for number in range(60))
    pdf = sheet_slip_pdf(slip(pieces=many, facts=("x" * 500,) * 9))
    assert len(papers.read(pdf)) > 1
    assert "59 good" in papers.words(pdf)


def test_an_empty_sheet_has_a_slip_too_and_the_same_slip_the_same_bytes():
    assert sheet_slip_pdf(slip(pieces=())) == sheet_slip_pdf(slip(pieces=()))
    assert "good" not in papers.words(sheet_slip_pdf(slip(pieces=())))


def test_it_refuses_another_paper():
    with pytest.raises(ValueError, match="A4 or Letter"):
        sheet_slip_pdf(slip(), paper="A5")
