"""What every request goes through on its way."""

from __future__ import annotations

import logging
from collections.abc import Callable, Iterator
from contextlib import contextmanager

from django.db import InterfaceError, OperationalError
from django.http import HttpRequest, HttpResponse

Answer = Callable[[HttpRequest], HttpResponse]

log = logging.getLogger(__name__)


@contextmanager
def noted_if_there_is_room() -> Iterator[None]:
    """For what is only noted beside an answer that stands already.

    On a full disk the maker is told what became of the form, not what became of the note.
    """
    try:
        yield
    except (OperationalError, InterfaceError) as error:
        log.warning("not noted: %s", error)
