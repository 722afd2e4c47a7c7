"""Files from outside as text, and their lines as cells."""

import codecs

import pytest

from decaljobs.craft.textfile import FileRefused, decode, records


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
