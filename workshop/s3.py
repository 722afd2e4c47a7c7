"""Pictures in an S3-compatible storage; only where the settings name one is this read."""

from __future__ import annotations

import errno
from collections.abc import Callable
from functools import wraps
from typing import Any

from botocore.config import Config
from botocore.exceptions import BotoCoreError, ClientError
from storages.backends.s3 import S3Storage

KEPT_IN_MEMORY = 4 * 1024 * 1024  # bytes of a file that is read; a larger one goes by the disk
#: Buckets are named behind the host, as every storage of this kind understands it.
CONNECTING = Config(
    connect_timeout=5,
    read_timeout=30,
    retries={"max_attempts": 2},
    signature_version="s3v4",
    s3={"addressing_style": "path"},
)


def _as_of_a_disk(ask: Callable[..., Any]) -> Callable[..., Any]:
    """What goes wrong is told as a disk tells it, so that the program knows one kind of error."""

    @wraps(ask)
    def asked(*arguments: Any, **named: Any) -> Any:
        try:
            return ask(*arguments, **named)
        except (BotoCoreError, ClientError) as error:
            said = f"the storage of the pictures does not answer as it should ({error})"
            raise OSError(errno.EIO, said) from error

    return asked


class S3Media(S3Storage):
    """A bucket, or a folder in one, that nobody but this program is let into.

    Its files are never asked for by an address of the storage's own: the program's pages hand them
    out, to those who are signed in. Keys come from the environment, as boto3 reads them.
    """

    def get_default_settings(self) -> dict[str, Any]:
        usual: dict[str, Any] = super().get_default_settings()
        return usual | {
            "default_acl": None,
            "file_overwrite": False,
            "max_memory_size": KEPT_IN_MEMORY,
            "client_config": CONNECTING,
        }

    _open = _as_of_a_disk(S3Storage._open)
    _save = _as_of_a_disk(S3Storage._save)
    delete = _as_of_a_disk(S3Storage.delete)
    exists = _as_of_a_disk(S3Storage.exists)
    listdir = _as_of_a_disk(S3Storage.listdir)
    get_modified_time = _as_of_a_disk(S3Storage.get_modified_time)
