"""Pages of projects put away, thrown away, copied, and changed several decals at a time."""

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import connection
from django.test.utils import CaptureQueriesContext

from decaljobs.craft.stages import Build
from decaljobs.models import Panel, Photo, Project
from tests.factories import (
    make_decal,
    make_decals,
    make_project,
    picture_bytes,
    sealed_decal,
)


def said(client, address):
    return client.get(address).content.decode()


@pytest.fixture
def project(db):
    return make_project(name="Tug Heron", code="P-01")


def test_a_project_put_away_is_on_no_list_but_its_own_and_in_the_search(signed_in, project, maker):
    sealed_decal(maker, Build.WHITE_ALONE, project=project, place="Door")
    signed_in.post("/projects/P-01/put-away/", follow=True)
    assert "Tug Heron" not in said(signed_in, "/")
    assert "Tug Heron" not in said(signed_in, "/projects/")
    assert "Tug Heron" in said(signed_in, "/projects/?state=archived")
    assert "put away" in said(signed_in, "/projects/?q=heron")
    assert "put away" in said(signed_in, "/search/?q=heron")
    assert "nothing can be logged on it" in said(signed_in, "/projects/P-01/")
    signed_in.post("/projects/P-01/bring-back/")
    assert "Tug Heron" in said(signed_in, "/")


def test_a_project_in_the_bin_is_found_nowhere_else(signed_in, project):
    make_decal(project=project, place="Door")
    answer = signed_in.post("/projects/P-01/throw-away/", follow=True)
    assert "until the owner empties it" in answer.content.decode()
    for address in ("/", "/projects/", "/projects/?q=heron", "/search/?q=heron"):
        assert "Tug Heron" not in said(signed_in, address)
    assert "Nothing was ever logged on it" in said(signed_in, "/bin/")


def test_only_the_owner_empties_the_bin(client, signed_in, project, owner):
    signed_in.post("/projects/P-01/throw-away/")
    assert "Only the owner" in said(signed_in, "/bin/")
    assert signed_in.post("/bin/empty/").status_code == 403
    client.force_login(owner)
    assert "This cannot be undone" in said(client, "/bin/")
    answer = client.post("/bin/empty/", follow=True)
    assert "1 removed altogether, 0 down to their log" in answer.content.decode()
    assert not Project.objects.exists()


def test_the_bin_asks_the_same_for_any_number_of_projects(signed_in, maker):
    asked = []
    for number in (1, 4):
        for _ in range(number):
            decal = sealed_decal(maker, Build.WHITE_ALONE, project=make_project())
            signed_in.post(f"/projects/{decal.project.code}/throw-away/")
        said(signed_in, "/bin/")  # what was done is said once
        with CaptureQueriesContext(connection) as queries:
            page = said(signed_in, "/bin/")
        assert page.count("It has a log") == Project.objects.count()
        asked.append(len(queries))
    assert asked[0] == asked[1] < 10


def test_the_bin_says_what_emptying_takes_of_each(client, owner, project):
    sealed_decal(owner, Build.WHITE_ALONE, project=project, place="Door")
    client.force_login(owner)
    client.post("/projects/P-01/throw-away/")
    assert "It has a log" in said(client, "/bin/")
    client.post("/bin/empty/")
    assert "Emptied from the bin" in said(client, "/projects/P-01/")
    assert "emptied from the bin" in said(client, "/sheets/W-01/")


def test_a_project_is_copied_under_another_name(signed_in, project):
    make_decals(2, project=project, place="Door")
    answer = signed_in.post("/projects/P-01/copy/", {"name": "Tug Tern", "code": ""})
    assert answer["Location"] == "/projects/P-02/"
    assert Project.objects.get(code="P-02").decals.count() == 2


@pytest.mark.parametrize(
    ("code", "words"), [("p-01", "has this code already"), ("a b", "capital letters")]
)
def test_a_copy_s_code_must_be_one_and_free(signed_in, project, code, words):
    answer = signed_in.post("/projects/P-01/copy/", {"name": "Tug Tern", "code": code})
    assert words in answer.content.decode()
    assert Project.objects.count() == 1


def test_ticked_decals_are_changed_and_the_others_not(signed_in, project):
    one, other = make_decals(2, project=project, place="Door")
    wanted = {"decals": [one.pk], "build": "white_alone", "note": "mind"}
    answer = signed_in.post("/projects/P-01/several/", wanted, follow=True)
    assert "1 decal is changed." in answer.content.decode()
    assert set(project.decals.values_list("number", "build", "note")) == {
        (one.number, "white_alone", "mind"),
        (other.number, "laminated", ""),
    }


def test_a_refusal_keeps_the_ticks(signed_in, project):
    (decal,) = make_decals(1, project=project, place="Door")
    page = signed_in.post("/projects/P-01/several/", {"decals": [decal.pk]}).content.decode()
    assert "Say what is to become of the ticked decals." in page
    assert f'id="tick-{decal.pk}" checked' in page


def test_decals_of_another_project_are_not_changed(signed_in, project):
    (decal,) = make_decals(1, place="Door")
    wanted = {"decals": [decal.pk], "note": "mind"}
    assert signed_in.post("/projects/P-01/several/", wanted).status_code == 422
    decal.refresh_from_db()
    assert decal.note == ""


def test_ticking_nothing_is_told_beside_the_list(signed_in, project):
    make_decals(1, project=project)
    page = signed_in.post("/projects/P-01/several/", {"note": "mind"}).content.decode()
    assert "Tick at least one decal." in page


def test_nothing_is_offered_or_added_while_a_project_is_put_away(signed_in, project, maker):
    decal = sealed_decal(maker, Build.WHITE_ALONE, project=project, place="Door")
    assert "Base applied" in said(signed_in, "/projects/P-01/")
    signed_in.post("/projects/P-01/put-away/", follow=True)
    page = said(signed_in, "/projects/P-01/")
    assert "Add decals" not in page
    assert "next-here" not in page
    assert "nothing can be logged until" in said(signed_in, f"/decals/{decal.pk}/")
    wanted = {
        "place": "Roof",
        "artwork": decal.artwork_id,
        "build": "clear_alone",
        "count": "1",
    }
    answer = signed_in.post("/projects/P-01/decals/new/", wanted)
    assert "bring it back first" in answer.content.decode()
    assert project.decals.count() == 1


def test_what_was_emptied_is_not_given_another_name(client, owner, project):
    sealed_decal(owner, Build.WHITE_ALONE, project=project, place="Door")
    client.force_login(owner)
    client.post("/projects/P-01/throw-away/")
    client.post("/bin/empty/")
    wanted = {"name": "Tug Again", "scale": "1:72", "body_colour": "#112233", "finish": "gloss"}
    answer = client.post("/projects/P-01/change/", wanted)
    assert "only its log is left" in answer.content.decode()
    assert Project.objects.get().name == "emptied from the bin"


def picture():
    return SimpleUploadedFile("door.jpg", picture_bytes("JPEG"), content_type="image/jpeg")


def test_what_was_emptied_takes_no_photo_and_no_panel(client, owner, project):
    decal = sealed_decal(owner, Build.WHITE_ALONE, project=project, place="Door")
    client.force_login(owner)
    client.post("/projects/P-01/throw-away/")
    client.post("/bin/empty/")
    assert "photos" not in said(client, "/projects/P-01/").split("<main")[1]
    for address in ("/projects/P-01/photos/", f"/decals/{decal.pk}/photos/"):
        assert "Add photos" not in said(client, address)
        answer = client.post(address, {"photos": picture()})
        assert answer.status_code == 422
        assert "only its log is left" in answer.content.decode()
    panel = {"name": "Side", "measured": "model", "width_mm": "60", "height_mm": "20"}
    assert "Add a panel" not in said(client, "/projects/P-01/placing/")
    answer = client.post("/projects/P-01/placing/", panel)
    assert answer.status_code == 422
    assert not Photo.objects.exists() and not Panel.objects.exists()
