"""Pictures kept in an S3-compatible storage: moto's server on this machine stands for one."""

import hashlib
import io
import re
import socket
import uuid
from datetime import timedelta
from pathlib import Path

import pytest
from django.conf import settings as current
from django.core.files.storage import default_storage
from moto.server import ThreadedMotoServer
from PIL import Image

from decaljobs.models import Artwork, Photo
from decaljobs.services import files
from decaljobs.services.artwork import measuring, onpaint
from decaljobs.services.projects.bin import empty_bin, throw_away
from decaljobs.services.safekeeping import media_swap, restoring
from decaljobs.services.safekeeping.backup_file import BackupRefused
from decaljobs.services.safekeeping.backups import take_backup
from decaljobs.services.safekeeping.doctor import look_over, loose_files, sweep
from decaljobs.services.safekeeping.restoring import restore
from tests.checkout import TOP, manage
from tests.factories import EVENING, make_artwork, make_decals, make_photos, picture_bytes
from workshop.refusal import Refusal
from workshop.storages import media_storage

pytestmark = [pytest.mark.slow, pytest.mark.django_db(transaction=True, serialized_rollback=True)]


@pytest.fixture(scope="module")
def server():
    """An S3-compatible storage at a free port of this machine."""
    storage = ThreadedMotoServer(ip_address="127.0.0.1", port=0, verbose=False)
    storage.start()
    host, port = storage.get_host_and_port()
    yield f"http://{host}:{port}"
    storage.stop()


@pytest.fixture(autouse=True)
def bucket(server, settings, monkeypatch):
    """A bucket of its own for each test, and the program told of a folder in it."""
    for name in ("AWS_ACCESS_KEY_ID", "AWS_SECRET_ACCESS_KEY"):
        monkeypatch.setenv(name, "made-up")
    monkeypatch.setenv("NO_PROXY", "127.0.0.1")
    name = f"club-{uuid.uuid4().hex}"
    told = media_storage(f"{server}/{name}/pictures")
    settings.STORAGES = {**settings.STORAGES, "default": told}
    default_storage.connection.create_bucket(Bucket=name)
    return default_storage.connection.Bucket(name)


def contents(bucket) -> dict[str, str]:
    """Every file in the bucket with its digest, by its name in the workshop."""
    return {
        each.key.removeprefix("pictures/"): hashlib.sha256(each.get()["Body"].read()).hexdigest()
        for each in bucket.objects.all()
    }


def test_a_picture_is_kept_in_the_bucket_and_nowhere_else(bucket):
    artwork = make_artwork()
    assert set(contents(bucket)) == {artwork.picture.name, artwork.preview.name}
    assert not Path(current.MEDIA_ROOT).exists()
    assert list(files.media_names()) == sorted(contents(bucket))
    assert files.media_folder() is None


def test_a_picture_sent_by_a_form_is_shown_to_those_who_are_signed_in(bucket, signed_in, client):
    sent = {"name": "Roundel", "width_mm": "24", "picture": _file("roundel.png")}
    assert signed_in.post("/artwork/new/", sent).status_code == 302
    (name,) = [each for each in contents(bucket) if each.startswith("artwork/")]
    address = Artwork.objects.get().picture_address
    answer = signed_in.get(address)
    page = signed_in.get("/artwork/")
    assert answer.status_code == 200 and answer["Content-Type"] == "image/png"
    shown = b"".join(answer.streaming_content)
    assert hashlib.sha256(shown).hexdigest() == contents(bucket)[name]
    assert bucket.name not in page.content.decode()
    client.logout()
    assert client.get(address).status_code == 302


def _file(name: str) -> io.BytesIO:
    file = io.BytesIO(picture_bytes())
    file.name = name
    return file


def test_it_is_measured_and_drawn_on_paint(maker, settings):
    settings.WORK_BEHIND = "page"
    (decal,) = make_decals(1)
    found = measuring.measure_artwork(artwork=decal.artwork, person=maker, moment=EVENING)
    found.refresh_from_db()
    assert found.state == "done" and found.found["base_cut"]["rings"]
    assert onpaint.verdict_on(decal) is not None
    drawn = onpaint.seen_on_paint(decal.artwork, "#2b3a33", laminated=True)
    with Image.open(io.BytesIO(drawn)) as picture:
        assert picture.format == "PNG"


def test_what_is_rolled_back_leaves_no_file(bucket):
    before = contents(bucket)
    with pytest.raises(RuntimeError), files.atomic_with_files():
        make_artwork()
        assert len(contents(bucket)) == len(before) + 2
        raise RuntimeError
    assert contents(bucket) == before


def test_a_backup_of_a_bucket_brings_every_file_back(bucket, tmp_path):
    make_decals(2)
    make_photos(1)
    take_backup(tmp_path / "kept.zip", moment=EVENING)
    before = contents(bucket)
    assert len(before) == 4
    Photo.objects.all().delete()
    bucket.objects.all().delete()
    later = make_artwork(name="Begun after the backup")
    restore(tmp_path / "kept.zip", moment=EVENING + timedelta(hours=1))
    assert contents(bucket) == before and later.picture.name not in before
    assert Photo.objects.count() == 1
    assert look_over(EVENING) == []


def test_a_backup_of_a_bucket_can_be_restored_into_a_folder(bucket, tmp_path, settings):
    make_decals(1)
    take_backup(tmp_path / "kept.zip", moment=EVENING)
    before = contents(bucket)
    settings.STORAGES = {**settings.STORAGES, "default": media_storage("")}
    restore(tmp_path / "kept.zip", moment=EVENING)
    for name, digest in before.items():
        data = (Path(settings.MEDIA_ROOT) / name).read_bytes()
        assert hashlib.sha256(data).hexdigest() == digest


def test_a_restore_whose_records_cannot_follow_puts_every_file_back(bucket, tmp_path, monkeypatch):
    artwork = make_artwork()
    take_backup(tmp_path / "kept.zip", moment=EVENING)
    default_storage.delete(artwork.preview.name)
    files.put_media(artwork.picture.name, io.BytesIO(b"another picture of the same name"))
    make_artwork(name="Begun after the backup")
    before = contents(bucket)

    def broken(records):
        raise OSError("no room")

    monkeypatch.setattr(restoring, "put_records", broken)
    with pytest.raises(OSError, match="no room"):
        restore(tmp_path / "kept.zip", moment=EVENING)
    assert contents(bucket) == before


def test_a_restore_whose_files_cannot_be_sent_changes_nothing(bucket, tmp_path, monkeypatch):
    make_artwork()
    take_backup(tmp_path / "kept.zip", moment=EVENING)
    bucket.objects.all().delete()
    make_artwork(name="Begun after the backup")
    before, put = contents(bucket), files.put_media
    sent = []

    def broken(name, source):
        if sent:
            raise OSError("the line is dead")
        sent.append(name)
        put(name, source)

    monkeypatch.setattr(media_swap, "put_media", broken)
    with pytest.raises(OSError, match="the line is dead"):
        restore(tmp_path / "kept.zip", moment=EVENING)
    assert contents(bucket) == before


def test_the_doctor_finds_lost_and_loose_files(bucket):
    artwork = make_artwork()
    default_storage.save("artwork/loose.png", io.BytesIO(b"x"))
    default_storage.delete(artwork.preview.name)
    # The storage writes down its own time, which no test can change.
    moment = default_storage.get_modified_time("artwork/loose.png") + timedelta(days=2)
    assert loose_files(moment - timedelta(days=2)) == [], "an upload may be under way"
    assert loose_files(moment) == ["artwork/loose.png"]
    said = " ".join(finding.words for finding in look_over(moment))
    assert f"The file {artwork.preview.name} of artwork {artwork.pk} is gone." in said
    assert sweep(moment) == 1
    assert set(contents(bucket)) == {artwork.picture.name}


def test_a_storage_that_is_away_is_told_of(signed_in, settings):
    artwork = make_artwork()
    signed_in.raise_request_exception = False
    with socket.socket() as held:  # a port at which nobody answers
        held.bind(("127.0.0.1", 0))
        away = media_storage(f"http://127.0.0.1:{held.getsockname()[1]}/club")
        settings.STORAGES = {**settings.STORAGES, "default": away}
        answer = signed_in.get(artwork.picture_address)
        assert answer.status_code == 503 and answer["Retry-After"]
        said = [finding.words for finding in look_over(EVENING)]
        assert any("cannot be looked through" in words for words in said)
        with pytest.raises(BackupRefused, match="does not answer"):
            take_backup(Path(settings.BACKUP_FOLDER) / "kept.zip", moment=EVENING)


def test_the_bin_is_emptied_of_its_photos(bucket):
    (photo,) = make_photos(1)
    project = photo.project
    assert len(contents(bucket)) == 2
    throw_away(project=project.pk, moment=EVENING)
    empty_bin(moment=EVENING)
    assert contents(bucket) == {} and not Photo.objects.exists()


@pytest.mark.parametrize("address", ["bucket", "ftp://host/bucket", "https://host", "https:///b"])
def test_an_address_that_names_no_bucket_is_refused(address):
    with pytest.raises(Refusal, match="https://HOST/BUCKET/FOLDER"):
        media_storage(address)


def test_it_says_what_is_to_be_installed(monkeypatch):
    monkeypatch.setattr("workshop.storages.NEEDED", ("storages", "no_such_package"))
    with pytest.raises(Refusal, match=r'pip install "django-storages\[s3\]"'):
        media_storage("https://host/bucket")


def test_commands_refuse_it_in_one_line(tmp_path):
    run = manage(TOP, "check", DECALJOBS_DATA=tmp_path, DECALJOBS_MEDIA_S3="bucket")
    assert run.returncode == 1
    assert run.stderr == "DECALJOBS_MEDIA_S3 is an address such as https://HOST/BUCKET/FOLDER\n"


def test_no_code_asks_for_the_path_of_a_file_of_a_record():
    fields = "picture|preview|small|refused|file"
    asking = [
        str(file)
        for folder in ("decaljobs", "workshop")
        for file in (TOP / folder).rglob("*.py")
        if re.search(rf"\b({fields})\.(path|url)\b", file.read_text())
    ]
    assert asking == []
