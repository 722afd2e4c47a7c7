"""Much that is read as of one moment, while others write."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from django.db import connection, transaction


@contextmanager
def one_moment() -> Iterator[None]:
    """All that is read inside is of one moment, and nobody who writes meanwhile waits for it.

    Within a transaction it adds nothing: that has begun as it has. It also serves as a decorator.
    """
    if connection.in_atomic_block:
        yield
    elif connection.vendor == "sqlite":
        # As workshop.database sets it, a transaction would keep everybody else from writing.
        sqlite: Any = connection
        before, sqlite.transaction_mode = sqlite.transaction_mode, "DEFERRED"
        try:
            with transaction.atomic():
                yield
        finally:
            sqlite.transaction_mode = before
    else:
        with transaction.atomic(), connection.cursor() as cursor:
            cursor.execute("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ")
            yield
