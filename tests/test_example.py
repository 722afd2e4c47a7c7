"""What is laid out for tests from what was kept is what the demo makes."""

import shutil
from pathlib import Path

import pytest
from django.conf import settings

from decaljobs.models import Project
from tests import example
from tests.attacks.conftest import records
from tests.example import lay_out_example
from tests.factories import EVENING, make_project

pytestmark = [pytest.mark.django_db, pytest.mark.slow]


def files() -> dict[str, bytes]:
    media = Path(settings.MEDIA_ROOT)
    found = [path for path in media.rglob("*") if path.is_file()]
    return {path.relative_to(media).as_posix(): path.read_bytes() for path in found}


def test_it_is_the_same_when_it_is_laid_out_again(monkeypatch):
    monkeypatch.setattr(example, "_kept", {})
    lay_out_example(EVENING)
    before, pictures = records(), files()
    assert Project.objects.count() > 2 and len(pictures) > 10
    for kind in (example.Person, Project):
        kind.objects.all()._raw_delete("default")
    shutil.rmtree(settings.MEDIA_ROOT)
    monkeypatch.setattr(example, "load_demo", None)
    lay_out_example(EVENING)
    assert records() == before and files() == pictures
    assert make_project(name="After it").pk > 2
