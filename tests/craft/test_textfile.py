"""Files from outside as text, and their lines as cells."""

import codecs

import pytest

from decaljobs.craft.textfile import (
    LONGEST_LINE,
    LONGEST_QUOTE,
    FileRefused,
    decode,
    records,
)


@pytest.mark.parametrize(
    ("data", "text"),
    [
        (codecs.BOM_UTF8 + b"a,b", "a,b"),
        ("a,\u00b0".encode(), "a,\u00b0"),
        ("a,\u00b0".encode("utf-16"), "a,\u00b0"),
        ("a,\u00b0".encode("cp1252"), "a,\u00b0"),
    ],
)
def test_it_reads_the_encodings_of_loggers(data, text):
    assert decode(data).text == text


@pytest.mark.parametrize("data", [b"", b" \n", b"\0" * 100, codecs.BOM_UTF16_LE + b"a"])
def test_it_refuses_what_is_no_text(data):
    with pytest.raises(FileRefused):
        decode(data)


def test_every_way_of_ending_a_line_is_known():
    assert list(decode(b"a\r\nb\rc\nd").lines()) == ["a\n", "b\n", "c\n", "d"]


def test_an_empty_line_is_no_record():
    assert list(records(["", "  ", "a,b"], ",")) == [(3, ["a", "b"])]


def test_a_separator_within_quotation_marks_separates_nothing():
    assert list(records(['a,"b,c",d'], ",")) == [(1, ["a", "b,c", "d"])]


def test_a_quoted_field_runs_over_lines_and_the_next_record_has_its_own_number():
    assert list(records(['a,"b\n', 'c",d\n', "e"], ",")) == [(1, ["a", "b\nc", "d"]), (3, ["e"])]


@pytest.mark.parametrize(("more", "closed"), [(LONGEST_QUOTE, True), (LONGEST_QUOTE + 1, False)])
def test_a_quoted_field_closes_within_twenty_lines_or_never(more, closed):
    lines = ['a,"b', *["x"] * (more - 1), 'c",d']
    first, *rest = records(lines, ",")
    if closed:
        assert (first[0], len(first[1]), rest) == (1, 3, [])
    else:
        assert first == (1, "a quotation mark is never closed")
        assert rest[0] == (2, ["x"]), "the lines behind it are read on their own"
        assert rest[-1][0] == len(lines)


@pytest.mark.parametrize(
    ("line", "reason"),
    [
        ('a,"b', "a quotation mark is never closed"),
        ('a,"b"c,d', "a quotation mark stands where none belongs"),
        ("a\0,b", "it holds NUL bytes"),
        ("a" * (LONGEST_LINE + 1), "it is longer than 10,000 characters"),
    ],
)
def test_a_line_that_is_no_record_says_why_and_the_next_is_read(line, reason):
    assert list(records([line, "e,f"], ",")) == [(1, reason), (2, ["e", "f"])]
