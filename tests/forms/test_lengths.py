"""A length is typed as it is shown, kept in mm, and does not drift however often it is saved."""

from decimal import Decimal

import pytest
from django import forms
from hypothesis import given
from hypothesis import strategies as st

from decaljobs.craft.ways import Ways
from decaljobs.forms.lengths import LengthField
from decaljobs.shown import written_for

INCHES = Ways(unit="in")


def make_form(decimals=2, **kwargs):
    class LengthForm(forms.Form):
        width = LengthField(label="Width", least=0.5, most=2000, decimals=decimals, **kwargs)

    return LengthForm


def typed(text, reader=INCHES, **kwargs):
    with written_for(reader):
        form = make_form(**kwargs)({"width": text})
        return form.cleaned_data["width"] if form.is_valid() else form.errors["width"][0]


@pytest.mark.parametrize(
    ("reader", "text", "mm"),
    [(Ways(), "24.05", "24.05"), (INCHES, "1", "25.40"), (INCHES, "8.5", "215.90")],
)
def test_what_is_typed_is_read_in_the_reader_s_unit(reader, text, mm):
    assert typed(text, reader) == Decimal(mm)


@given(hundredths=st.integers(50, 200_000))
def test_a_length_saved_again_and_again_as_shown_stays_what_it_was(hundredths):
    mm = Decimal(hundredths) / 100
    for _ in range(3):
        with written_for(INCHES):
            shown = make_form()(initial={"width": mm})["width"].value()
        again = typed(shown)
        assert again == mm
        mm = again


def test_the_unit_stands_behind_the_name():
    with written_for(INCHES):
        assert make_form()()["width"].label == "Width, in"
    assert make_form()()["width"].label == "Width, mm"


def test_what_was_typed_stays_as_it_was_typed():
    with written_for(INCHES):
        assert make_form()({"width": "1/2"})["width"].value() == "1/2"


@pytest.mark.parametrize("reader", [Ways(), INCHES])
@pytest.mark.parametrize(
    "text", ["NaN", "Infinity", "1e308", "-1", "0", "9" * 400, "x", "a\x00b", "1e-400"]
)
def test_what_is_no_length_is_refused(reader, text):
    assert isinstance(typed(text, reader), str)


def test_the_range_is_told_in_the_reader_s_unit():
    assert typed("100").replace("\u00a0", " ") == "It must be 0.0197 to 78.7402 in."
    assert typed("0.1", Ways()).replace("\u00a0", " ") == "It must be 0.5 to 2000 mm."


def test_more_decimals_than_are_kept_are_told_in_mm_and_rounded_in_inches():
    assert typed("24.123", Ways()) == "Write it to 2 decimals of a millimetre at most."
    assert typed("0.333333") == Decimal("8.47")


def test_a_float_is_given_where_one_is_wanted():
    found = typed("1.25", Ways(), as_float=True, decimals=3)
    assert (type(found), found) == (float, 1.25)


def test_a_length_sent_as_it_was_shown_has_not_changed():
    with written_for(INCHES):
        form = make_form()({"width": "0.9449"}, initial={"width": Decimal("24.00")})
        assert not form.has_changed()
