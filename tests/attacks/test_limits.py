"""More than any form of ours sends: refused before anything is worked on."""

import io

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from decaljobs.models import Project
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
