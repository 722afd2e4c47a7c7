"""Filters and orders of all lists: kept in the address, bounded, never an error."""

from datetime import date, timedelta

import pytest

from decaljobs.craft.stages import Build, Film
from decaljobs.forms import lists
from decaljobs.models import Artwork, Person, Project, Role, Sheet, Trial
from tests.factories import (
    EVENING,
    make_artwork,
    make_decal,
    make_decals,
    make_person,
    make_project,
    make_sheet,
    sealed_decal,
)

LISTS = {
    "/projects/": lists.ProjectsForm,
    "/sheets/": lists.SheetsForm,
    "/artwork/": lists.ArtworkListForm,
    "/trials/": lists.TrialsForm,
    "/people/": lists.PeopleForm,
}

MADE = {
    "/projects/": make_project,
    "/sheets/": make_sheet,
    "/artwork/": make_artwork,
    "/trials/": lambda: Trial.objects.create(paint="Grey", start="#777777", begun_at=EVENING),
    "/people/": make_person,
}


def shown(client, address):
    return [str(row) for row in client.get(address).context["rows"]]


@pytest.fixture
def filled(request, signed_in):
    """Two rows in the list of the test's address; the rows that it shows unasked."""
    address = request.getfixturevalue("address")
    for _ in range(2):
        MADE[address]()
    return shown(signed_in, address)


def choices_of(address):
    """Each choice of a list, by the field that offers it."""
    fields = LISTS[address]().fields.items()
    return [(name, value) for name, field in fields for value, _ in getattr(field, "choices", [])]


@pytest.mark.parametrize("address", LISTS)
def test_every_choice_of_a_list_narrows_or_orders_it_in_as_many_queries(
    signed_in, address, filled, django_assert_max_num_queries
):
    assert len(filled) >= 2
    for name, value in choices_of(address):
        with django_assert_max_num_queries(6):
            rows = shown(signed_in, f"{address}?{name}={value}")
        assert set(rows) <= set(filled), (name, value)
        assert name != "sort" or sorted(rows) == sorted(filled), value


@pytest.mark.parametrize("address", LISTS)
def test_a_choice_that_is_not_offered_is_left_out(signed_in, address, filled):
    names = {name for name, _ in choices_of(address)}
    assert names
    for name in names:
        assert shown(signed_in, f"{address}?{name}=name; DROP TABLE") == filled, name


def test_projects_are_shown_by_where_they_stand(signed_in, maker):
    make_project(name="Empty", code="A")
    sealed_decal(maker, Build.WHITE_ALONE, project=make_project(name="Ready", code="B"))
    make_decal(project=make_project(name="Held", code="C"))
    assert shown(signed_in, "/projects/?state=without") == ["A Empty"]
    assert shown(signed_in, "/projects/?state=unfinished&sort=code") == ["B Ready", "C Held"]
    assert shown(signed_in, "/projects/?state=finished") == []
    with_ready = Project.objects.with_counts(EVENING).standing("ready")
    assert [project.code for project in with_ready] == ["B"]


def test_projects_are_sorted_by_due_date_those_without_last(signed_in):
    make_project(name="Whenever", code="A")
    make_project(name="Later", code="B", due=date(2027, 3, 1))
    make_project(name="Soon", code="C", due=date(2026, 12, 1))
    assert shown(signed_in, "/projects/?sort=due") == ["C Soon", "B Later", "A Whenever"]
    assert shown(signed_in, "/projects/?sort=name") == ["B Later", "C Soon", "A Whenever"]


def test_sheets_are_shown_by_where_they_stand(maker):
    sealed_decal(maker, Build.WHITE_ALONE)
    make_sheet(Film.CLEAR)
    stand = {
        how: [sheet.code for sheet in Sheet.objects.standing(how, EVENING)]
        for how in ("unprinted", "unsealed", "drying", "dry", "lost")
    }
    assert stand == {
        "unprinted": ["C-01"],
        "unsealed": [],
        "drying": [],
        "dry": ["W-01"],
        "lost": [],
    }
    earlier = EVENING - timedelta(days=3)
    assert [s.code for s in Sheet.objects.standing("drying", earlier)] == ["W-01"]


def test_sheets_are_narrowed_by_film_and_printer_together(signed_in):
    make_sheet(Film.WHITE, printer="laser")
    make_sheet(Film.WHITE)
    make_sheet(Film.CLEAR)
    assert shown(signed_in, "/sheets/?film=white&printer=inkjet") == ["W-02"]


def test_artwork_is_shown_by_use_and_sharpness(db):
    used, spare = make_artwork(name="Used"), make_artwork(name="Wide", width_mm=200)
    make_decals(3, artwork=used)
    counted = Artwork.objects.with_counts()
    assert list(counted.used()) == [used]
    assert list(counted.used(False)) == [spare]
    # 240 px on 200 mm are 30 dpi, on 24 mm 254: both below 300; on 20 mm they are 304.8.
    assert set(counted.coarse()) == {used, spare}
    Artwork.objects.filter(pk=used.pk).update(width_mm=20)
    assert list(counted.coarse()) == [spare]


def test_decals_of_a_project_are_narrowed_by_build_and_step(signed_in, maker):
    project = make_project()
    make_decal(Build.CLEAR_ALONE, project=project, place="Roof")
    sealed_decal(maker, Build.WHITE_ALONE, project=project, place="Door")
    address = project.get_absolute_url()
    assert shown(signed_in, f"{address}?build=clear_alone") == ["Roof"]
    assert shown(signed_in, f"{address}?step=base_applied") == ["Door"]
    assert shown(signed_in, f"{address}?sort=ready") == ["Door", "Roof"]
    assert shown(signed_in, f"{address}?step=none") == []


def test_trials_are_shown_with_a_recipe_and_without(signed_in):
    Trial.objects.create(paint="Grey", start="#777777", begun_at=EVENING)
    assert shown(signed_in, "/trials/?state=open") == ["Grey"]
    assert shown(signed_in, "/trials/?state=kept") == []


def test_people_are_shown_by_role(signed_in):
    make_person(Role.ONLOOKER, username="ona")
    assert shown(signed_in, "/people/?role=onlooker") == ["ona"]
    assert Person.objects.count() == 2


def test_what_was_asked_for_stays_in_the_form_and_in_further_pages(signed_in):
    for n in range(51):
        make_project(name=f"Heron {n}")
    page = signed_in.get("/projects/?q=heron&state=without&sort=name").content.decode()
    assert 'value="without" selected' in page
    assert 'value="name" selected' in page
    assert "q=heron&amp;state=without&amp;sort=name&amp;page=2" in page
    assert "Show all" in page


def test_an_empty_answer_says_that_less_was_asked_for(signed_in):
    make_project()
    assert "No project is like that" in signed_in.get("/projects/?state=ready").content.decode()
