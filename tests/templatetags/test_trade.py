"""Figures that pages tell, as the code keeps them."""

import pytest
from django.template import Context, Template

from decaljobs.craft import climate, tolerance
from decaljobs.templatetags import trade


def said(tag: str) -> str:
    return Template("{% load trade %}{% " + tag + " %}").render(Context()).replace("\u00a0", " ")


@pytest.mark.parametrize(
    ("tag", "figure"),
    [
        # common practice, no source: product labels, 300 dpi, a match by hand under 2
        ("reference_air", "20 °C and 50 % RH"),
        ("sharp_dpi", "300 dpi"),
        ("good_match", "2"),
        ("wanted_chance", "95 %"),
        # own: what a squeeze may take, the side of a code that every telephone read
        ("longest_squeeze", "40 s"),
        ("code_side", "25 mm"),
    ],
)
def test_it_says_a_figure_with_its_unit(tag, figure):
    assert said(tag) == figure


def test_it_follows_the_code(monkeypatch):
    monkeypatch.setattr(trade, "REFERENCE_TEMPERATURE", climate.REFERENCE_TEMPERATURE + 3)
    monkeypatch.setattr(trade, "WANTED_CHANCE", tolerance.WANTED_CHANCE - 0.05)
    assert said("reference_air") == "23 °C and 50 % RH"
    assert said("wanted_chance") == "90 %"
