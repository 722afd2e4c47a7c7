"""Forms that bring a file: sent twice they are taken once, and nobody else waits meanwhile."""

from concurrent.futures import ThreadPoolExecutor
from datetime import timedelta

import pytest
import time_machine
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import connections
from django.test import Client

from decaljobs.models import Artwork, KeptAnswer, Photo
from decaljobs.services.answers import CUT_OFF, claim
from decaljobs.views import once
from tests.factories import EVENING, make_decal, picture_bytes

KEY = "key-of-a-form-with-files"


def photo(name: str = "bow.jpg") -> SimpleUploadedFile:
    return SimpleUploadedFile(name, picture_bytes("JPEG"), content_type="image/jpeg")


def send(client: Client, decal, *, name: str = "bow.jpg", **more: object):
    form = {"stage": "", "caption": "", "key": KEY, "photos": [photo(name)]}
    return client.post(f"/decals/{decal.pk}/photos/", {**form, **more})


def test_photos_that_are_sent_twice_are_kept_once(signed_in):
    decal = make_decal()
    first, second = send(signed_in, decal), send(signed_in, decal)
    assert first.status_code == 302
    assert second["Location"] == first["Location"]
    assert Photo.objects.count() == 1


def test_another_photo_from_the_same_page_is_another_photo(signed_in):
    decal = make_decal()
    send(signed_in, decal)
    send(signed_in, decal, name="stern.jpg")
    assert Photo.objects.count() == 2


def test_artwork_that_is_sent_twice_is_kept_once(signed_in):
    for _ in range(2):
        form = {"name": "Roundel", "width_mm": "24", "key": KEY, "picture": photo()}
        assert signed_in.post("/artwork/new/", form).status_code == 302
    assert Artwork.objects.filter(name="Roundel").count() == 1


def test_what_was_refused_may_be_sent_again(signed_in):
    decal = make_decal()
    spoilt = SimpleUploadedFile("bow.jpg", b"no picture", content_type="image/jpeg")
    assert send(signed_in, decal, photos=[spoilt]).status_code == 422
    assert not KeptAnswer.objects.exists()
    assert send(signed_in, decal).status_code == 302


def test_a_failure_leaves_the_way_free(signed_in, monkeypatch):
    decal = make_decal()
    with monkeypatch.context() as broken:
        broken.setattr("decaljobs.services.projects.photos.add_photos", None)
        with pytest.raises(TypeError):
            send(signed_in, decal)
    assert send(signed_in, decal).status_code == 302
    assert Photo.objects.count() == 1


def test_it_says_that_the_same_form_is_still_being_saved(signed_in, monkeypatch):
    """The first is left in the middle of its work, as far as anybody can tell."""
    monkeypatch.setattr(once, "PATIENCE", 0.0)
    decal = make_decal()
    send(signed_in, decal)
    KeptAnswer.objects.update(leads_to="")
    answer = send(signed_in, decal)
    page = signed_in.get(answer["Location"]).content.decode()
    assert once.STILL_AT_IT in page
    assert Photo.objects.count() == 1


def test_what_was_cut_off_is_taken_up_by_one(maker):
    asked = {"person": maker, "key": KEY, "asked": "a" * 64}
    assert claim(**asked, moment=EVENING)[1]
    assert not claim(**asked, moment=EVENING + CUT_OFF - timedelta(seconds=1))[1]
    late = EVENING + CUT_OFF + timedelta(seconds=1)
    assert [claim(**asked, moment=late)[1] for _ in range(2)] == [True, False]


@pytest.mark.django_db(transaction=True, serialized_rollback=True)
def test_eight_at_once_make_one_photo_and_eight_equal_answers(maker):
    decal = make_decal()

    def post(_: int) -> tuple[int, str]:
        client = Client()
        client.force_login(maker)
        try:
            answer = send(client, decal)
            return answer.status_code, answer["Location"]
        finally:
            connections.close_all()

    with time_machine.travel(EVENING, tick=True), ThreadPoolExecutor(8) as threads:
        answers = list(threads.map(post, range(8)))
    assert set(answers) == {(302, f"/decals/{decal.pk}/photos/")}
    assert Photo.objects.count() == 1
