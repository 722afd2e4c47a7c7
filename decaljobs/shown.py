"""For whom a page is being written: their ways with lengths and times.

As Django keeps its time zone for each request, so these are kept; they touch what is written
and what is typed, and no calculation sees them.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar

from django.utils import timezone

from decaljobs.craft.ways import Ways

_NOW: ContextVar[Ways] = ContextVar("ways", default=Ways())  # noqa: B039 (frozen)


def ways() -> Ways:
    """The ways of whoever is being written for; millimetres and 24 hours when nobody is."""
    return _NOW.get()


@contextmanager
def written_for(reader: Ways) -> Iterator[None]:
    """Everything inside is written in the reader's ways."""
    before = _NOW.set(reader)
    try:
        yield
    finally:
        _NOW.reset(before)


@contextmanager
def for_everybody() -> Iterator[None]:
    """What is written inside is read by anybody, as paper is: mm, 24 hours, the workshop's zone.

    It also serves as a decorator.
    """
    with written_for(Ways()), timezone.override(timezone.get_default_timezone()):
        yield
