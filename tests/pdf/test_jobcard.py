from time import process_time

import pytest
from zxingcpp import read_barcodes

from decaljobs.craft.cautions import advice
from decaljobs.craft.paper.jobcard import CardRow
from decaljobs.craft.stages import Build, route
from decaljobs.pdf.jobcard import job_card_pdf
from tests.pdf.papers import (
    art,
    boxes,
    card,
    decal,
    picture,
    read,
    reddish,
    scan,
    size_of,
    text,
    words,
)

LONG = "W" * 500
HEBREW = "\u05e9\u05dc\u05d5\u05dd \u05e2\u05d5\u05dc\u05dd"
NASTY = [
    '<img src="/etc/passwd"> &amp; <b>bold</b> <para>',
    LONG,
    " ".join(["long"] * 125),
    HEBREW * 20,
    "\N{GRINNING FACE}\N{TRAM CAR} \u4e2d\u6587 ünïcödé",
    "%s {0} \\ \x00 \u202e turned",
    "",
]


def nasty_card():
    row = CardRow(LONG, not_before=LONG, reason=LONG, materials=(LONG,), caution=LONG, how=(LONG,))
    done = CardRow(LONG, done=LONG, reason=LONG)
    decals = [
        decal(name, number=3, of=17, pieces=(name,) * 30, rows=(row, done, row)) for name in NASTY
    ]
    texts = {"project": LONG, "code": "C" * 300, "scale": LONG, "finish": LONG, "due": LONG}
    return card(*decals, **texts, customer=LONG, notes=LONG * 30, printed_at=LONG, zone=LONG)


def overlapping(rects):
    """Pairs of rectangles that share more than a hair of a point."""
    return [
        (one, other)
        for number, one in enumerate(rects)
        for other in rects[:number]
        if min(one[2], other[2]) - max(one[0], other[0]) > 0.3
        and min(one[3], other[3]) - max(one[1], other[1]) > 0.3
    ]


def overlapping_with(rects, rules):
    """Words that a rule runs through."""
    return [
        (rect, rule)
        for rect in rects
        for rule in rules
        if rect[1] < (rule[1] + rule[3]) / 2 < rect[3] and rule[0] < rect[2] and rect[0] < rule[2]
    ]


@pytest.mark.parametrize("turn", [0, 5, -12, 180])
def test_its_code_is_read_from_a_scan_at_150_dpi_blurred_and_askew(turn):
    seen = scan(job_card_pdf(card(decal())), blur=1.0, turn=turn)
    (found,) = read_barcodes(seen)
    assert found.text == "http://192.168.178.20:8000/projects/TRAM-14/"


def test_it_prints_all_that_the_card_says():
    said = words(job_card_pdf(card(decal("Tail", number=2, of=4))))
    for piece in (
        "Tram 14, Gannet Point line",
        "TRAM-14",
        "1:45",
        "#23472f, satin",
        "Fri 13 November 2026",
        "the Wednesday bench",
        "Rivets along the waist rail.",
        "Tail",
        "2 of 4",
        "24.0 × 10.0 mm, actual size",
        "laminated (base + clear); sealed",
        "base: sheet W-07",
        "base 2, clear none",
        "clear to come",
        "Logged early: the last coat was touch dry",
        "not before Sat 24 Oct 09:40",
        "done Thu 22 Oct 21:40",
        "Have ready: new blade, setting fluid",
        "Caution: No fluid beneath.",
        "Cut through the film only. Soak, slide, place.",
        "printed Thu 22 Oct 2026, 21:55, times in Europe/London",
        "page 1 of 1",
    ):
        assert piece in said


def test_it_leaves_room_for_date_and_time_on_steps_to_come_only():
    said = text(job_card_pdf(card(decal())))
    assert said.count("date") == 2 and said.count("time\n") + said.count("time ") >= 2
    done = text(job_card_pdf(card(decal(rows=(CardRow("Printed", done="Thu 22 Oct 21:40"),)))))
    assert "date" not in done


def test_it_keeps_the_caution_in_the_row_of_its_step():
    rows = tuple(
        CardRow(step, caution=advice(code).caution)
        for step, code in (("First coat", "coat"), ("Base laid", "base_applied"))
    )
    page = read(job_card_pdf(card(decal(rows=rows))))[0].get_textpage()
    tops = {}
    for word in ("First coat", "Base laid", "Spray or airbrush", "The blade is sharp"):
        index, _ = page.search(word).get_next()
        tops[word] = page.get_charbox(index)[3]
    assert abs(tops["First coat"] - tops["Spray or airbrush"]) < 3
    assert abs(tops["Base laid"] - tops["The blade is sharp"]) < 3


def test_it_tells_how_once_and_warns_every_time():
    said = words(job_card_pdf(card(decal("Left"), decal("Right"))))
    assert said.count("Cut through the film only.") == 1
    assert said.count("The blade is sharp") == 2


@pytest.mark.parametrize("name", NASTY[:1] + NASTY[4:5])
def test_it_prints_a_name_as_typed(name):
    printed = name.replace("\N{TRAM CAR}", "□").replace("\u4e2d\u6587", "□□")
    said = words(job_card_pdf(card(decal(name), project=name, customer=name)))
    assert said.count(printed) >= 3


def test_it_prints_right_to_left_names_for_reading():
    assert HEBREW in text(job_card_pdf(card(decal(HEBREW))))


def test_it_opens_no_file_that_a_name_asks_for(tmp_path, monkeypatch):
    file = tmp_path / "secret.png"
    file.write_bytes(art(10, 10))
    markup = f'<img src="{file}" width="10" height="10"/>'
    pdf = job_card_pdf(card(decal(markup, art=None), project=markup, notes=markup))
    images = [each for page in read(pdf) for each in page.get_objects(filter=[3])]
    assert images == []
    assert text(pdf).replace("\n", "").count(str(file)) >= 2


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_it_keeps_every_word_inside_the_page_and_off_the_others(paper):
    pdf = job_card_pdf(nasty_card(), paper=paper)
    for page in read(pdf):
        width, height = page.get_size()
        rects = boxes(page)
        assert rects
        for left, foot, right, top in rects:
            assert left > 42 and right < width - 42 and foot > 25 and top < height - 25
        assert overlapping(rects) == []


@pytest.mark.parametrize("paper", ["A4", "Letter"])
@pytest.mark.parametrize(
    ("width", "height"),
    [(24, 10), (60, 200), (100, 40), (150, 20), (190, 60), (400, 300), (0.5, 0.5)],
)
def test_it_keeps_words_off_the_art(paper, width, height):
    page = read(job_card_pdf(card(decal(width_mm=width, height_mm=height)), paper=paper))
    images = [(p, each.get_bounds()) for p in page for each in p.get_objects(filter=[3])]
    assert len(images) == 1
    on, bounds = images[0]
    assert overlapping([bounds, *boxes(on)]) == []
    wide, high = on.get_size()
    assert bounds[0] > 42 and bounds[2] < wide - 42 and bounds[1] > 60 and bounds[3] < high - 55


def test_it_turns_or_reduces_large_art_and_says_so():
    turned = job_card_pdf(card(decal(width_mm=190, height_mm=60)))
    assert "190.0 × 60.0 mm, actual size, turned a quarter" in words(turned)
    reduced = job_card_pdf(card(decal(width_mm=400, height_mm=300)))
    assert "Not at actual size: shown at 0.5" in words(reduced)
    pages = [picture(reduced, number, 100) for number in range(len(read(reduced)))]
    wide, high = max(size_of(reddish(page), 100) for page in pages if reddish(page).any())
    assert high / wide == pytest.approx(400 / 300, rel=0.01)


def test_it_says_so_where_there_is_no_picture():
    said = words(job_card_pdf(card(decal(art=None), decal(art=b"not a picture"))))
    assert said.count("no picture") == 2


def test_it_says_so_where_there_are_no_decals():
    assert "No decals yet" in words(job_card_pdf(card()))


def test_it_says_whose_rows_go_on_over_the_page():
    rows = tuple(CardRow(f"Step {number}", caution="slowly") for number in range(55))
    pdf = job_card_pdf(card(decal("Tail", rows=rows)))
    _, *later = read(pdf)
    assert len(later) == 3
    for page in later:
        said = page.get_textpage().get_text_bounded()
        assert "continued" in said and "Tail" in said


def all_steps():
    """Every step of a laminated, overcoated decal, still to come, with all that is said of it."""
    for stage in route(Build.LAMINATED, overcoat=True)[1:]:
        told = advice(stage, build=Build.LAMINATED)
        yield CardRow(stage.words, materials=told.materials, caution=told.caution, how=told.how)


def test_it_gives_each_decal_a_page_though_every_step_is_still_to_come():
    pdf = job_card_pdf(card(*(decal(f"Side {n}", rows=tuple(all_steps())) for n in (1, 2, 3))))
    pages = [page.get_textpage().get_text_bounded() for page in read(pdf)]
    assert len(pages) == 3
    for number, page in enumerate(pages, start=1):
        assert f"Side {number}" in page and "overcoated" in page and "continued" not in page


def test_it_says_how_many_pieces_it_leaves_out():
    assert "and 18 more" in words(job_card_pdf(card(decal(pieces=("a sheet",) * 30))))


def test_it_is_the_same_paper_for_the_same_card():
    assert job_card_pdf(card(decal())) == job_card_pdf(card(decal()))


def test_it_rejects_another_paper():
    with pytest.raises(ValueError, match="A4 or Letter"):
        job_card_pdf(card(), paper="A5")


def test_it_makes_a_card_of_twenty_decals_in_under_a_second():
    decals = [decal(f"Place {n}", 24.0 + n, 9.0 + n / 3) for n in range(20)]
    job_card_pdf(card(decal()))  # the font is read once, by the first card
    started = process_time()
    pdf = job_card_pdf(card(*decals))
    assert process_time() - started < 1.0
    assert words(pdf).count("actual size") == 20


def test_it_says_where_long_notes_go_on():
    said = words(job_card_pdf(card(notes="a line\n" * 5000)))
    assert said.count("a line") == 60
    assert "the notes go on, on the project's page" in said


def test_it_prints_a_long_moment_whole():
    when = "Thursday 22 October 2026, 21:40, by the clock"
    rows = (CardRow("Cured", done=when),) * 3 + (CardRow("Clear applied", not_before=when),) * 3
    pdf = job_card_pdf(card(decal(rows=rows)))
    assert words(pdf).count(when) == 6
    for page in read(pdf):
        assert overlapping(boxes(page)) == []
        strokes = [each.get_bounds() for each in page.get_objects(filter=[2])]
        rules = [each for each in strokes if each[2] - each[0] > 400]
        assert len(rules) > 3
        assert overlapping_with(boxes(page), rules) == []


def test_it_prints_how_far_a_drying_decal_is():
    told = "4.3 of 12 reference hours done; cold, damp air, an hour counts 0.44"
    pdf = job_card_pdf(card(decal(drying=told)))
    assert told in words(pdf)
    for page in read(pdf):
        assert overlapping(boxes(page)) == []
