"""Cells that no spreadsheet runs, and tables read by their headings.

Which first characters a spreadsheet takes for a formula: OWASP, "CSV Injection" (from memory):
= + - @, tab, carriage return.
"""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from decaljobs.craft.tables import guarded, read_table, unguarded
from decaljobs.craft.textfile import FileRefused

COLUMNS = {"name": "name", "scale": "scale", "body colour": "body_colour"}
OWASP = ("=", "+", "-", "@", "\t", "\r")


def read(*lines, needed=("name",), most=10):
    return read_table(lines, COLUMNS, needed, most=most)


@pytest.mark.parametrize("first", [*OWASP, "\n", "＝"])
def test_no_cell_begins_as_a_formula_does(first):
    assert guarded(f"{first}cmd|' /C calc'!A0").startswith(f"'{first}")


@given(st.text(alphabet="'=+-@\t\r\n＝ab ", max_size=8))
def test_what_is_guarded_comes_back_as_it_was(text):
    assert not guarded(text).startswith(OWASP)
    assert unguarded(guarded(text)) == text


@pytest.mark.parametrize("separator", [",", ";", "\t", "|"])
def test_the_separator_is_the_one_that_makes_the_headings_known(separator):
    table = read(f"Name{separator}Scale", f"Tug{separator}1:72")
    assert table.separator == separator
    assert dict(table.lines[0].cells) == {"name": "Tug", "scale": "1:72"}


def test_a_line_that_names_the_separator_is_passed_over():
    table = read("sep=;", "name;scale", "Tug;1:72")
    assert [line.number for line in table.lines] == [3]


def test_headings_are_known_in_any_case_and_spelling_of_blanks():
    assert "body_colour" in read("NAME, Body_Colour", "Tug,#112233").lines[0].cells


def test_columns_that_nobody_knows_are_told_of():
    table = read("name,Weather", "Tug,fine")
    assert table.unknown == ("weather",)
    assert "Weather" not in table.lines[0].cells


def test_lines_keep_their_numbers_over_empty_ones_and_quoted_ends_of_line():
    table = read("name,scale", "", '"Tug', 'Heron",1:72', "Tern,1:48")
    assert [(line.number, line.cells["name"]) for line in table.lines] == [
        (3, "Tug\nHeron"),
        (5, "Tern"),
    ]


def test_a_line_with_too_many_cells_is_wrong_by_itself():
    table = read("name,scale", "Tug,1:72,oops", "Tern,1:48,")
    assert table.lines[0].problem == "it has 3 cells, the first line 2"
    assert table.lines[1].problem == ""


def test_a_line_with_few_cells_lacks_the_others():
    assert dict(read("name,scale", "Tug").lines[0].cells) == {"name": "Tug"}


def test_a_quotation_mark_never_closed_spoils_its_line_alone():
    table = read("name,scale", '"Tug,1:72', "Tern,1:48")
    assert table.lines[0].problem == "a quotation mark is never closed"
    assert table.lines[1].cells["name"] == "Tern"


@pytest.mark.parametrize(
    ("lines", "said"),
    [
        ([], "does not name"),
        (["scale", "1:72"], "No column is called ‘name’"),
        (["name,Name", "a,b"], "Two columns are called ‘name’"),
        (["name", *"abcdefghijk"], "11 lines; 10 are taken"),
        (["a\0b", "c"], "does not name"),
    ],
)
def test_a_file_that_is_no_such_table_is_refused(lines, said):
    with pytest.raises(FileRefused, match=said):
        read(*lines)
