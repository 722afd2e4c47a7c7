"""The secret key, made once and kept in the data folder."""

import os
from pathlib import Path

from django.core.management.utils import get_random_secret_key


def secret_key(folder: Path) -> str:
    """The key kept in the folder, made on the first call, readable by its owner alone."""
    file = folder / "secret-key"
    folder.mkdir(parents=True, exist_ok=True, mode=0o700)
    try:
        handle = os.open(file, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    except FileExistsError:
        return file.read_text().strip()
    with os.fdopen(handle, "w") as opened:
        opened.write(get_random_secret_key())
    return file.read_text().strip()
