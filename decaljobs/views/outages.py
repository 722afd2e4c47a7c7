"""When something broke: a full disk and a database that is away are said in plain words."""

from __future__ import annotations

import errno
import sys
from collections.abc import Iterator

from django.db import InterfaceError, OperationalError
from django.http import HttpRequest, HttpResponse
from django.template.loader import render_to_string
from django.views.decorators.csrf import requires_csrf_token

FULL = ("disk is full", "No space left")
#: Seconds after which a browser may ask again for a page whose database was away.
TRY_AGAIN = 10


@requires_csrf_token
def something_broke(request: HttpRequest) -> HttpResponse:
    """507 for a full disk, 503 for a database or a storage of pictures that does not answer, 500
    for our own faults."""
    errors = list(_chain(sys.exc_info()[1]))
    if any(_is_full(error) for error in errors):
        return HttpResponse(render_to_string("disk_full.html"), status=507)
    if any(_is_away(error) for error in errors):
        answer = HttpResponse(render_to_string("database_away.html"), status=503)
        answer["Retry-After"] = str(TRY_AGAIN)
        return answer
    return HttpResponse(render_to_string("500.html"), status=500)


def _chain(error: BaseException | None) -> Iterator[BaseException]:
    """An error and what led to it."""
    while error is not None:
        yield error
        error = error.__cause__ or error.__context__


def _is_away(error: BaseException) -> bool:
    if isinstance(error, OSError):
        return error.errno == errno.EIO
    return isinstance(error, OperationalError | InterfaceError)


def _is_full(error: BaseException) -> bool:
    """By what the system, SQLite or PostgreSQL says."""
    if isinstance(error, OSError):
        return error.errno in (errno.ENOSPC, errno.EDQUOT)
    return isinstance(error, OperationalError) and any(words in str(error) for words in FULL)
