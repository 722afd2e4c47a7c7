"""The owner makes, fetches, brings along and restores backups; nobody else sees them."""

import io
import zipfile
from datetime import timedelta

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from decaljobs.models import Project
from decaljobs.services.safekeeping.backups import Occasion, all_kept, take_into_folder
from tests.factories import EVENING, make_project

pytestmark = pytest.mark.django_db(transaction=True, serialized_rollback=True)


@pytest.fixture
def as_owner(client, owner):
    client.force_login(owner)
    return client


def test_the_owner_makes_one_fetches_it_and_brings_it_back(as_owner):
    make_project(name="Kept")
    as_owner.post(reverse("backup-make"))
    (kept,) = all_kept()
    assert kept.occasion == Occasion.BY_HAND
    answer = as_owner.get(reverse("backup-file", args=[kept.name]))
    fetched = b"".join(answer)
    assert zipfile.ZipFile(io.BytesIO(fetched)).testzip() is None
    Project.objects.all().delete()
    brought = SimpleUploadedFile("mine.zip", fetched)
    answer = as_owner.post(reverse("backup-bring"), {"file": brought})
    name = next(k.name for k in all_kept() if k.occasion == Occasion.BROUGHT)
    assert answer["Location"] == reverse("backup-restore", args=[name])
    answer = as_owner.post(answer["Location"], {"sure": "on"}, follow=True)
    assert Project.objects.get().name == "Kept"
    assert b"before-restore" in answer.content
    assert answer.context["user"].is_owner, "the owner who restored it stays signed in"


def test_it_is_not_restored_by_a_slip_of_the_finger(as_owner):
    make_project()
    kept = take_into_folder(Occasion.BY_HAND, moment=EVENING)
    make_project(name="Later")
    answer = as_owner.post(reverse("backup-restore", args=[kept.name]))
    assert answer.status_code == 422 and Project.objects.filter(name="Later").exists()


def test_a_bad_file_is_refused_beside_its_field_and_not_kept(as_owner):
    bad = SimpleUploadedFile("mine.zip", b"PK no zip")
    answer = as_owner.post(reverse("backup-bring"), {"file": bad})
    assert answer.status_code == 422
    assert "no backup of this program" in answer.context["form"].errors["file"][0]
    assert not all_kept()


def test_a_damaged_backup_is_said_and_nothing_changes(as_owner):
    make_project(name="Here")
    kept = take_into_folder(Occasion.BY_HAND, moment=EVENING - timedelta(days=1))
    kept.path.write_bytes(kept.path.read_bytes()[:-100])
    for ask in (as_owner.get, as_owner.post):
        answer = ask(reverse("backup-restore", args=[kept.name]), {"sure": "on"}, follow=True)
        assert "no backup of this program" in answer.content.decode()
    assert Project.objects.get().name == "Here"


@pytest.mark.parametrize("who", ["maker", "onlooker"])
def test_nobody_but_the_owner_comes_near(who, client, request):
    kept = take_into_folder(Occasion.BY_HAND, moment=EVENING)
    client.force_login(request.getfixturevalue(who))
    for name in ("backup-file", "backup-restore"):
        assert client.get(reverse(name, args=[kept.name])).status_code == 403
    assert client.get(reverse("backups")).status_code == 403
    assert client.post(reverse("backup-make")).status_code == 403
