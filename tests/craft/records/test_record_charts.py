"""The charts of the records: what they draw is what their tables say."""

from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from decaljobs.craft.drawings.drawn import drawn_svg
from decaljobs.craft.records.realwaits import WaitLine, summed_up, waits_lain
from decaljobs.craft.records.record_charts import (
    Counted,
    Look,
    Pair,
    bar_chart,
    pair_chart,
    rate_chart,
    trend_chart,
)
from decaljobs.craft.records.success import rate_of
from decaljobs.craft.waits import WaitKind

EVENING = datetime(2026, 11, 2, 19, tzinfo=UTC)
HOUR = timedelta(hours=1)
RATES = st.lists(
    st.tuples(st.text(max_size=60), st.builds(rate_of, st.integers(0, 99), st.integers(0, 99))),
    max_size=9,
)


@given(RATES)
def test_rate_charts_stay_within_their_drawing_and_have_a_bar_for_each_that_counts(rows):
    shown = [rate for _, rate in rows if not rate.is_too_few]
    for drawn in (rate_chart("Any", rows), trend_chart("Any", rows)):
        bars = [area for area in drawn.areas if area.look == Look.RANGE]
        marks = [area for area in drawn.areas if area.look == Look.SHARE]
        assert len(bars) == len(marks) == len(shown)
        for area in drawn.areas:
            assert area.x >= -4 and area.x + area.width <= drawn.width + 4
            assert area.y >= -4 and area.y + area.height <= drawn.height


def test_a_share_stands_where_its_figure_says():
    drawn = rate_chart("Any", [("base", rate_of(15, 5))])
    mark = next(area for area in drawn.areas if area.look == Look.SHARE)
    assert mark.x + mark.width / 2 == 2 + 0.75 * 316
    assert [words.text for words in drawn.words if words.y < 26] == ["Base", "75 %"]


def test_each_quarter_has_its_name_below_its_share():
    quarters = [("Q1", rate_of(18, 2)), ("Q2", rate_of(9, 9)), ("Q3", rate_of(5, 5))]
    drawn = trend_chart("Any", quarters)
    marks = [area.x + area.width / 2 for area in drawn.areas if area.look == Look.SHARE]
    names = {words.text: words.x for words in drawn.words if words.text.startswith("Q")}
    assert list(names) == ["Q1", "Q2", "Q3"]
    assert list(names.values()) == pytest.approx(marks)
    assert marks == sorted(marks)


def test_of_many_quarters_so_many_are_named_that_none_touches_the_next():
    rows = [(f"2020 quarter {number}", rate_of(18, 2)) for number in range(40)]
    drawn = trend_chart("Any", rows)
    bars = [area for area in drawn.areas if area.look == Look.RANGE]
    assert all(one.x + one.width <= other.x for one, other in zip(bars, bars[1:], strict=False))
    named = [words for words in drawn.words if words.text.startswith("2020")]
    assert named[-1].text == "2020 quarter 39"  # the latest is always told
    wide = 9.0 * len(named[-1].text)
    places = [words.x for words in named[:-1]]
    assert places
    assert all(b - a >= wide for a, b in zip(places, places[1:], strict=False))


def test_the_longest_bar_is_the_most():
    drawn = bar_chart("Any", [Counted("torn", 4, "4"), Counted("bled", 1, "1")])
    assert drawn.areas[0].width == 4 * drawn.areas[1].width == 316


def test_what_is_not_known_has_no_bar():
    drawn = pair_chart("Any", [Pair("base", 12, None, "12 h"), Pair("clear", None, None, "")])
    assert [area.look for area in drawn.areas] == [Look.ASKED]


@given(st.lists(st.text(min_size=1, max_size=90).map(lambda name: f"({name})"), max_size=5))
def test_names_are_whole_and_beside_no_figure(names):
    drawn = bar_chart("Any", [Counted(name, 1, "12.5 h") for name in names])
    figures = sorted(words.y for words in drawn.words if words.look == Look.LABEL)
    lines = [words for words in drawn.words if words.look == Look.NAME]
    assert all(len(line.text) + len("12.5 h") <= 33 for line in lines)
    assert "".join("".join(names).split()) == "".join("".join(w.text for w in lines).split())
    assert len(figures) == len(drawn.areas) == len(names)
    for bar, figure in zip(sorted(area.y for area in drawn.areas), figures, strict=True):
        # A letter of 16 units reaches about 4 below its line.
        last = max(line.y for line in lines if line.y < bar)
        assert figure <= last and last + 4 < bar


def test_words_are_escaped():
    svg = drawn_svg(bar_chart("<b>", [Counted("<script>", 1, "&")]), "record")
    assert "<script>" not in svg and "&lt;script&gt;" in svg and "&lt;b&gt;" in svg


def test_a_wait_that_hands_ended_is_scaled_by_what_counted():
    """By hand: 6 of 12 reference hours had counted after 10 h, so 20 h would have been asked."""
    line = WaitLine("Bow", WaitKind.BASE_CURED, EVENING, EVENING + 10 * HOUR, 6, 12, early=True)
    (wait,) = waits_lain([line])
    assert (wait.asked, wait.lay, wait.early) == (20, 10, True)


def test_the_finger_is_counted_with_the_wait_it_tested():
    lines = [
        WaitLine("Bow", WaitKind.BASE_CURED, EVENING, EVENING + HOUR, 1, 12, not_yet=True),
        WaitLine("Bow", WaitKind.BASE_CURED, EVENING, EVENING + 15 * HOUR, 15, 15, by_clock=True),
        WaitLine("Bow", None, None, EVENING + 20 * HOUR),
    ]
    (wait,) = waits_lain(lines)
    assert (wait.not_yet, wait.asked, wait.lay) == (1, 15, 20)


@pytest.mark.parametrize(("number", "few"), [(4, True), (5, False)])
def test_few_waits_have_no_median_to_show(number, few):
    line = WaitLine("Bow", WaitKind.BASE_CURED, EVENING, EVENING + 10 * HOUR, 12, 12)
    (found,) = summed_up(waits_lain([line] * number))
    assert (found.number, found.is_too_few, found.lay) == (number, few, 10)
