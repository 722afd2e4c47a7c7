"""One search over everything; a code goes straight to its page."""

from datetime import timedelta

import pytest
from django.urls import reverse

from decaljobs.models import Recipe, Supply, Trial
from decaljobs.services.finding import MOST_OF_A_KIND, around
from tests.factories import EVENING, make_artwork, make_decals, make_project, make_sheet


def find(client, words):
    return client.get(reverse("search"), {"q": words})


def found(client, words):
    """How many records of each kind are shown."""
    return {group.kind: len(group.rows) for group in find(client, words).context["groups"]}


def make_recipe(paint):
    trial = Trial.objects.create(paint=paint, start="#1f3a6e", begun_at=EVENING)
    return Recipe.objects.create(
        trial=trial,
        colour="#203b70",
        printer="desk printer",
        material="film",
        expected=1.2,
        kept_at=EVENING,
    )


@pytest.fixture
def records(db):
    project = make_project(name="Tug Heron", code="P-07", notes="Grey like a heron's back")
    art = make_artwork(name="Heron")
    make_decals(1, project=project, place="Funnel heron", artwork=art, note="heron faces aft")
    make_recipe("Heron grey")
    size = {"width_mm": 210, "height_mm": 297}
    Supply.objects.create(
        name="Heron clear film", kind="film", film="clear", printer="inkjet", **size
    )
    Supply.objects.create(name="Heron gone", kind="blade", gone_at=EVENING)
    return project, make_sheet(note="heron spares")


@pytest.mark.parametrize("typed", ["P-07", "p-07", " p-07 ", "P7", "p 07", "p07"])
def test_a_card_s_code_opens_its_project(signed_in, records, typed):
    assert find(signed_in, typed)["Location"] == "/projects/P-07/"


@pytest.mark.parametrize("typed", ["w-01", "W1"])
def test_a_sheet_s_code_opens_its_sheet(signed_in, records, typed):
    assert find(signed_in, typed)["Location"] == "/sheets/W-01/"


def test_it_finds_words_in_all_kinds_of_record(signed_in, records):
    assert found(signed_in, "heron") == {
        "projects": 1,
        "decals": 1,
        "artwork": 1,
        "sheets": 1,
        "recipes": 1,
        "supplies": 1,
        "notes": 2,
    }


@pytest.mark.parametrize("typed", ["tug heron", "HERON tug", "her tu"])
def test_every_word_must_stand_somewhere_in_whatever_order(signed_in, records, typed):
    assert found(signed_in, typed)["projects"] == 1
    assert found(signed_in, f"{typed} gannet") == {}


def test_a_note_is_shown_around_the_words(signed_in, records):
    assert "‘<bdi>Grey like a heron&#x27;s back</bdi>’" in find(signed_in, "back").content.decode()


def test_a_long_note_is_cut_at_blanks_around_the_words():
    said = around(f"{'lead ' * 40}heron {'tail ' * 40}", "heron")
    assert said.startswith("… lead")
    assert said.endswith("tail …")
    assert "heron" in said
    assert len(said) < 160


def test_capitals_beyond_ascii_are_no_matter(signed_in, db):
    make_project(name="Ödland")
    assert found(signed_in, "ödland") == {"projects": 1}


@pytest.mark.parametrize("typed", ["%", "_", "'; DROP TABLE x; --", "<script>", "\x00", "x" * 400])
def test_it_takes_any_characters_as_words(signed_in, records, typed):
    answer = find(signed_in, typed)
    assert answer.status_code == 200
    assert "<script>" not in answer.content.decode()


def test_many_words_ask_no_more_than_eight(signed_in, records):
    assert found(signed_in, "heron " * 8 + "gannet")["projects"] == 1


def test_it_asks_what_is_looked_for(signed_in):
    assert "What are you looking for?" in find(signed_in, "").content.decode()


@pytest.mark.parametrize("number", [3, 60])
def test_rows_and_queries_stay_bounded(signed_in, django_assert_max_num_queries, number):
    project, art = make_project(name="Tug Heron"), make_artwork(name="Heron")
    for n in range(number):
        make_project(name=f"Heron {n}", moment=EVENING - timedelta(days=n))
        make_decals(1, project=project, place=f"heron {n}", artwork=art, note="heron")
        make_sheet(note="heron")
    with django_assert_max_num_queries(16):
        answer = find(signed_in, "heron")
    groups = {group.kind: group for group in answer.context["groups"]}
    assert max(len(group.rows) for group in groups.values()) <= MOST_OF_A_KIND
    assert bool(groups["projects"].more_at) == (number > MOST_OF_A_KIND)


def test_all_of_a_kind_are_a_link_away(signed_in, db):
    for n in range(MOST_OF_A_KIND + 1):
        make_project(name=f"Heron {n}")
    page = find(signed_in, "heron").content.decode()
    assert 'href="/projects/?q=heron"' in page
    assert len(signed_in.get("/projects/?q=heron").context["rows"]) == MOST_OF_A_KIND + 1


@pytest.mark.parametrize("path", ["decals", "artwork", "pieces", "trials"])
def test_a_number_past_all_counting_is_no_page(signed_in, path):
    assert signed_in.get(f"/{path}/{'9' * 25}/").status_code == 404
