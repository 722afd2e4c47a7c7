from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from decaljobs.craft import units


@pytest.mark.parametrize(
    ("text", "ratio"),
    [
        ("1:76.2", "76.2"),
        ("1 : 76,2", "76.2"),
        ("1/72", "72"),
        (" 76.2 ", "76.2"),
        ("4 mm/ft", "76.2"),
        ("4mm", "76.2"),
        ("4 MM to the foot", "76.2"),
        ("4 mm per ft", "76.2"),
        ("h0", "87"),
        ("HO", "87"),
        ("NEM 0", "45"),
        ("nem ii", "22.5"),
        ("1", "1"),
        ("5000", "5000"),
    ],
)
def test_it_reads_every_way_of_writing_a_scale(text, ratio):
    assert units.parse_scale(text) == Decimal(ratio)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("0", "NEM 0"),
        ("1:0", "between 1:1 and 1:5000"),
        ("0 mm", "more than 0"),
        ("-1", "not a scale"),
        ("NaN", "not a scale"),
        ("inf", "not a scale"),
        ("1e308", "not a scale"),
        ("999999999", "between 1:1 and 1:5000"),
        ("0.5", "between 1:1 and 1:5000"),
        ("400 mm/ft", "between 1:1 and 1:5000"),
        ("2:1", "not a scale"),
        ("about right", "not a scale"),
        ("٧٢", "not a scale"),
        ("O", "by country"),
        ("", "Write a scale as"),
        ("7" * 100_000, "too long"),
    ],
)
def test_it_refuses_what_is_no_scale_in_a_sentence(text, said):
    with pytest.raises(units.ScaleError) as refused:
        units.parse_scale(text)
    message = str(refused.value)
    assert said in message
    assert message.endswith(".") and len(message) < 120


@given(st.text(max_size=40))
def test_it_answers_any_text_with_a_ratio_or_a_scale_error(text):
    try:
        ratio = units.parse_scale(text)
    except units.ScaleError:
        return
    assert 1 <= ratio <= 5000


@given(st.decimals(min_value="0.1", max_value="304", places=3))
def test_it_comes_back_from_millimetres_to_the_foot(per_foot):
    ratio = units.parse_scale(f"{per_foot} mm/ft")
    # 28 digits of a Decimal: what is lost is far under any length.
    assert abs(units.MM_PER_FOOT / ratio - per_foot) < Decimal("1e-24")


@given(st.decimals(min_value=1, max_value=5000, places=2))
def test_it_reads_back_the_scale_it_writes(ratio):
    assert units.parse_scale(units.format_scale(ratio)) == ratio


@pytest.mark.parametrize("ratio", [Decimal("NaN"), Decimal("Infinity"), Decimal(0), Decimal(-3)])
def test_it_refuses_a_ratio_that_cannot_be(ratio):
    with pytest.raises(units.ScaleError):
        units.size_on_model(1.0, ratio)


@pytest.mark.parametrize("size", [-1.0, float("nan"), float("inf")])
def test_it_refuses_a_prototype_size_that_cannot_be(size):
    with pytest.raises(ValueError, match="0 mm or more"):
        units.size_on_model(size, Decimal(72))


def test_it_knows_two_papers_only():
    assert units.paper("A4").name == "A4"
    with pytest.raises(ValueError, match="A4 or Letter"):
        units.paper("A5")
