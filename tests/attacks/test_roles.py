"""Every address × role × verb, taken from the URL configuration: who may do what, and only that."""

from __future__ import annotations

import pytest
from django.test import Client

from decaljobs.middleware.deed_words import DEED_WORDS
from tests import addresses
from tests.attacks.conftest import records
from tests.attacks.test_addresses import OPEN

#: What only the owner may do. An address that refuses a maker and stands not here is a fault, as
#: is one that stands here and lets a maker in.
OWNERS = frozenset(
    {
        *("backups", "backup-make", "backup-bring", "backup-file", "backup-restore"),
        *("bin-empty", "deeds", "person-new", "person", "person-link", "rule", "room-usual"),
        *("photo-drop", "record-times-take", "sheet-refeed", "stores-rules"),
    }
)
#: Verbs that no address of ours knows.
UNKNOWN = ("put", "patch", "delete", "trace")
ASKING = ("get", "head", "options")


def answer_to(client: Client, verb: str, name: str) -> int:
    answer = getattr(client, verb)(addresses.path_of(name))
    b"".join(answer)
    return answer.status_code


def everything(client: Client, verbs: tuple[str, ...], but: frozenset[str]) -> dict[str, int]:
    """What each address answers to each verb."""
    return {
        f"{verb} {name}": answer_to(client, verb, name)
        for name in addresses.names()
        for verb in verbs
        if name not in but
    }


@pytest.mark.slow
@pytest.mark.parametrize("role", ["stranger", "onlooker", "maker", "owner"])
def test_nobody_does_anything_by_a_verb_that_is_not_known(role, inside, request):
    if role == "stranger":
        inside.logout()
    elif role != "owner":
        inside.force_login(request.getfixturevalue(role))
    before = records()
    found = everything(inside, UNKNOWN, frozenset())
    door = {302} if role == "stranger" else set()
    others = {403, 405} | door
    assert {what: status for what, status in found.items() if status not in others} == {}
    assert records() == before


@pytest.mark.slow
def test_a_stranger_gets_nothing_by_any_verb(client, furnished):
    before = records()
    found = everything(client, (*ASKING, "post"), frozenset(OPEN))
    assert {what: status for what, status in found.items() if status != 302} == {}
    assert records() == before


@pytest.mark.slow
def test_an_onlooker_changes_nothing_by_any_verb(client, furnished, onlooker):
    client.force_login(onlooker)
    before = records()
    left = addresses.DOORS | addresses.THEIR_OWN
    asked = everything(client, ASKING, left)
    assert set(asked.values()) <= {200, 302, 403, 404, 405}, asked
    assert set(everything(client, ("post",), left).values()) == {403, 405}
    assert records() == before


@pytest.mark.slow
def test_a_maker_is_refused_what_is_the_owner_s_and_nothing_else(client, furnished, maker):
    client.force_login(maker)
    client.raise_request_exception = False
    asked = everything(client, ("get",), addresses.DOORS)
    assert {what.split()[1] for what, status in asked.items() if status == 403} == OWNERS
    before = records()
    posted = everything(client, ("post",), frozenset(addresses.names()) - OWNERS)
    # What is the owner's to read alone is refused before the verb is looked at.
    assert set(posted.values()) == {403}, posted
    assert records() == before


@pytest.mark.slow
def test_what_changes_something_answers_405_to_a_look(inside, furnished):
    """An address that is no page is one for changes, and a look at it is refused by its verb."""
    pages = set(addresses.pages(inside))
    changing = {name for name in addresses.posting(inside) if name not in pages | addresses.DOORS}
    assert len(changing) > 50
    inside.force_login(furnished)  # one of those addresses signs out
    before = records()
    looks = everything(inside, ("get", "head"), frozenset(addresses.names()) - changing)
    assert {what: status for what, status in looks.items() if status != 405} == {}
    assert records() == before


@pytest.mark.slow
def test_what_changes_something_has_words_for_the_list_of_deeds(inside):
    """The icon takes any verb and changes nothing, and so do those who ask for health."""
    assert set(addresses.posting(inside)) - {"icon", "health"} == set(DEED_WORDS)
