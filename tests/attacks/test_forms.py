"""Every form of every page against values that make no sense, or mean harm.

The forms are read from the pages themselves, the pages from the URL configuration, so that a new
one is attacked without being named here.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping

import pytest
from django.apps import apps
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import DEFAULT_DB_ALIAS, connection
from django.http import HttpResponse
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import resolve

from decaljobs.services.safekeeping.row_copy import count_on
from tests import addresses
from tests.attacks.conftest import records
from tests.attacks.pageforms import CHOSEN, TYPED, Field, Page, PageForm
from tests.factories import picture_bytes

WORDS = {
    "500 letters": "x" * 500,
    "right to left": "\u202eسفينة الميناء",
    "emoji": "🚤🧑‍🎨",
    "a NUL": "a\x00b",
    "a script": "<script>alert(1)</script>",
    "an attribute": '" hx-get="/evil/" hx-trigger="load" x="',
    "SQL": "'; DROP TABLE decaljobs_project; --",
}
NUMBERS = {
    "zero": "0",
    "less than nothing": "-1",
    "NaN": "NaN",
    "infinity": "Infinity",
    "1e308": "1e308",
    "400 digits": "9" * 400,
}
MOMENTS = {"the year 0": "0000-01-01", "a time to come": "2199-01-01 10:00"}
BAD = WORDS | NUMBERS | MOMENTS
NOT_NUMBERS = {*BAD} - {"zero", "less than nothing"}
#: What there cannot be none of.
COUNTED = {"width_mm", "height_mm", "count", "copies", "coats_wanted", "reference_hours"}
#: What may well be below nothing.
SIGNED = {
    *("day_temperature", "night_temperature", "temperature", "film_forming_minimum"),
    *("x_mm", "y_mm", "turn"),
}
NOT_OFFERED = ("", "-1", "9" * 30, "a\x00b")
FILES = {
    "empty": b"",
    "a picture cut off": picture_bytes()[:120],
    "an SVG": b'<svg xmlns="http://www.w3.org/2000/svg"><script>alert(1)</script></svg>',
    "an HTML page": b"<!doctype html><script>alert(1)</script>",
    "an EPS": b"%!PS-Adobe-3.0 EPSF-3.0\n%%BoundingBox: 0 0 9 9\nshowpage\n",
    "a GIF": picture_bytes("GIF"),
    "words": b"not a picture\n" * 20,
}
#: What a maker could have typed where a form comes empty.
PLAUSIBLE = {
    "name": "Harbour launch",
    "scale": "1:72",
    "place": "Port bow",
    "film": "white",
    "width_mm": "24",
    "height_mm": "30",
    "size": "free",
    "temperature": "20",
    "humidity": "50",
}
#: Fields that take a picture; others take files of figures.
PICTURES = ("picture", "photo", "photos", "camera")
#: What shows a secret at once instead of leading on.
TOLD_ONCE = ("person-link", "device-new")
#: Fields that no form has, or not for the person who fills it in.
NOT_ASKED = {
    "stage": "overcoated",
    "owner": "1",
    "project": "2",
    "by": "1",
    "example": "on",
    "is_superuser": "on",
    "is_staff": "on",
    "ready_at": "2026-01-01",
    "made_at": "2026-01-01",
    "events_logged": "99",
    "held_because": "",
    "pk": "1",
    "id": "1",
}

#: Fields that an address takes although not each of its forms has them.
ASKED = {"sheet-queue": ("project",)}


@pytest.fixture
def forms(inside) -> list[PageForm]:
    """The different forms of all pages, one of each kind."""
    found: dict[tuple, PageForm] = {}
    for name in addresses.pages(inside):
        for path in addresses.paths_of(name):
            for form in Page(inside.get(path).content.decode(), path).forms:
                found.setdefault((name_of(form), form.method, *sorted(form.fields)), form)
    return [form for form in found.values() if name_of(form) not in ("sign-out", "sign-in")]


def name_of(form: PageForm) -> str:
    return str(resolve(form.action.split("?")[0]).url_name)


def send(client: Client, form: PageForm, changed: Mapping[str, object]) -> HttpResponse:
    """A form as somebody might well have filled it in, but for what is changed."""
    filled = {name: PLAUSIBLE[name] for name in form.fields if name in PLAUSIBLE}
    if form.method == "get":
        return client.get(form.action, {**form.sent, **changed})
    files = {field.name: picture(picture_bytes()) for field in form.of_kind("file")}
    return client.post(form.action, {**form.sent, **files, **filled, **changed})


def picture(data: bytes) -> SimpleUploadedFile:
    return SimpleUploadedFile("art.png", data, content_type="image/png")


def must_refuse(field: Field, kind: str) -> bool:
    """Whether nobody could mean this in such a field."""
    if field.numeric:
        none_of_it = kind == "zero" and field.name in COUNTED
        below = kind == "less than nothing" and field.name not in SIGNED
        return kind in NOT_NUMBERS or none_of_it or below
    if field.name == "at" or field.kind in ("date", "color"):
        return True
    return kind in ("500 letters", "a NUL") and field.kind != "textarea"


def wrongs(
    client: Client,
    form: PageForm,
    before: dict[str, list[str]],
    changed: Mapping[str, object],
    refuse: Collection[str] = (),
) -> Iterator[str]:
    """Everything wrong with how a form answers what was changed in it.

    refuse: the fields of which it is to be told, beside each, that this cannot be.
    """
    with CaptureQueriesContext(connection) as asked:
        answer = send(client, form, changed)
        body = b"".join(answer).decode(errors="replace")
    if answer.status_code >= 500:
        yield f"answers {answer.status_code}"
        return
    # Comparing all records takes long: only where anything was written at all.
    wrote = any(not query["sql"].startswith(("SELECT", "SAVEPOINT")) for query in asked)
    kept = wrote and records() != before
    page = Page(body, form.action)
    if kept and answer.status_code != 302 and name_of(form) not in TOLD_ONCE:
        yield f"answers {answer.status_code} and still keeps something"
    if kept and refuse:
        yield "is taken"
    elif form.method == "post" and (untold := [n for n in refuse if not page.marks_wrong(n)]):
        yield f"is not told of beside {untold} ({answer.status_code})"
    yield from _alive(body, page)
    if answer.status_code == 302 and kept:
        yield from _wrongs_of_next_page(client, answer["Location"])


def _wrongs_of_next_page(client: Client, path: str) -> Iterator[str]:
    after = client.get(path)
    shown = b"".join(after).decode(errors="replace")
    if after.status_code >= 400:
        yield f"leads to a page that answers {after.status_code}"
    yield from _alive(shown, Page(shown, path))


def _alive(body: str, page: Page) -> Iterator[str]:
    if "<script>alert(1)" in body or ("hx-get", "/evil/") in page.attributes:
        yield "comes alive on the page"


def attempts(form: PageForm, kind: str) -> Iterator[tuple[list[str], bool]]:
    """Fields to be given a bad value together, and whether they must refuse it.

    A time may be refused by what is logged already, so it is tried with all else in order.
    """
    typed = form.of_kind(*TYPED)
    times = [field.name for field in typed if field.name == "at"]
    refuse = [f.name for f in typed if must_refuse(f, kind) and f.name not in times]
    take = [f.name for f in typed if not must_refuse(f, kind)]
    yield from ((names, True) for names in (times, refuse) if names)
    if take:
        yield take, False


@pytest.mark.slow
@pytest.mark.parametrize("bad", [WORDS, NUMBERS | MOMENTS], ids=["words", "numbers"])
def test_a_value_that_makes_no_sense_is_refused_beside_its_field(inside, forms, taken_back, bad):
    before, wrong = records(), []
    for form in forms:
        for kind, value in bad.items():
            for names, refuse in attempts(form, kind):
                changed = dict.fromkeys(names, value)
                with taken_back(inside):
                    found = wrongs(inside, form, before, changed, names if refuse else ())
                    wrong += [f"{form.action} {names} = {kind}: {what}" for what in found]
    assert not wrong, "\n".join(wrong)


@pytest.mark.slow
def test_a_choice_that_is_not_offered_is_refused(inside, forms, taken_back):
    before, wrong = records(), []
    for form in forms:
        for field in form.of_kind(*CHOSEN, "hidden", "checkbox"):
            for value in NOT_OFFERED if field.name != "csrfmiddlewaretoken" else ():
                with taken_back(inside):
                    found = list(wrongs(inside, form, before, {field.name: value}))
                    offered = field.kind not in CHOSEN or value in field.offered
                    if form.method == "post" and not offered and records() != before:
                        found.append("is taken")
                wrong += [f"{form.action} {field.name} = {value!r}: {what}" for what in found]
    assert not wrong, "\n".join(wrong)


@pytest.mark.slow
def test_a_file_that_is_no_picture_is_refused_beside_its_field(inside, forms, taken_back):
    before, wrong = records(), []
    uploads = [(form, field) for form in forms for field in form.of_kind("file")]
    assert len(uploads) >= 3
    for form, field in uploads:
        for kind, data in FILES.items():
            refuse = [field.name] if field.name in PICTURES else []
            with taken_back(inside):
                found = wrongs(inside, form, before, {field.name: picture(data)}, refuse)
                wrong += [f"{form.action} {field.name} = {kind}: {what}" for what in found]
    assert not wrong, "\n".join(wrong)


@pytest.mark.slow
def test_fields_that_were_not_asked_for_change_nothing(inside, forms, taken_back):
    before, wrong, taken = records(), [], 0
    for form in (form for form in forms if form.method == "post" and form.fields):
        outcomes = []
        asked = {*form.fields, *ASKED.get(name_of(form), ())}
        for more in ({}, {n: value for n, value in NOT_ASKED.items() if n not in asked}):
            with taken_back(inside):
                number_anew()
                answer = send(inside, form, more)
                outcomes.append((answer.status_code, answer.get("Location"), records()))
        taken += outcomes[0][2] != before
        if outcomes[0] != outcomes[1]:
            wrong.append(form.action)
    assert not wrong
    assert taken >= 20  # so many were filled in well enough to be taken


def number_anew() -> None:
    """The next record gets the number after the last: PostgreSQL goes on counting when a change is
    taken back."""
    kinds = apps.get_app_config("decaljobs").get_models(include_auto_created=True)
    count_on(list(kinds), DEFAULT_DB_ALIAS)


@pytest.mark.slow
def test_what_no_page_offers_now_is_attacked_all_the_same(inside, forms, taken_back):
    """Addresses whose forms the example's records do not bring up get every field of all others."""
    reached = {name_of(form) for form in forms if form.method == "post"}
    fields = {name for form in forms for name in form.fields}
    before, wrong = records(), []
    for name in sorted(set(addresses.posting(inside)) - reached - addresses.DOORS):
        form = PageForm(addresses.path_of(name), "post")
        for kind, value in BAD.items():
            with taken_back(inside):
                found = wrongs(inside, form, before, dict.fromkeys(fields, value))
                wrong += [f"{form.action} = {kind}: {what}" for what in found]
    assert not wrong, "\n".join(wrong)
