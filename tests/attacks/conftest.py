"""A furnished workshop to attack, and the means to see what an attack has left behind."""

from __future__ import annotations

import copy
import re
from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager, contextmanager

import pytest
import time_machine
from django.db import connection, transaction
from django.test import Client

from decaljobs.models import Person
from tests import addresses
from tests.factories import EVENING

#: What goes on by itself and says nothing of what a form kept.
UNTOLD = (
    "axes_",
    "decaljobs_device",
    "decaljobs_deed",
    "decaljobs_keptanswer",
    "django_migrations",
    "django_session",
    "sqlite_",
)
#: Names of files, salted passwords and secrets come out otherwise each time.
BY_CHANCE = re.compile(r"[0-9a-f]{16,64}|pbkdf2_\S+|![0-9A-Za-z]{40}")


@pytest.fixture
def evening() -> Iterator[None]:
    with time_machine.travel(EVENING, tick=False):
        yield


@pytest.fixture
def furnished(evening, db) -> Person:
    """The owner of a workshop in which no address stands empty."""
    return addresses.furnish(EVENING)


@pytest.fixture
def inside(client, furnished) -> Client:
    """The owner's client, which is answered as a browser is: by a page, even of an error."""
    client.force_login(furnished)
    client.raise_request_exception = False
    return client


def records() -> dict[str, list[str]]:
    """All that is kept in the database, but for what chance decides.

    In an order of its own: PostgreSQL gives rows out as they happen to lie.
    """
    kept = {}
    with connection.cursor() as cursor:
        for table in connection.introspection.table_names(cursor):
            if not table.startswith(UNTOLD):
                name = connection.ops.quote_name(table)
                cursor.execute(f"SELECT * FROM {name}")  # noqa: S608 (a table of ours)
                kept[table] = sorted(BY_CHANCE.sub("*", repr(row)) for row in cursor.fetchall())
    return kept


@pytest.fixture
def taken_back() -> Callable[[Client], AbstractContextManager[None]]:
    """Whatever is kept inside is forgotten afterwards, by the client too."""

    @contextmanager
    def forgetting(client: Client) -> Iterator[None]:
        cookies = copy.deepcopy(client.cookies)
        with transaction.atomic():
            yield
            transaction.set_rollback(True)
        client.cookies = cookies

    return forgetting
