import pytest

from decaljobs.craft.drawings.section import section
from decaljobs.pdf.section import draw_section


class Page:
    """A pen that notes what it is asked to draw."""

    def __init__(self):
        self.rects, self.strokes, self.said = [], [], []

    def rect(self, x, top, width, height, *, fill=None, stroke=None):
        self.rects.append((x, top, width, height, fill, stroke.dashes if stroke else None))

    def line(self, x1, y1, x2, y2, stroke):
        self.strokes.append((x1, y1, x2, y2, stroke.colour))

    def text(self, x, top, line, style):
        self.said.append(line)


def drawn(*inputs, **more):
    page = Page()
    draw_section(page, section(*inputs, width=170, height=66, **more), "#23472f", 10, 20, 0.5)
    return page


def test_it_draws_the_same_bars_as_the_page():
    drawing = section("laminated", "cured", width=170, height=66)
    page = drawn("laminated", "cured")
    places = [rect[:4] for rect in page.rects]
    assert places == [
        (10 + bar.x / 2, 20 + bar.y / 2, bar.width / 2, bar.height / 2) for bar in drawing.shapes
    ]


def test_it_paints_the_body_and_dashes_what_is_to_come():
    body, base, clear = drawn("laminated", "cured").rects
    assert body[4] == "#23472f"
    assert base[4] == "#ffffff" and base[5] == ()
    assert clear[4] is None and clear[5]


def test_it_hatches_wet_film_and_crosses_out_a_missing_layer():
    wet = drawn("laminated", "base_applied", progress=0.5)
    gone = drawn("laminated", "cured", missing="clear")
    assert len(wet.strokes) > 3 and len({stroke[4] for stroke in wet.strokes}) == 1
    assert len(gone.strokes) == 2


@pytest.mark.parametrize("labelled", [False, True])
def test_it_writes_labels_only_where_asked(labelled):
    page = drawn("laminated", "cured", labelled=labelled)
    assert page.said == (["body", "base", "clear to come"] if labelled else [])
