"""How a file is written, guessed."""

import pytest

from decaljobs.craft.room.readings_file import ReadingsLayout
from decaljobs.craft.room.readings_guess import guess_layout
from decaljobs.craft.room.readings_times import TimeFormat
from decaljobs.craft.textfile import FileRefused


@pytest.mark.parametrize(
    ("lines", "expected"),
    [
        (
            ["time,temp,rh", "2026-11-24 10:00,20.5,48"],
            ReadingsLayout(first_line=2),
        ),
        (
            ["Gerät 4711", "", "Datum;Uhrzeit;Feuchte %;Temp °C", "24.11.2026;10:00;48,5;20,5"],
            ReadingsLayout(";", ",", 0, 1, 3, 2, TimeFormat.DAY_FIRST, 4),
        ),
        (
            ["1\t11/24/2026 9:40 PM\t20.5\t48", "2\t11/24/2026 9:50 PM\t20.5\t48"],
            ReadingsLayout("\t", ".", 1, None, 2, 3, TimeFormat.MONTH_FIRST, 1),
        ),
        (
            ["1795556400,20.5,48"],
            ReadingsLayout(time_format=TimeFormat.SECONDS),
        ),
    ],
)
def test_it_finds_separator_columns_and_form(lines, expected):
    assert guess_layout(lines) == expected


@pytest.mark.parametrize(
    "last",
    ["2026-13-01 10:02;21,0;50", "x;y;z", "2026-11-24 10:02;NaN;50", "2026-11-24 10:02;21,0", ""],
)
def test_a_bad_last_line_does_not_hide_the_good_ones(last):
    lines = ["time;temp;rh", "2026-11-24 10:00;20,5;48", "2026-11-24 10:01;20,6;48", last]
    assert guess_layout(lines) == ReadingsLayout(";", ",", 0, None, 1, 2, TimeFormat.YEAR_FIRST, 2)


@pytest.mark.parametrize(("most", "fewest"), [(",", ";"), (";", ",")])
def test_the_separator_that_explains_most_lines_is_taken(most, fewest):
    row = "2026-11-24 10:00{0}20.5{0}48".format
    lines = [row(fewest), row(most), row(most)]
    assert guess_layout(lines).separator == most
    assert guess_layout(lines[::-1]).separator == most


@pytest.mark.parametrize("heading", ["Temp (°F)", "Temperature Fahrenheit", "T ° F"])
def test_bare_figures_under_a_heading_in_fahrenheit_are_refused(heading):
    with pytest.raises(FileRefused, match="says °F"):
        guess_layout([f"time,{heading},rh", "2026-11-24 10:00,50.5,48"])
    assert guess_layout(["time,Temp °C,rh", "2026-11-24 10:00,50.5,48"]).temperature_column == 1


def test_a_file_of_one_column_is_refused():
    with pytest.raises(FileRefused, match="No line of the first sixty"):
        guess_layout(["20.5", "20.6"])
