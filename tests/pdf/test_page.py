import pytest

from decaljobs.craft.units import paper
from decaljobs.pdf.flow import Block
from decaljobs.pdf.page import Running, paper_pdf
from tests.pdf.papers import read, text

RUNNING = Running("Job card", "Tram 14", "T-14", "printed today")


def pages(count):
    return [Block(200.0, lambda pen, top: None) for _ in range(count)]


def test_it_numbers_pages_and_puts_the_code_on_each():
    pdf = paper_pdf(pages(3), paper("A4"), RUNNING)
    for number, page in enumerate(read(pdf), start=1):
        said = page.get_textpage().get_text_bounded()
        assert f"page {number} of 3" in said
        assert "Job card" in said and "T-14" in said and "printed today" in said
        assert "measures 50 mm if printed at 100 %" in said
        assert ("Tram 14" in said) == (number > 1)


@pytest.mark.parametrize("name", ["A4", "Letter"])
def test_it_cuts_a_long_title_code_and_foot(name):
    pdf = paper_pdf(pages(2), paper(name), Running("Job card", "W" * 500, "C" * 500, "F" * 500))
    width, height = read(pdf)[1].get_size()
    reader = read(pdf)[1].get_textpage()
    assert reader.count_rects() >= 4
    for number in range(reader.count_rects()):
        left, foot, right, top = reader.get_rect(number)
        assert left > 40 and right < width - 40 and foot > 20 and top < height - 20


def test_it_carries_no_date_of_its_own():
    first = paper_pdf(pages(1), paper("A4"), RUNNING)
    assert paper_pdf(pages(1), paper("A4"), RUNNING) == first
    assert read(first).get_metadata_value("CreationDate").startswith("D:20000101")


def test_it_names_itself_in_the_readers_window():
    pdf = paper_pdf(pages(1), paper("A4"), RUNNING)
    assert read(pdf).get_metadata_value("Title") == "Job card T-14"
    assert "T-14" in text(pdf)
