"""A page at its fullest, with its styles and scripts, on a slow line: 150 kB without pictures."""

import gzip
import re
from datetime import timedelta
from pathlib import Path

import pytest
from django.contrib.staticfiles import finders

from decaljobs.craft.stages import Build
from decaljobs.models import Decal, Person
from tests.factories import EVENING, make_decals, make_project

MOST_BYTES = 150_000
PACKED = {"headers": {"accept-encoding": "gzip"}}


def sent(client, address):
    """The bytes of a page as it is sent, and of what it asks for beside pictures."""
    answer = client.get(address, **PACKED)
    page = gzip.decompress(answer.content).decode()
    asked = set(re.findall(r'(?:href|src)="/static/([^"]+\.(?:css|js))"', page))
    assert len(asked) > 5
    return len(answer.content) + sum(Path(finders.find(name)).stat().st_size for name in asked)


@pytest.fixture
def full(maker) -> Person:
    """A bench with fifty rows and more in each of its lists."""
    decals = make_decals(180, Build.LAMINATED, project=make_project(code="P-01"), place="Door")
    ids = [decal.pk for decal in decals]
    Decal.objects.filter(pk__in=ids[:60]).update(
        held_because="", ready_at=EVENING, next_step="base_applied", stage="sealed"
    )
    Decal.objects.filter(pk__in=ids[60:120]).update(
        held_because="",
        ready_at=EVENING + timedelta(days=4000),
        next_step="clear_applied",
        stage="base_applied",
    )
    return maker


@pytest.mark.parametrize("address", ["/", "/projects/P-01/", "/projects/P-01/several/"])
def test_a_full_page_goes_over_a_slow_line(signed_in, full, address):
    assert sent(signed_in, address) <= MOST_BYTES


def test_pictures_are_not_packed_again(signed_in, full):
    art = Decal.objects.first().artwork
    answer = signed_in.get(f"/artwork/{art.pk}/preview/", **PACKED)
    assert "Content-Encoding" not in answer
    assert b"".join(answer).startswith(b"\x89PNG")


def test_the_same_page_never_has_the_same_size(signed_in, db):
    """Against guessing what stands on a page by the size it is packed to."""
    sizes = {len(signed_in.get("/keys/", **PACKED).content) for _ in range(20)}
    assert len(sizes) > 1
