"""Where the records are kept: one SQLite file, or PostgreSQL named by DATABASE_URL."""

import os
from pathlib import Path
from typing import Any

import dj_database_url

FILE = "workshop.sqlite3"


def database(data: Path) -> dict[str, Any]:
    """Django's settings of the database in use."""
    address = os.environ.get("DATABASE_URL", "")
    return postgresql(address) if address else sqlite(data / FILE)


def sqlite(file: Path) -> dict[str, Any]:
    """One file. With SQLite's defaults, writers at the same moment lose: "database is locked"."""
    return {
        "ENGINE": "workshop.sqlite",
        "NAME": file,
        "OPTIONS": {
            "transaction_mode": "IMMEDIATE",
            "timeout": 20,
            "init_command": "PRAGMA journal_mode=WAL; PRAGMA synchronous=FULL;",
        },
        "CONN_MAX_AGE": None,
    }


def postgresql(address: str) -> dict[str, Any]:
    """A server, for several web processes at once.

    A connection is tried before each request, so that a server that was away is found again.
    """
    settings: dict[str, Any] = {
        **dj_database_url.parse(address, conn_max_age=60, conn_health_checks=True)
    }
    return settings | {"OPTIONS": {"connect_timeout": 5, **settings.get("OPTIONS", {})}}
