"""Where pictures are kept, and by which addresses style sheets and scripts are asked for."""

import os
from functools import lru_cache
from importlib.util import find_spec
from typing import Any
from urllib.parse import urlsplit

from django.contrib.staticfiles.storage import StaticFilesStorage
from django.core.files.storage import FileSystemStorage

from workshop.refusal import Refusal

NEEDED = ("storages", "boto3")


class StaticFiles(StaticFilesStorage):
    """Style sheets and scripts as they lie; each page names twenty, at addresses that stay."""

    @lru_cache(maxsize=512)  # noqa: B019 (there is one of it for as long as the process runs)
    def url(self, name: str) -> str:
        return super().url(name)


class MediaFolder(FileSystemStorage):
    """A folder of pictures, of which links are no part: they may lead anywhere."""

    def listdir(self, path: str) -> tuple[list[str], list[str]]:
        folders, files = [], []
        with os.scandir(self.path(path)) as entries:
            for entry in entries:
                if entry.is_dir(follow_symlinks=False):
                    folders.append(entry.name)
                elif entry.is_file(follow_symlinks=False):
                    files.append(entry.name)
        return folders, files


def media_storage(address: str) -> dict[str, Any]:
    """Django's settings of the storage of pictures: a folder, or what an address names.

    address: https://HOST/BUCKET or https://HOST/BUCKET/FOLDER of an S3-compatible storage.
    """
    if not address:
        return {"BACKEND": "workshop.storages.MediaFolder"}
    parts = urlsplit(address)
    bucket, _, folder = parts.path.strip("/").partition("/")
    if parts.scheme not in ("http", "https") or not parts.netloc or not bucket:
        raise Refusal("DECALJOBS_MEDIA_S3 is an address such as https://HOST/BUCKET/FOLDER")
    if any(find_spec(name) is None for name in NEEDED):
        raise Refusal(
            "DECALJOBS_MEDIA_S3 is set, which needs a package more; install it with:"
            ' pip install "django-storages[s3]"'
        )
    site = f"{parts.scheme}://{parts.netloc}"
    options = {"endpoint_url": site, "bucket_name": bucket, "location": folder}
    return {"BACKEND": "workshop.s3.S3Media", "OPTIONS": options}
