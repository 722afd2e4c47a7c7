"""Whatever words the records hold, they stay words: on every page, and on paper."""

from __future__ import annotations

import html
import sys
from collections.abc import Iterator

import pypdfium2
import pytest
from django.apps import apps
from django.db import DatabaseError, models, transaction

from tests import addresses
from tests.attacks.pageforms import Page

#: Cut off to the length of each field, from the most harmful down.
EVIL = '"><script>alert(1)</script><p hx-get="/evil/" hx-trigger="load">'
MARKUP = '<img src="/etc/passwd"/><font color="#zz"><b>'
#: A colour that reportlab once worked out as Python (CVE-2023-33733, in short).
COLOUR = "<font color=\"[[open('colour-was-run') for a in [1]]]\">x</font>"
#: What an address, a calculation or the way in rests on.
LEFT_ALONE = {
    *("username", "password", "code", "zone", "air_mark", "session_key", "digest", "key", "work"),
    *("turns_to", "next_step", "held_because", "change", "band_colour", "colour", "start"),
    *("calendar_secret", "leads_to", "asked"),
}
PAPERS = ("job-card", "quote", "plan-session-sheet", "round-sheet", "drying-chart")


_listening: list[list[str]] = []


def _note_opening(event: str, arguments: tuple) -> None:
    if event == "open" and _listening:
        _listening[-1].append(str(arguments[0]))


sys.addaudithook(_note_opening)


@pytest.fixture
def opened() -> Iterator[list[str]]:
    """The names of all files that are opened meanwhile."""
    _listening.append([])
    yield _listening[-1]
    _listening.pop()


def fill_in(words: str) -> int:
    """Write these words into every field of words of every record; how many fields took them."""
    taken = 0
    for kind in apps.get_app_config("decaljobs").get_models():
        for field in kind._meta.concrete_fields:
            if _is_words(field):
                taken += _write(kind, field, words)
    return taken


def _is_words(field: models.Field) -> bool:
    plain = type(field) in (models.CharField, models.TextField)
    return plain and not field.choices and field.name not in LEFT_ALONE


def _write(kind: type[models.Model], field: models.Field, words: str) -> bool:
    wrote = False
    for number in kind.objects.values_list("pk", flat=True):
        own = f"{number} {words}" if field.unique else words
        try:
            with transaction.atomic():
                fitting = own[: field.max_length]
                wrote |= bool(kind.objects.filter(pk=number).update(**{field.name: fitting}))
        except DatabaseError:  # a constraint keeps such words out
            continue
    return wrote


@pytest.mark.slow
def test_a_script_in_every_field_runs_on_no_page(inside):
    assert fill_in(EVIL) >= 20
    alive, shown = [], 0
    for name in addresses.pages(inside):
        for path in addresses.paths_of(name):
            for headers in ({}, {"hx-request": "true"}):
                body = inside.get(path, headers=headers).content.decode()
                shown += html.escape("<script>alert(1)") in body
                page = Page(body, path)
                if "<script>alert(1" in body or ("hx-get", "/evil/") in page.attributes:
                    alive.append(path)
    assert not alive
    assert shown >= 20, "the words stand on too few pages for this to tell anything"


@pytest.mark.slow
@pytest.mark.parametrize("words", [MARKUP, COLOUR, EVIL, "</para><para>", "&lt;&#0;&bogus;"])
def test_markup_in_every_field_prints_as_it_stands_and_opens_nothing(inside, words, opened):
    assert fill_in(words) >= 20
    printed = ""
    for name in PAPERS:
        for path in addresses.paths_of(name):
            answer = inside.get(path)
            assert answer.status_code == 200, path
            if not answer["Content-Type"].startswith("application/pdf"):
                continue
            paper = pypdfium2.PdfDocument(answer.content)
            printed += "".join(page.get_textpage().get_text_bounded() for page in paper)
    assert words[:6] in printed
    assert "root:" not in printed
    assert opened, "nothing at all was opened: the listening is broken"
    assert not [path for path in opened if "passwd" in path or "colour-was-run" in path]
