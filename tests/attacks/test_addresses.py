"""Every address against those who have no business there: strangers, onlookers, other sites."""

from __future__ import annotations

import re
from urllib.parse import quote

import pytest
from django.db import transaction
from django.test import Client
from django.urls import reverse

from decaljobs.models import Decal
from decaljobs.urls import urlpatterns
from tests import addresses
from tests.attacks.conftest import records
from tests.factories import make_person

# What anybody may ask for, and what is no page of the workshop's.
OPEN = {"enter", "sign-in", "health", "calendar"}
NUL = "\u202e🚤\x00"
# Cured and set are left out: a finger may say so before the clock does.
STEPS = {"planned", "printed", "sealed", "base_applied", "clear_applied", "overcoated"}


@pytest.mark.slow
def test_a_stranger_is_led_to_the_door_whatever_they_ask_for(client, furnished):
    before = records()
    for name in set(addresses.names()) - OPEN:
        path = addresses.path_of(name)
        for answer in (client.get(path), client.post(path, {"step": "set"}), client.delete(path)):
            assert answer.status_code == 302, name
            assert answer["Location"].startswith("/sign-in/"), name
    assert records() == before


@pytest.mark.slow
def test_an_onlooker_reads_and_changes_nothing(client, furnished, onlooker):
    client.force_login(onlooker)
    before = records()
    seen = {}
    for name in set(addresses.names()) - addresses.DOORS - addresses.THEIR_OWN:
        path = addresses.path_of(name)
        answer = client.get(path)
        seen[name] = (answer.status_code, client.post(path).status_code)
        b"".join(answer)
    assert {posted for _, posted in seen.values()} == {403, 405}, seen
    assert {asked for asked, _ in seen.values()} <= {200, 302, 403, 404, 405}, seen
    assert records() == before
    for name in ("bench", "project", "decal", "sheet", "artwork", "drying", "people"):
        assert seen[name][0] == 200


@pytest.mark.slow
def test_a_maker_does_not_do_what_is_the_owner_s_to_do(client, furnished, maker):
    client.force_login(maker)
    before = records()
    for name in ("person-new", "person", "person-link", "rule", "room-usual"):
        assert client.post(addresses.path_of(name), {"role": "owner"}).status_code == 403, name
    assert records() == before


@pytest.mark.slow
def test_a_post_from_another_site_is_refused(furnished):
    client = Client(enforce_csrf_checks=True)
    client.force_login(furnished)
    before = records()
    for name in addresses.names():
        assert client.post(addresses.path_of(name), {"step": "set"}).status_code == 403, name
    assert records() == before


@pytest.mark.slow
def test_what_changes_something_is_never_got(inside):
    """A link, an image or a prefetch in a page of somebody else's changes nothing."""
    before = records()
    for name in set(addresses.names()) - addresses.DOORS:
        answer = inside.get(addresses.path_of(name))
        b"".join(answer)
        assert answer.status_code < 500, name
    assert records() == before


@pytest.mark.slow
@pytest.mark.parametrize("host", ["workshop.example", "127.0.0.1.example", "testserver@evil", ""])
def test_another_host_s_name_is_refused(client, furnished, host):
    client.force_login(furnished)
    assert client.get("/", headers={"host": host}).status_code == 400


@pytest.mark.slow
@pytest.mark.parametrize("nothing", ["0", "1" + "0" * 30, str(2**63), "4242424242", "x" * 500, NUL])
def test_what_names_nothing_answers_404(inside, nothing):
    wrong = []
    for pattern in urlpatterns:
        path = "/" + re.sub(r"<[^>]+>", quote(nothing), str(pattern.pattern))
        if pattern.pattern.converters and pattern.name not in addresses.DOORS:
            answer = inside.get(path)
            if answer.status_code not in (404, 405):
                wrong.append(f"{pattern.name} answers {answer.status_code}")
    assert not wrong, "\n".join(wrong)


@pytest.mark.slow
def test_page_numbers_and_words_of_nonsense_are_answered_by_a_page(inside):
    for name in ("bench", "projects", "sheets", "artwork-list", "people"):
        for number in ("0", "-1", "NaN", "9" * 30, "<script>", "\x00"):
            answer = inside.get(reverse(name), {"page": number, "ready": number, "q": number})
            assert answer.status_code == 200, (name, number)
            assert "<script>" not in answer.content.decode().split("<main")[1], (name, number)


@pytest.mark.slow
def test_no_stage_is_skipped_by_a_button_that_was_not_there(inside):
    stands = {(decal.build, decal.stage): decal for decal in Decal.objects.exclude(next_step="")}
    assert len(stands) >= 8
    before = records()
    for decal in stands.values():
        for step in STEPS - {decal.next_step}:
            data = {"one": f"{decal.pk}:{step}", "reason": "because"}
            assert inside.post(reverse("bench-log"), data).status_code == 422
            data = {"step": step, "reason": "because"}
            assert inside.post(reverse("decal-log", args=[decal.pk]), data).status_code == 422
    assert records() == before


@pytest.mark.slow
def test_two_names_in_one_file_s_path_lead_nowhere_else(inside):
    for path in (
        "/artwork/1/../../people/",
        "/artwork/1/%2e%2e/picture/",
        "/media/",
        "/static/../",
    ):
        assert inside.get(path).status_code in (404, 400), path


@pytest.mark.slow
def test_an_error_page_tells_nothing_of_the_inside(inside, monkeypatch):
    def broken(*_: object, **__: object) -> None:
        raise RuntimeError("the combination of the safe is 1-2-3")

    monkeypatch.setattr("decaljobs.views.people.page_of", broken)
    with transaction.atomic():
        answer = inside.get("/people/")
    assert answer.status_code == 500
    assert "safe" not in answer.content.decode()
    assert make_person().pk  # the records are usable still


@pytest.mark.slow
def test_a_fragment_is_given_wherever_a_page_is(inside):
    for name in addresses.pages(inside):
        answer = inside.get(addresses.path_of(name), headers={"hx-request": "true"})
        assert answer.status_code == 200, name
        assert "<!doctype" not in answer.content.decode(), name
        assert "HX-Request" in answer["Vary"], name
