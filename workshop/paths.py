"""Where things lie on this machine."""

import os
from pathlib import Path

CHECKOUT = Path(__file__).resolve().parent.parent


def data_folder() -> Path:
    """The folder of the database, the pictures and the secret key."""
    return Path(os.environ.get("DECALJOBS_DATA") or CHECKOUT / ".data").resolve()
