"""More than any form of ours sends: refused before anything is worked on."""

import io

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse
from PIL import Image

from decaljobs.models import Artwork, Project
from tests.factories import make_artwork, make_project, picture_bytes

pytestmark = pytest.mark.django_db


def test_a_thousand_and_one_fields_are_refused(signed_in):
    fields = {f"field{number}": "x" for number in range(1001)}
    assert signed_in.post(reverse("project-new"), fields).status_code == 400
    assert not Project.objects.exists()


def test_a_hundred_and_one_files_are_refused(signed_in):
    files = {f"file{n}": SimpleUploadedFile(f"{n}.png", b"x") for n in range(101)}
    assert signed_in.post(reverse("artwork-new"), files).status_code == 400


def test_a_file_s_name_leads_nowhere(signed_in, settings, tmp_path):
    before = set(tmp_path.rglob("*"))
    for name in ("../../x.png", "/etc/x.png", "..\\..\\x.png", "x\0.png", "x\r\ny.png", "é" * 300):
        picture = io.BytesIO(picture_bytes())
        picture.name = name
        signed_in.post(
            reverse("artwork-new"), {"name": "Badge", "width_mm": "20", "picture": picture}
        )
    new = {path for path in tmp_path.rglob("*") if path.is_file()} - before
    assert new and all(path.is_relative_to(settings.MEDIA_ROOT) for path in new)


WORDS = ["' OR 1=1 --", "%", "_", "\\", '"; DROP TABLE decaljobs_project; --', "\x00", "𝕏" * 90]


@pytest.mark.parametrize("words", WORDS)
def test_words_for_the_database_are_words(signed_in, words):
    make_project(name="Harbour launch")
    make_artwork(name="Roundel")
    for name in ("search", "projects", "artwork-list", "sheets", "trials", "bench", "people"):
        answer = signed_in.get(reverse(name), {"q": words, "sort": words, "page": words})
        assert answer.status_code in (200, 302), (name, words)
        if name in ("projects", "artwork-list") and words not in ("\x00",):
            page = answer.content.decode()
            assert "Harbour launch" not in page and "Roundel" not in page, (name, words)
    assert Project.objects.count() == 1


def test_a_picture_keeps_nothing_but_itself(signed_in, settings):
    """A script behind the picture and the place it was taken at are gone from what is kept."""
    image, exif, out = Image.new("RGB", (240, 120), "#16202b"), Image.Exif(), io.BytesIO()
    image.paste("#f7f1df", (10, 10, 230, 110))
    exif.get_ifd(0x8825).update({1: "N", 2: (54.0, 12.0, 33.0)})
    image.save(out, "JPEG", exif=exif, quality=95, comment=b"<script>alert(1)</script>")
    assert Image.open(io.BytesIO(out.getvalue())).getexif().get_ifd(0x8825), "the place is in it"
    sent = SimpleUploadedFile(
        "art.jpg", out.getvalue() + b"<script>alert(2)</script>", "image/jpeg"
    )
    data = {"name": "Badge", "width_mm": "20", "picture": sent}
    assert signed_in.post(reverse("artwork-new"), data).status_code == 302
    kept = [path for path in settings.MEDIA_ROOT.rglob("*") if path.is_file()]
    assert kept
    for path in kept:
        assert b"alert" not in path.read_bytes()
        assert not Image.open(path).getexif().get_ifd(0x8825)
    for address in ("artwork-picture", "artwork-preview"):
        answer = signed_in.get(reverse(address, args=[Artwork.objects.get().pk]))
        assert answer["Content-Type"].startswith("image/")
        assert answer["X-Content-Type-Options"] == "nosniff"
        assert b"alert" not in b"".join(answer)
