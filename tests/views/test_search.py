"""One search over everything; a code goes straight to its page."""

import pytest
from django.urls import reverse

from tests.factories import make_artwork, make_decals, make_project, make_sheet


def find(client, words):
    return client.get(reverse("search"), {"q": words})


@pytest.fixture
def records(db):
    project = make_project(name="Tug Heron", code="P-07")
    make_decals(1, project=project, place="Funnel heron", artwork=make_artwork(name="Heron"))
    return project, make_sheet(note="heron spares")


@pytest.mark.parametrize("typed", ["P-07", "p-07", " p-07 "])
def test_a_card_s_code_opens_its_project(signed_in, records, typed):
    assert find(signed_in, typed)["Location"] == "/projects/P-07/"


def test_a_sheet_s_code_opens_its_sheet(signed_in, records):
    assert find(signed_in, "w-01")["Location"] == "/sheets/W-01/"


def test_it_finds_words_in_all_kinds_of_record(signed_in, records):
    context = find(signed_in, "heron").context
    kinds = ("projects", "decals", "sheets", "artwork")
    assert [len(context[kind]) for kind in kinds] == [1, 1, 1, 1]


@pytest.mark.parametrize("typed", ["%", "_", "'; DROP TABLE x; --", "<script>", "\x00", "x" * 400])
def test_it_takes_any_characters_as_words(signed_in, records, typed):
    answer = find(signed_in, typed)
    assert answer.status_code == 200
    assert "<script>" not in answer.content.decode()


def test_it_asks_what_is_looked_for(signed_in):
    assert "What are you looking for?" in find(signed_in, "").content.decode()


@pytest.mark.parametrize("path", ["decals", "artwork", "pieces", "trials"])
def test_a_number_past_all_counting_is_no_page(signed_in, path):
    assert signed_in.get(f"/{path}/{'9' * 25}/").status_code == 404
