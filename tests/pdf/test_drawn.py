"""A chart's words on paper: as they are seen, whichever way they are read."""

import pytest

from decaljobs.craft.drawings.drawn import Drawn, Words
from decaljobs.pdf.drawn import Looks, draw_drawn
from decaljobs.pdf.pen import SMALL


class Heard:
    """A pen that keeps what it is told to write, and where."""

    def __init__(self):
        self.said = []

    def text(self, x, top, line, style, *, align):
        self.said.append((x, line, align))


# The order in which letters are seen: Unicode Annex 9.
@pytest.mark.parametrize(
    ("name", "seen"),
    [
        ("Bow\n№ 4", "Bow № 4"),
        ("\N{CJK UNIFIED IDEOGRAPH-4E2D}", "□"),
        ("\u05d0\u05d1\u05d2", "\u05d2\u05d1\u05d0"),
        ("\u05d0\u05d1 14", "14 \u05d1\u05d0"),
        ("", ""),
    ],
)
def test_words_of_a_chart_stand_as_they_are_seen(name, seen):
    heard = Heard()
    drawn = Drawn(100, 40, (), (), (Words(10, 20, name, "name", "end"),), "A chart")
    draw_drawn(heard, drawn, Looks({}, {}, {"name": SMALL}), x=5, y=0, scale=0.5)
    assert heard.said == [(10, seen, "right")]
