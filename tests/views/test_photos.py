"""Photos on the pages of a project and a decal: sent, refused, looked at, removed."""

import re

import pytest
import time_machine
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from decaljobs.craft.stages import Stage
from decaljobs.models import Photo
from tests.factories import (
    EVENING,
    make_decal,
    make_photos,
    make_project,
    picture_bytes,
    sealed_decal,
)

pytestmark = pytest.mark.django_db


def upload(name="bow.jpg", data=None, kind="JPEG"):
    return SimpleUploadedFile(name, data or picture_bytes(kind), content_type="image/jpeg")


def send(client, decal, htmx=False, **fields):
    headers = {"hx-request": "true"} if htmx else {}
    return client.post(reverse("decal-photos", args=[decal.pk]), fields, headers=headers)


def test_several_photos_are_kept_at_one_go(signed_in, maker):
    decal = make_decal()
    answer = send(
        signed_in,
        decal,
        camera=upload("camera.jpg"),
        photos=[upload("one.jpg"), upload("two.png", kind="PNG")],
        stage="sealed",
        caption="before the base",
    )
    assert answer["Location"] == reverse("decal-photos", args=[decal.pk])
    kept = Photo.objects.shown()
    assert [(p.decal, p.project, p.stage, p.caption, p.by) for p in kept] == [
        (decal, decal.project, "sealed", "before the base", maker)
    ] * 3
    assert "3 photos kept." in signed_in.get(answer["Location"]).content.decode()


def test_a_fragment_is_answered_with_the_new_photos(signed_in):
    decal = make_decal()
    leads_to = send(signed_in, decal, htmx=True, photos=upload())["Location"]
    answer = signed_in.get(leads_to, headers={"HX-Request": "true"}).content.decode()
    assert "1 photo kept." in answer
    assert reverse("photo-small", args=[Photo.objects.get().pk]) in answer
    assert "<!doctype" not in answer


@pytest.mark.parametrize("htmx", [False, True])
def test_a_bad_file_is_refused_by_its_name_and_nothing_is_kept(signed_in, settings, htmx):
    decal = make_decal()
    bad = upload("letter.jpg", b"not a picture at all")
    answer = send(signed_in, decal, htmx, photos=[upload("good.jpg"), bad], caption="the bow")
    told = answer.content.decode()
    assert answer.status_code == 422
    assert "letter.jpg: This file is not a PNG, JPEG or WEBP picture." in told
    assert "good.jpg" not in told
    assert 'value="the bow"' in told
    assert 'aria-invalid="true"' in told
    assert not Photo.objects.exists()
    assert not list(settings.MEDIA_ROOT.rglob("*.jpg"))


@pytest.mark.parametrize(
    ("fields", "told"),
    [
        ({}, "Take a photo or choose one."),
        ({"camera": upload("empty.jpg", b" ")}, "empty.jpg: This file is not"),
        ({"photos": upload("shot.heic", b"    ftypheic" + bytes(50))}, "HEIC photo"),
        ({"photos": upload(), "stage": "glued"}, "Select a valid choice"),
        ({"photos": upload(), "caption": "x" * 201}, "at most 200 characters"),
    ],
)
def test_what_makes_no_sense_is_refused_beside_its_field(signed_in, fields, told):
    answer = send(signed_in, make_decal(), **fields)
    assert answer.status_code == 422
    assert told in answer.content.decode()
    assert not Photo.objects.exists()


def test_too_many_at_once_are_refused_before_any_is_read(signed_in, monkeypatch):
    def read(_):
        raise AssertionError("it was read")

    monkeypatch.setattr("decaljobs.forms.photos.ready_photo", read)
    answer = send(signed_in, make_decal(), photos=[upload() for _ in range(21)])
    assert answer.status_code == 422
    assert "at most 20 photos" in answer.content.decode()


def test_a_file_that_is_too_long_is_not_read(signed_in, monkeypatch):
    monkeypatch.setattr("decaljobs.forms.photos.LARGEST_FILE", 100)
    answer = send(signed_in, make_decal(), photos=upload("long.jpg"))
    assert "long.jpg: This file is over 24 MB" in answer.content.decode()


def test_a_project_s_photos_are_its_own_and_those_of_its_decals(signed_in):
    decal = make_decal(place="Tail")
    make_photos(1, decal=decal, stage=Stage.SEALED)
    make_photos(1, project=decal.project, caption="bare body")
    make_photos(1, caption="another model")
    path = reverse("project-photos", args=[decal.project.code.lower()])
    shown = signed_in.get(path).content.decode()
    assert "Tail, sealed" in shown
    assert "bare body" in shown
    assert "another model" not in shown
    signed_in.post(path, {"photos": upload(), "caption": "painted"})
    assert Photo.objects.get(caption="painted").decal is None


def test_two_photos_stand_side_by_side_and_others_can_be_named(signed_in):
    project = make_project()
    kept = [make_photos(1, project=project, caption=f"no {n}")[0] for n in range(3)]
    path = reverse("project-photos", args=[project.code])
    assert sides(signed_in.get(path)) == ["no 0", "no 2"]
    assert sides(signed_in.get(path, {"before": kept[1].pk})) == ["no 1", "no 2"]
    assert sides(signed_in.get(path, {"before": "NaN", "after": "9" * 30})) == ["no 0", "no 2"]
    assert sides(signed_in.get(reverse("project", args=[project.code]))) == ["no 0", "no 2"]


def sides(answer):
    pair = answer.context["photos"].pair
    html = answer.content.decode()
    assert f'alt="Before: {pair.before.words}"' in html
    assert f'alt="After: {pair.after.words}"' in html
    return [pair.before.words, pair.after.words]


def test_the_decal_s_page_shows_its_photos_and_takes_more(signed_in):
    decal = make_decal()
    (photo,) = make_photos(1, decal=decal, caption="white film")
    shown = signed_in.get(decal.get_absolute_url()).content.decode()
    assert reverse("photo-small", args=[photo.pk]) in shown
    (camera, chooser) = re.findall(r'<input type="file"[^>]*>', shown)
    assert 'capture="environment"' in camera and "multiple" not in camera
    assert "capture" not in chooser and "multiple" in chooser


@pytest.mark.parametrize("name", ["photo-picture", "photo-small"])
def test_the_pictures_are_for_those_who_are_let_in(client, signed_in, name):
    (photo,) = make_photos(1)
    path = reverse(name, args=[photo.pk])
    answer = signed_in.get(path)
    assert answer["Content-Type"] == "image/jpeg"
    assert b"".join(answer).startswith(b"\xff\xd8\xff")
    client.logout()
    assert client.get(path).status_code == 302


def test_a_removed_photo_can_be_put_back_from_its_own_page(signed_in):
    (photo,) = make_photos(1, caption="blurred")
    path = reverse("project", args=[photo.project.code])
    answer = signed_in.post(reverse("photo-remove", args=[photo.pk]), follow=True)
    assert "Put it back" in answer.content.decode()
    assert "blurred" not in signed_in.get(path).content.decode()
    assert "blurred" in signed_in.get(reverse("project-photos", args=[photo.project.code])).text
    answer = signed_in.post(reverse("photo-put-back", args=[photo.pk]), follow=True)
    assert "The photo is back." in answer.content.decode()
    assert (
        reverse("photo-small", args=[photo.pk])
        in signed_in.get(reverse("project-photos", args=[photo.project.code])).content.decode()
    )


def test_only_the_owner_deletes_for_good(client, maker, owner):
    (photo,) = make_photos(1)
    path = reverse("photo-drop", args=[photo.pk])
    client.force_login(maker)
    assert client.post(path).status_code == 403
    client.force_login(owner)
    told = client.post(path, follow=True).content.decode()
    assert "Remove the photo first" in told
    client.post(reverse("photo-remove", args=[photo.pk]))
    assert client.post(path)["Location"] == reverse("project-photos", args=[photo.project.code])
    assert not Photo.objects.exists()


def test_words_are_changed_on_the_photo_s_page(signed_in):
    (photo,) = make_photos(1)
    path = reverse("photo", args=[photo.pk])
    signed_in.post(path, {"stage": "set", "caption": "done"})
    photo.refresh_from_db()
    assert (photo.stage, photo.caption) == ("set", "done")
    assert signed_in.post(path, {"stage": "glued"}).status_code == 422


def test_an_onlooker_looks_and_changes_nothing(client, onlooker):
    (photo,) = make_photos(1)
    client.force_login(onlooker)
    project, own = photo.project, reverse("photo", args=[photo.pk])
    page = client.get(reverse("project-photos", args=[project.code])).content.decode()
    assert "Keep the photos" not in page
    assert "Keep the words" not in client.get(own).content.decode()
    for path in (reverse("project-photos", args=[project.code]), own):
        assert client.post(path, {"photos": upload()}).status_code == 403
    assert client.post(reverse("photo-remove", args=[photo.pk])).status_code == 403
    assert Photo.objects.get().removed_at is None


@pytest.mark.parametrize("number", [1, 40])
def test_the_page_asks_the_same_for_any_number(signed_in, django_assert_num_queries, number):
    decal = make_decal()
    make_photos(number, decal=decal, moment=EVENING)
    with django_assert_num_queries(5):
        page = signed_in.get(reverse("decal-photos", args=[decal.pk]))
    assert page.context["photos"].count == number


def test_what_was_just_logged_can_be_photographed_at_once(signed_in, maker):
    decal = sealed_decal(maker)
    path = reverse("decal-photos", args=[decal.pk])
    with time_machine.travel(EVENING, tick=False):
        signed_in.post(reverse("decal-log", args=[decal.pk]), {"step": "base_applied"})
        told = signed_in.get(reverse("bench")).content.decode()
        assert f'<a class="button" href="{path}">Photo<' in told
        page = signed_in.get(path).content.decode()
    assert '<option value="base_applied" selected>' in page
    assert "<h3>Add photos</h3>" in page
