"""The addresses of pages: found once, and remembered for as long as the program runs."""

from __future__ import annotations

from functools import lru_cache

from django.urls import get_script_prefix, reverse


def address(name: str, *parts: str | int) -> str:
    """The address of the page of this name. Raises NoReverseMatch as Django does."""
    return _found(get_script_prefix(), name, *parts)


@lru_cache(maxsize=16384, typed=True)
def _found(prefix: str, name: str, *parts: str | int) -> str:
    return reverse(name, args=parts)
