"""The wording of pages, paper and messages: one way of writing each thing."""

import pytest

from tests.checkout import TOP

SHOWN = [
    file
    for folder, kinds in (("decaljobs", ("py",)), ("templates", ("html",)), ("static/js", ("js",)))
    for kind in kinds
    for file in sorted((TOP / folder).rglob(f"*.{kind}"))
]


def test_there_is_wording_to_look_at():
    assert {file.suffix for file in SHOWN} == {".py", ".html", ".js"}
    assert len(SHOWN) > 300


@pytest.mark.parametrize("mark", ["“", "”", "„", "&ldquo;", "&rdquo;", "&quot;"])
def test_words_are_quoted_in_single_marks_everywhere(mark):
    assert [file.name for file in SHOWN if mark in file.read_text(encoding="utf-8")] == []
