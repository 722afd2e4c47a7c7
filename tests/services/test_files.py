"""Files share the fate of the records they belong to."""

import io
from decimal import Decimal
from pathlib import Path

import pytest
from django.conf import settings
from django.db import connection
from django.utils import timezone
from PIL import Image

from decaljobs.craft.stages import Build
from decaljobs.models import Artwork, Measuring
from decaljobs.services.artwork import keeping, reworking
from decaljobs.services.artwork.keeping import keep_artwork
from decaljobs.services.files import atomic_with_files, media_names, open_media, put_media
from decaljobs.services.projects import projects
from decaljobs.services.refused import Refused
from tests.factories import make_artwork, make_decal


class Mishap(Exception):
    """Something else that goes wrong after a picture was written."""


def kept_files() -> set[Path]:
    return {path for path in Path(settings.MEDIA_ROOT).rglob("*") if path.is_file()}


def art() -> dict:
    picture = Image.new("RGBA", (40, 20), (0, 0, 0, 255))
    return {"name": "Roundel", "width_mm": Decimal(24), "picture": picture}


@pytest.mark.django_db
def test_it_keeps_files_whose_records_are_kept():
    before = kept_files()
    keep_artwork(**art(), moment=timezone.now())
    assert len(kept_files() - before) == 2, "the picture and its preview"


@pytest.mark.django_db
def test_it_removes_the_files_of_artwork_that_could_not_be_saved(monkeypatch):
    def fails(self, *args, **kwargs):
        raise Mishap

    monkeypatch.setattr(Artwork, "save", fails)
    before = kept_files()
    with pytest.raises(Mishap):
        keep_artwork(**art(), moment=timezone.now())
    assert kept_files() == before


@pytest.mark.django_db
def test_it_removes_the_files_where_what_comes_after_fails():
    before = kept_files()
    with pytest.raises(Mishap), atomic_with_files():
        keep_artwork(**art(), moment=timezone.now())
        assert len(kept_files()) == len(before) + 2
        raise Mishap
    assert kept_files() == before
    assert not Artwork.objects.exists()


@pytest.mark.django_db
def test_it_removes_only_those_of_the_part_that_failed():
    before = kept_files()
    with atomic_with_files():
        keep_artwork(**art(), moment=timezone.now())
        with pytest.raises(Mishap), atomic_with_files():
            keep_artwork(**art(), moment=timezone.now())
            raise Mishap
    assert len(kept_files() - before) == 2
    assert Artwork.objects.count() == 1


@pytest.mark.django_db
def test_it_removes_the_picture_brought_for_decals_that_are_refused():
    decal = make_decal()
    before, made = kept_files(), Artwork.objects.count()
    with pytest.raises(Refused):
        projects.add_decals_with_art(
            project=decal.project,
            artwork=None,
            picture=art()["picture"],
            width_mm=Decimal(24),
            place=decal.place,
            moment=timezone.now(),
            build=decal.build,
            count=1,
            note="",
        )
    assert kept_files() == before
    assert Artwork.objects.count() == made


@pytest.mark.django_db
def test_it_removes_the_picture_of_a_new_version_that_fails(monkeypatch):
    old = make_artwork()
    measuring = Measuring(artwork=old, drawing={"band_colour": "#16202b", "pixel_mm": 0.1})
    save = Artwork.save

    def fails_later(self, *args, **kwargs):
        if "version" in kwargs.get("update_fields", ()):
            assert len(kept_files()) == len(before) + 2
            raise Mishap
        save(self, *args, **kwargs)

    before = kept_files()
    monkeypatch.setattr(Artwork, "save", fails_later)
    with pytest.raises(Mishap):
        reworking.recolour(
            measuring=measuring, colour="#112233", moment=timezone.now(), move_decals=False
        )
    assert kept_files() == before


@pytest.fixture
def transactions_while_reading(monkeypatch):
    """How many transactions are open at each picture that is read, those of the test included."""
    seen = []

    def cut_out(picture):
        seen.append(len(connection.savepoint_ids))
        return picture

    monkeypatch.setattr(keeping, "cut_out", cut_out)
    return seen


@pytest.mark.django_db
def test_nobody_waits_while_a_picture_is_read(transactions_while_reading):
    decal = make_decal()
    transactions_while_reading.clear()
    outside = len(connection.savepoint_ids)
    keep_artwork(**art(), moment=timezone.now())
    projects.add_decals_with_art(
        project=decal.project,
        artwork=None,
        picture=art()["picture"],
        width_mm=Decimal(24),
        place="Roof",
        moment=timezone.now(),
        build=Build.LAMINATED,
        count=1,
    )
    measuring = Measuring(
        artwork=decal.artwork, drawing={"band_colour": "#16202b", "pixel_mm": 0.1}
    )
    reworking.recolour(
        measuring=measuring, colour="#112233", moment=timezone.now(), move_decals=False
    )
    assert transactions_while_reading == [outside] * 3


def test_files_are_named_in_order_and_links_are_not_among_them(settings, tmp_path):
    assert list(media_names()) == []
    secret = tmp_path / "secret"
    secret.mkdir()
    (secret / "key").write_text("key")
    for name in ("b.png", "a/d.png", "a/c.png", "a/b/e.png"):
        put_media(name, io.BytesIO(b"x"))
    (settings.MEDIA_ROOT / "linked").symlink_to(secret)
    (settings.MEDIA_ROOT / "linked.png").symlink_to(secret / "key")
    assert list(media_names()) == ["a/b/e.png", "a/c.png", "a/d.png", "b.png"]


def test_a_file_that_is_put_replaces_what_bears_its_name(settings):
    for data in (b"one", b"two"):
        put_media("photos/a.jpg", io.BytesIO(data))
        with open_media("photos/a.jpg") as opened:
            assert opened.read() == data
    assert list(media_names()) == ["photos/a.jpg"]
