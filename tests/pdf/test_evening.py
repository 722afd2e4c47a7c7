"""The session's sheet, read back from its PDF."""

import pytest
from pypdfium2 import PdfDocument

from decaljobs.craft.cautions import advice
from decaljobs.craft.paper.eveningsheet import EveningSheet, SheetTask
from decaljobs.pdf.evening import evening_sheet_pdf
from tests.pdf.papers import boxes, read
from tests.pdf.papers import words as words_of

SPRAY, BLADE = advice("coat"), advice("base_applied")


def task(clock="19:00", words="Base layer: Bow", told=BLADE, **fields):
    start = {"minutes": 15, "project": "Launch (P-01)", "places": ("Bow: 2 base on W-01",)}
    start |= {"caution": told.caution, "materials": told.materials, "how": told.how}
    return SheetTask(clock, words, **{**start, **fields})


def sheet(*tasks):
    return EveningSheet("Mon 2 Nov 19:00–22:00", "mara", "Mon 2 Nov 18:00", "Europe/London", tasks)


def pages(*tasks, **options):
    document = PdfDocument(evening_sheet_pdf(sheet(*tasks), **options))
    return [" ".join(page.get_textpage().get_text_range().split()) for page in document]


def test_it_shows_every_task_with_its_time_project_and_places():
    (page,) = pages(task(), task("19:15", "Coat 2 of 4 on sheet W-02", SPRAY, places=()))
    for words in (
        "Mon 2 Nov 19:00–22:00",
        "19:00 Base layer: Bow",
        "Launch (P-01)",
        "Bow: 2 base on W-01",
        "19:15 Coat 2 of 4 on sheet W-02",
        "15 min",
        "times in Europe/London",
    ):
        assert words in page


def test_the_caution_stands_with_the_first_task_of_its_kind():
    (page,) = pages(task(), task("19:15"), task("19:30", "Coat 1", SPRAY))
    assert page.count("The blade is sharp") == 1
    assert page.index("The blade is sharp") < page.index("19:15")
    assert page.index("fitting respirator") > page.index("19:30")
    assert page.count("safety data sheet and local rules") == 2


def test_it_says_once_what_to_have_ready():
    (page,) = pages(task(), task("19:30", "Coat 1", SPRAY))
    ready = page.split("Have ready: ")[1].split(" 19:00")[0].split(", ")
    assert ready == list(dict.fromkeys((*BLADE.materials, *SPRAY.materials)))
    assert page.count("Have ready") == 1


def test_sixty_tasks_go_on_over_pages():
    found = pages(
        *(task(f"{8 + n // 4}:{n % 4 * 15:02}", f"Base layer: Bow {n}") for n in range(60))
    )
    assert len(found) > 1
    assert all(f"Bow {n}" in " ".join(found) for n in range(60))
    assert all("mara" in page for page in found)


def test_an_empty_session_says_so():
    assert "Nothing is planned for this session." in pages()[0]


def test_it_keeps_to_the_paper_and_makes_the_same_bytes():
    assert evening_sheet_pdf(sheet(task())) == evening_sheet_pdf(sheet(task()))
    letter = PdfDocument(evening_sheet_pdf(sheet(task()), paper="Letter"))[0].get_size()
    assert letter == pytest.approx((612, 792))
    with pytest.raises(ValueError, match="A4"):
        evening_sheet_pdf(sheet(), paper="A9")


def test_very_long_words_fit_all_the_same():
    long = "Wheelhouse " * 200
    pdf = evening_sheet_pdf(sheet(task(words=long, project=long, places=(long,) * 3)))
    for page in read(pdf):
        width, height = page.get_size()
        for left, foot, right, top in boxes(page):
            assert left > 42 and right < width - 42 and foot > 25 and top < height - 25
    assert words_of(pdf).count("Wheelhouse…") == 5, "the task, its project and three places"


@pytest.mark.parametrize("number", range(10, 40))
def test_no_task_is_torn_and_no_last_line_stands_alone(number):
    tasks = [task(f"{8 + n // 4}:{n % 4 * 15:02}", f"Base layer: Bow {n}") for n in range(number)]
    cleaning = SheetTask("21:45", "Airbrush cleaning", 15)
    found = pages(*tasks, cleaning)
    for n in range(number):
        page = next(page for page in found if f"Bow {n} " in page)
        after = page[page.index(f"Bow {n} ") :]
        assert "Launch (P-01)" in after
        assert "Bow: 2 base on W-01" in after
    assert "Airbrush cleaning" in found[-1]
    assert f"Bow {number - 1} " in found[-1]


def test_it_counts_tasks_and_not_the_airbrush():
    (page,) = pages(task(), SheetTask("19:30", "Airbrush set-up", 15))
    assert "1 task, 30 min" in page
