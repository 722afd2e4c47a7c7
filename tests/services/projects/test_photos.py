"""Photos kept whole or not at all, removed and put back."""

import pytest
from django.core.files.storage import FileSystemStorage

from decaljobs.craft.photo.keptphoto import ready_photo
from decaljobs.craft.stages import Stage
from decaljobs.models import Photo
from decaljobs.services.projects import photos, projects
from decaljobs.services.refused import Refused
from tests.factories import EVENING, make_decal, make_photos, make_project, picture_bytes

pytestmark = pytest.mark.django_db


def files(settings):
    return [file for file in settings.MEDIA_ROOT.rglob("*.jpg") if file.is_file()]


def test_it_keeps_each_photo_with_a_small_one(settings, maker):
    decal = make_decal()
    kept = photos.add_photos(
        project=decal.project,
        decal=decal,
        photos=[ready_photo(picture_bytes())] * 2,
        stage=Stage.SEALED,
        caption="port side",
        by=maker,
        moment=EVENING,
    )
    assert list(decal.photos.shown().at(Stage.SEALED)) == kept
    assert {photo.words for photo in kept} == {"port side"}
    assert len(files(settings)) == 4
    assert (kept[0].width_px, kept[0].height_px) == (240, 120)


def test_a_photo_says_what_it_shows_without_words_of_its_own():
    decal = make_decal(place="Tail")
    (of_decal,) = make_photos(1, decal=decal, stage=Stage.BASE_APPLIED)
    (of_project,) = make_photos(1, project=decal.project)
    assert (of_decal.words, of_project.words) == ("Tail, base applied", "photo")


def test_nothing_is_left_when_one_of_several_cannot_be_kept(settings, monkeypatch):
    kept = FileSystemStorage._save

    def full_disk(self, name, content):
        if len(files(settings)) >= 3:
            raise OSError("no space left on device")
        return kept(self, name, content)

    monkeypatch.setattr(FileSystemStorage, "_save", full_disk)
    with pytest.raises(OSError, match="no space"):
        make_photos(3)
    assert not Photo.objects.exists()
    assert files(settings) == []


def test_a_removed_photo_is_shown_nowhere_until_it_is_put_back():
    first, second = make_photos(2)
    photos.remove_photo(photo=first.pk, moment=EVENING)
    assert list(Photo.objects.shown()) == [second]
    assert list(Photo.objects.removed()) == [first]
    with pytest.raises(Refused, match="removed already"):
        photos.remove_photo(photo=first.pk, moment=EVENING)
    photos.put_back(photo=first.pk)
    assert list(Photo.objects.shown()) == [first, second]
    with pytest.raises(Refused, match="not removed"):
        photos.put_back(photo=first.pk)


def test_only_a_removed_photo_is_deleted_and_its_files_with_it(
    settings, django_capture_on_commit_callbacks
):
    first, _ = make_photos(2)
    with pytest.raises(Refused, match="Remove the photo first"):
        photos.drop_photo(photo=first.pk)
    photos.remove_photo(photo=first.pk, moment=EVENING)
    with django_capture_on_commit_callbacks(execute=True):
        photos.drop_photo(photo=first.pk)
    assert Photo.objects.count() == 1
    assert len(files(settings)) == 2


def test_a_decal_that_is_dropped_leaves_its_photos_to_the_project():
    decal = make_decal()
    (photo,) = make_photos(1, decal=decal)
    projects.drop_decal(decal=decal.pk)
    photo.refresh_from_db()
    assert photo.decal is None
    assert list(decal.project.photos.shown()) == [photo]


def test_before_and_after_are_the_first_and_the_last_or_those_named():
    first, second, third = kept = make_photos(3)
    assert photos.before_and_after(kept) == photos.PhotoPair(first, third)
    assert photos.before_and_after(kept, after=second.pk) == photos.PhotoPair(first, second)
    assert photos.before_and_after(kept, before=third.pk, after=10**9) is None
    assert photos.before_and_after(kept[:1]) is None


def test_words_and_stage_can_be_said_otherwise():
    (photo,) = make_photos(1, project=make_project(), caption="bow")
    photos.change_photo(photo=photo.pk, stage=Stage.SET, caption="stern")
    photo.refresh_from_db()
    assert (photo.stage, photo.caption) == ("set", "stern")
