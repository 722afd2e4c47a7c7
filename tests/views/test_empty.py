"""Lists that are empty say what belongs there and lead on; nobody is led where they may not go."""

import pytest
from django.urls import reverse

from decaljobs.models import Room
from tests.factories import make_artwork, make_decal, make_project, make_sheet

pytestmark = pytest.mark.django_db

#: Each list's address, and where its empty page leads a maker.
LISTS = {
    "bench": ("project-new", lambda: reverse("bench")),
    "projects": ("project-new", lambda: reverse("projects")),
    "sheets": ("sheet-new", lambda: reverse("sheets")),
    "artwork": ("artwork-new", lambda: reverse("artwork-list")),
    "trials": ("trial-new", lambda: reverse("trials")),
    "spares": ("sheets", lambda: reverse("sheet-spares")),
    "queue": ("projects", lambda: reverse("sheet-next")),
    "a project": ("decals-new", lambda: make_project().get_absolute_url()),
    "a drawing": ("projects", lambda: make_artwork().get_absolute_url()),
    "a sheet": ("sheet-fill", lambda: make_sheet().get_absolute_url()),
}
#: Those that lead to nothing but looking.
FOR_ALL = {"spares", "queue", "a drawing"}


def empty_part(html: str) -> str:
    """The page's empty state: its heading, its words and its way on."""
    assert html.count('class="empty"') == 1
    return html.split('class="empty"')[1].split("</div>")[0]


def words_of(part: str) -> str:
    return part.split("<p>")[1].split("</p>")[0]


@pytest.mark.parametrize("name", LISTS)
def test_it_says_what_belongs_there_and_leads_on(signed_in, name):
    leads_to, address = LISTS[name]
    path = address()
    part = empty_part(signed_in.get(path).content.decode())
    assert len(words_of(part).split()) >= 8
    code = path.rstrip("/").split("/")[-1]
    target = reverse(leads_to, args=[code] if leads_to in ("decals-new", "sheet-fill") else [])
    assert f'href="{target}"' in part


@pytest.mark.parametrize("name", LISTS)
def test_an_onlooker_is_led_to_nothing_they_may_not_do(client, onlooker, name):
    client.force_login(onlooker)
    part = empty_part(client.get(LISTS[name][1]()).content.decode())
    assert len(words_of(part).split()) >= 8
    assert ("href=" in part) == (name in FOR_ALL)


@pytest.mark.parametrize(
    ("address", "taught"),
    [
        (lambda: Room.objects.get().get_absolute_url(), "A thermometer with a hygrometer will do"),
        (lambda: make_decal().get_absolute_url(), "Printing and sealing are logged on its sheets"),
        (lambda: make_decal().get_absolute_url(), "One before the base and one after the overcoat"),
        (lambda: make_decal().get_absolute_url(), "None on a sheet yet."),
        (lambda: reverse("project-photos", args=[make_project().code]), "None yet. One before"),
        (lambda: make_project().get_absolute_url(), "Say how large the model's sides are"),
        (lambda: reverse("search"), "Words from a project"),
    ],
)
def test_parts_of_pages_that_are_empty_teach_too(signed_in, address, taught):
    page = signed_in.get(address()).content.decode().replace("&#x27;", "'")
    assert taught in page
