"""Placing strips read back from the PDF: at true size, in the right places, joined rightly."""

from __future__ import annotations

import ctypes
from math import hypot

import numpy as np
import pypdfium2
import pypdfium2.raw as pdfium
import pytest

from decaljobs.craft.paper.jobcard import CardPanel
from decaljobs.craft.paper.paperstrip import divide
from decaljobs.craft.placing import Panel, Placed
from decaljobs.pdf.jobcard import job_card_pdf
from decaljobs.pdf.placing_strip import MARK
from tests.pdf.papers import POINTS_PER_MM, card, picture, read, text, words

BOARD = Placed("Name board", 70, 28, 46, 13.8)
STAR = Placed("Star", 126, 14, 8, 9.6, turn=15)
SIDE = CardPanel("Left side", Panel(140, 42), (BOARD, STAR))
#: mm that a strip may be off, which is what a knife along its outline is off at best.
TRUE = 0.1


def strip(panel: CardPanel, paper: str = "A4") -> bytes:
    return job_card_pdf(card(panels=(panel,)), paper=paper)


def points(path: pypdfium2.PdfObject) -> list[tuple[float, float]]:
    """The corners of a path on its page, mm from the lower left corner of the paper."""
    found = []
    x, y = ctypes.c_float(), ctypes.c_float()
    for number in range(pdfium.FPDFPath_CountSegments(path.raw)):
        segment = pdfium.FPDFPath_GetPathSegment(path.raw, number)
        pdfium.FPDFPathSegment_GetPoint(segment, x, y)
        corner = path.get_matrix().on_point(x.value, y.value)
        found.append((corner[0] / POINTS_PER_MM, corner[1] / POINTS_PER_MM))
    return found


def paths(page: pypdfium2.PdfPage) -> list[list[tuple[float, float]]]:
    kinds = [pdfium.FPDF_PAGEOBJ_PATH]
    return [points(path) for path in page.get_objects(filter=kinds)]


def lines(page: pypdfium2.PdfPage) -> list[list[tuple[float, float]]]:
    return [path for path in paths(page) if len(path) == 2]


def length(line) -> float:
    (x1, y1), (x2, y2) = line
    return hypot(x2 - x1, y2 - y1)


def strip_page(pdf: bytes) -> pypdfium2.PdfPage:
    return next(
        page for page in read(pdf) if "Placing strip" in page.get_textpage().get_text_bounded()
    )


def lower_left(page, width: float, height: float) -> tuple[float, float]:
    """The corner of the outline: where a line of its width and one of its height begin."""
    level = [line for line in lines(page) if length(line) == pytest.approx(width, abs=TRUE)]
    return min(x for line in level for x, _ in line), min(y for line in level for _, y in line)


def turned_decals(page) -> list[list[tuple[float, float]]]:
    """Outlines of decals: four corners and the first again."""
    return [path for path in paths(page) if len(path) >= 5 and path[0] == path[4]]


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_the_outline_is_printed_at_true_size(paper):
    page = strip_page(strip(SIDE, paper))
    lengths = [length(line) for line in lines(page)]
    assert sum(abs(one - 140) < TRUE for one in lengths) >= 2
    assert sum(abs(one - 42) < TRUE for one in lengths) >= 2


def test_the_outline_measures_on_the_print_what_the_panel_measures():
    dots = picture(strip(CardPanel("Lid", Panel(120, 30))), dpi=600)
    dark = dots.max(axis=2) < 140
    tall = np.flatnonzero(longest_runs(dark.T) > 29 / 25.4 * 600)
    assert (tall.max() - tall.min()) / 600 * 25.4 == pytest.approx(120, abs=0.1 + 0.25)
    # From middle to middle of the two lines of 0.25 mm.
    left, right = tall[tall < tall.mean()].mean(), tall[tall > tall.mean()].mean()
    assert (right - left) / 600 * 25.4 == pytest.approx(120, abs=TRUE)


def longest_runs(rows: np.ndarray) -> np.ndarray:
    """The longest unbroken stretch of ink in each row, dots."""
    best, run = np.zeros(len(rows), int), np.zeros(len(rows), int)
    for column in rows.T:
        run = (run + 1) * column
        best = np.maximum(best, run)
    return best


def test_every_decal_lies_where_it_was_put():
    page = strip_page(strip(SIDE))
    x, y = lower_left(page, 140, 42)
    found = turned_decals(page)
    for placed in (BOARD, STAR):
        wanted = [(x + dx, y + dy) for dx, dy in placed.corners]
        assert any(np.allclose(path[:4], wanted, atol=TRUE) for path in found if len(path) >= 5), (
            placed
        )


def test_a_panel_wider_than_the_page_is_turned_and_not_mirrored():
    panel = CardPanel("Roof", Panel(196, 60), (Placed("board", 30, 45, 22, 9),))
    page = strip_page(strip(panel))
    left = min(x for line in lines(page) if abs(length(line) - 196) < TRUE for x, _ in line)
    top = max(y for line in lines(page) if abs(length(line) - 196) < TRUE for _, y in line)
    # A quarter clockwise: right is down, up is right.
    wanted = [(left + dy, top - dx) for dx, dy in panel.decals[0].corners]
    assert any(np.allclose(path[:4], wanted, atol=TRUE) for path in turned_decals(page))
    assert "Turned a quarter" in words(strip(panel))


def back_on_panel(page, part) -> list[list[tuple[float, float]]]:
    """The lines and outlines of a turned part, taken back to the panel's own millimetres."""
    edges = [line for line in lines(page) if abs(length(line) - 190) < TRUE]
    left, top = min(x for line in edges for x, _ in line), max(y for line in edges for _, y in line)
    return [[(part.left + top - y, part.below + x - left) for x, y in path] for path in paths(page)]


def test_a_panel_larger_than_the_page_is_divided_with_marks_that_meet():
    panel = CardPanel("Hull", Panel(380, 248), (Placed("Bow", 190, 120, 60, 20, 30),))
    pdf = strip(panel)
    parts = divide(380, 248, 170, 210).parts
    pages = list(read(pdf))[1:]
    assert len(pages) == len(parts) == 4
    marks: list[tuple[float, ...]] = []
    for page, part in zip(pages, parts, strict=True):
        drawn = back_on_panel(page, part)
        # The decal lies at the same place of the panel on each part that it reaches.
        outlines = [path[:4] for path in drawn if len(path) >= 5]
        assert any(np.allclose(path, panel.decals[0].corners, atol=TRUE) for path in outlines)
        for path in drawn:
            if len(path) == 2 and length(path) == pytest.approx(2 * MARK, abs=TRUE):
                marks.append(tuple(round(sum(place) / 2, 1) for place in zip(*path, strict=True)))
    # Two marks on each of four joints, each printed on both parts that meet there.
    places = {mark: marks.count(mark) for mark in marks}
    assert places == dict.fromkeys(
        [(47.5, 124.0), (142.5, 124.0), (237.5, 124.0), (332.5, 124.0)]
        + [(190.0, 31.0), (190.0, 93.0), (190.0, 155.0), (190.0, 217.0)],
        2,
    )
    assert "Part 1 of 2 from the left, 2 of 2 from below" in text(pdf)
    assert "lay them edge to edge" in words(pdf)


def test_it_tells_distances_and_warns():
    over = CardPanel(
        "Lid", Panel(60, 20), (Placed("board", 9, 10, 20, 6), Placed("star", 15, 10, 4, 4))
    )
    said = words(strip(over))
    assert "Placing strip: Lid, 60.0 × 20.0 mm" in said
    assert "centre 15.0 from the left, 10.0 from below; edges 13.0 from the left" in said
    assert "board hangs over the left edge by 1.0 mm." in said
    assert "board and star overlap by 5.0 mm." in said


def test_the_distances_stand_on_the_strip_too():
    said = text(strip(SIDE)).splitlines()
    assert "47.0" in said  # from the left edge to the board
    assert "7.1" in said  # from the board to the upper edge


def test_a_card_without_panels_says_nothing_of_strips():
    assert "Placing strip" not in words(job_card_pdf(card()))


def test_the_same_panels_make_the_same_bytes():
    assert strip(SIDE) == strip(SIDE)


@pytest.mark.parametrize(
    ("name", "printed"), [("W" * 500, "WWW…"), ("<b>&", "<b>&"), ("\x00\u202e", "□")]
)
def test_any_name_is_printed_on_the_strip_and_beside_every_distance(name, printed):
    nasty = CardPanel(name, Panel(100, 40), tuple(Placed(name, 50, 20, 8, 8) for _ in range(40)))
    said = words(strip(nasty)).split("Placing strip: ")[1]
    assert printed in said.split(" At true size.")[0]
    assert said.count(f"{printed} centre 50.0 from the left") == 40
