"""The calendar's secret address, guessed at; and words that would break out of a line."""

from __future__ import annotations

import re
import secrets
from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from decaljobs.services.plan import calendars
from tests.factories import make_decal, make_person, make_project

pytestmark = pytest.mark.django_db


def test_every_wrong_address_is_answered_in_the_same_shape(client, maker):
    old = calendars.renew_secret(person=maker)
    right = calendars.renew_secret(person=maker)
    gone = make_person(username="gone")
    left = calendars.renew_secret(person=gone)
    gone.is_active = False
    gone.save()
    guesses = (old, left, "0" * 48, right[:-1] + ("0" if right[-1] != "0" else "1"))
    guesses += (secrets.token_hex(24), right.upper(), right[:-1], right + "0", "x" * 48, "%00" * 16)
    shapes = set()
    for guess in guesses:
        if guess == right:  # all of it digits, so that capitals are the same
            continue
        answer = client.get(f"/calendar/{guess}.ics")
        headers = tuple(sorted(name for name in answer.headers if name != "Content-Length"))
        # The page's own token is another each time, of the same length.
        body = re.sub(rb'"[A-Za-z0-9]{64}"', b'"token"', answer.content)
        shapes.add((answer.status_code, len(answer.content), body, headers))
    assert len(shapes) == 1, shapes
    ((status, _, body, _),) = shapes
    assert status == 404 and b"VCALENDAR" not in body
    assert client.get(f"/calendar/{right}.ics").status_code == 200


@pytest.mark.parametrize(
    "name", ["a\r\nSet-Cookie: x=1", 'a"; filename="b.exe', "é\u2028🚤", "../.."]
)
def test_a_name_leaves_no_header_of_a_file_it_names(signed_in, name):
    project = make_project(name=name, code="P-77")
    for address in ("job-card", "quote"):
        answer = signed_in.get(reverse(address, args=[project.code]))
        said = answer["Content-Disposition"]
        assert answer.status_code == 200
        assert "Set-Cookie" not in answer.headers and ".exe" not in said and ".." not in said
        assert not set("\r\n") & set(said)


@pytest.mark.parametrize("end", ["\r\n", "\n", "\r", "\u2028", "\x0b"])
def test_a_name_with_an_end_of_line_begins_no_line_of_the_calendar(client, maker, end):
    """RFC 5545, 3.3.11: an end of line inside a text is escaped."""
    name = f"Tug{end}BEGIN:VALARM{end}ATTACH:file:///etc/passwd"
    make_decal(project=make_project(name=name, due=timezone.localdate() + timedelta(days=9)))
    feed = client.get(f"/calendar/{calendars.renew_secret(person=maker)}.ics").content
    assert b"Due: Tug" in feed
    lines = re.sub(rb"\r\n[ \t]", b"", feed).split(b"\r\n")
    assert not [line for line in lines if line.startswith((b"BEGIN:VALARM", b"ATTACH"))]
    assert all(b"\n" not in line and b"\r" not in line for line in lines)
