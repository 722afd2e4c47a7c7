"""The secret key, made once and kept in the data folder."""

import os
import tempfile
from pathlib import Path

from django.core.management.utils import get_random_secret_key


def secret_key(folder: Path) -> str:
    """The key kept in the folder, made on the first call, readable by its owner alone."""
    file = folder / "secret-key"
    folder.mkdir(parents=True, exist_ok=True, mode=0o700)
    if not file.exists():
        _make(file)
    return file.read_text().strip()


def _make(file: Path) -> None:
    """Written whole beside its place and then linked there, so that nobody finds half a key."""
    handle, written = tempfile.mkstemp(dir=file.parent)  # mode 0600
    with os.fdopen(handle, "w") as opened:
        opened.write(get_random_secret_key())
    try:
        os.link(written, file)
    except FileExistsError:
        pass  # somebody else was faster: theirs counts
    except OSError:  # no links on this disk, as on many a memory stick
        if not file.exists():
            os.replace(written, file)
    finally:
        Path(written).unlink(missing_ok=True)
