import pytest
from hypothesis import given
from hypothesis import strategies as st

from decaljobs.pdf.letters import ELLIPSIS, UNPRINTABLE, lines, one_line, printable, width_mm
from decaljobs.pdf.pen import HEADING, SMALL


@pytest.mark.parametrize(
    ("typed", "printed"),
    [
        ("plain", "plain"),
        ("ünïcödé Ж Ω", "ünïcödé Ж Ω"),
        ("e\u0301", "é"),
        ("two\nlines\tand  more", "two lines and more"),
        ("\u4e2d\u6587", UNPRINTABLE * 2),
        ("nul\x00", f"nul{UNPRINTABLE}"),
        ("turned \u202eround", "turned round"),
        ("wide\u200bless", "wideless"),
        ("\N{TRAM CAR}\ufe0f", UNPRINTABLE),
        ("<b>&amp;", "<b>&amp;"),
    ],
)
def test_it_shows_what_the_font_has_and_a_box_for_the_rest(typed, printed):
    assert printable(typed) == printed


@given(st.text(max_size=200), st.sampled_from([HEADING, SMALL]), st.floats(8, 180))
def test_it_breaks_any_text_into_lines_that_fit(typed, style, room):
    for line in lines(typed, style, room):
        assert width_mm(line, style) <= room + 1e-6


@given(st.text(st.characters(codec="ascii", categories=["L", "N", "P"]), max_size=300))
def test_it_loses_no_letter_in_breaking(typed):
    assert "".join(lines(typed, SMALL, 20.0, most=1000)) == printable(typed)


def test_it_breaks_between_words_where_it_can():
    assert lines("ready by Friday evening", SMALL, 22.0) == ("ready by Friday", "evening")


def test_it_shows_where_text_was_cut():
    cut = one_line("W" * 500, SMALL, 30.0)
    assert cut.endswith(ELLIPSIS) and cut.startswith("WWW")
    assert width_mm(cut, SMALL) <= 30.0


def test_it_has_no_line_for_no_text():
    assert lines("  ", SMALL, 30.0) == ()
    assert one_line("", SMALL, 30.0) == ""


def test_it_sets_right_to_left_words_in_the_order_they_are_seen():
    # Unicode Bidirectional Algorithm (UAX #9): letters run leftwards, figures rightwards.
    assert lines("\u05e9\u05dc\u05d5\u05dd 14", SMALL, 60.0) == ("14 \u05dd\u05d5\u05dc\u05e9",)
    mixed = lines("side \u05d0\u05d1 2", SMALL, 60.0)
    assert mixed == ("side 2 \u05d1\u05d0",)


def test_it_joins_arabic_letters():
    # Unicode, Arabic Presentation Forms-B: beh initial, alef final; seen from the right.
    assert lines("\u0628\u0627", SMALL, 60.0) == ("\ufe8e\ufe91",)


def test_it_has_figures_of_one_width():
    assert len({round(width_mm(figure, SMALL), 6) for figure in "0123456789"}) == 1


def test_it_shows_the_cut_in_an_endless_text():
    cut = lines("i" * 10_000_000, SMALL, 180.0, most=3)
    assert len(cut) == 3 and cut[-1].endswith(ELLIPSIS)
