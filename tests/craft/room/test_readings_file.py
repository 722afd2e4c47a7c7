"""Files of readings line by line, good and bad."""

from datetime import UTC, datetime

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from decaljobs.craft.room import readings_file
from decaljobs.craft.room.readings_file import ReadingsLayout, read_readings
from decaljobs.craft.textfile import FileRefused

NOW = datetime(2026, 11, 25, 12, tzinfo=UTC)
COMMA = ReadingsLayout()


def read(*lines, layout=COMMA):
    return read_readings(lines, layout, UTC, NOW)


def test_it_reads_minutes_degrees_and_percent():
    found = read("2026-11-24 10:00,20.5,48", "2026-11-24 10:01,20.6,48.5")
    first = datetime(2026, 11, 24, 10, tzinfo=UTC).timestamp() / 60
    assert found.minutes.tolist() == [first, first + 1]
    assert found.temperatures.tolist() == [20.5, 20.6]
    assert found.humidities.tolist() == [48, 48.5]
    assert found.bad == ()


def test_it_reads_a_decimal_comma_and_units():
    layout = ReadingsLayout(separator=";", decimal=",")
    found = read('2026-11-24 10:00;"20,5 °C";48 %', layout=layout)
    assert (found.temperatures[0], found.humidities[0]) == (20.5, 48)


@pytest.mark.parametrize(("written", "celsius"), [("68 °F", 20), ("50F", 10), ("-40 °F", -40)])
def test_a_temperature_written_in_fahrenheit_is_not_taken_for_celsius(written, celsius):
    """Fixed points of both scales: NIST SP 811, appendix B.8."""
    found = read(f"2026-11-24 10:00,{written},48")
    assert found.temperatures[0] == pytest.approx(celsius, abs=1e-9)


def test_it_reads_a_date_and_a_clock_in_two_columns():
    layout = ReadingsLayout(clock_column=1, temperature_column=2, humidity_column=3)
    assert read("2026-11-24,10:00,20,50", layout=layout).minutes.size == 1


def test_a_reading_of_this_very_moment_is_not_still_to_come():
    assert read("2026-11-25 12:00,20,50").minutes.tolist() == [NOW.timestamp() / 60]


@pytest.mark.parametrize(
    ("line", "reason"),
    [
        ("2026-11-24 10:00,-300,50", "the temperature is -300 °C, it must be -40 to 60 °C"),
        ("2026-11-24 10:00,20,140", "the humidity is 140 % RH, it must be 0 to 100 % RH"),
        ("2026-11-24 10:00,NaN,50", "the temperature ‘NaN’ is no number"),
        ("2026-11-24 10:00,20,", "the humidity is missing"),
        ("2026-11-24 10:00,2_0,50", "the temperature ‘2_0’ is no number"),
        ("2026-11-24 10:00,inf,50", "the temperature is inf °C"),
        ("2026-11-25 12:00:01,20,50", "2026-11-25 12:00:01 is still to come"),
        ("2026-11-24 10:00", "it has only 1 column, divided at each comma"),
        ("2026-11-24 10:00,20\0,50", "it holds NUL bytes"),
        ('2026-11-24 10:00,"20,50', "a quotation mark is never closed"),
        ("x" * 10_001, "it is longer than 10,000 characters"),
        ("tomorrow,20,50", "‘tomorrow’ is no date of the form"),
    ],
)
def test_a_bad_line_is_named_with_its_reason_and_the_others_stay(line, reason):
    found = read("2026-11-24 09:00,20,50", line, "2026-11-24 11:00,21,51")
    assert found.minutes.size == 2
    assert [number for number, _ in found.bad] == [2]
    assert found.bad[0][1].startswith(reason)
    assert found.bad_count == 1


def test_repeats_are_dropped_and_the_same_minute_with_other_values_is_refused():
    found = read(
        "2026-11-24 10:00,20,50",
        "2026-11-24 10:00,20,50",
        "2026-11-24 10:00,21,50",
        "2026-11-24 10:01:10,20,50",
        "2026-11-24 10:01:40,22,50",
    )
    assert found.minutes.size == 2
    assert (found.repeats, found.thinned) == (1, 1)
    assert found.bad == ((3, "the same time as line 1, with other values"),)


def test_lines_out_of_order_are_put_in_order_and_counted():
    found = read("2026-11-24 10:02,22,50", "2026-11-24 10:00,20,50", "2026-11-24 10:01,21,50")
    assert found.temperatures.tolist() == [20, 21, 22]
    assert found.lines.tolist() == [2, 3, 1]
    assert (found.unordered, found.first_unordered) == (1, 2)


def test_a_quoted_field_may_run_over_lines_and_numbers_stay_right():
    lines = ['2026-11-24 10:00,20,50,"a note', 'on two lines"', "2026-11-24 10:01,200,50"]
    found = read(*lines)
    assert found.minutes.size == 1
    assert found.bad[0][0] == 3


def test_an_open_quotation_mark_spoils_its_own_line_only():
    lines = ['2026-11-24 10:00,20,50,"never closed']
    lines += [f"2026-11-24 11:{minute:02d},20,50" for minute in range(40)]
    found = read(*lines)
    assert (found.minutes.size, found.bad_count) == (40, 1)


def test_a_file_of_too_many_lines_is_refused(monkeypatch):
    monkeypatch.setattr(readings_file, "MOST_LINES", 2)
    with pytest.raises(FileRefused, match="more than 2 lines"):
        read(*["2026-11-24 10:00,20,50"] * 3)


def test_only_the_first_bad_lines_are_kept_but_all_are_counted():
    found = read(*["nothing"] * 700)
    assert (len(found.bad), found.bad_count) == (500, 700)


@given(st.lists(st.text(max_size=40), max_size=12))
def test_any_text_at_all_is_read_or_listed(lines):
    found = read(*lines)
    assert found.bad_count + found.minutes.size + found.repeats + found.thinned <= len(lines)
    assert np.all(np.diff(found.minutes) > 0)
