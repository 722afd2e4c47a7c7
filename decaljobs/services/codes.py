"""Short codes for projects and sheets: a letter and a running number."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import TypeVar

from django.db import IntegrityError, transaction
from django.db.models import QuerySet

Made = TypeVar("Made")

#: Two who ask at the same moment get the same code: who comes second asks again, so often.
TRIES = 5


def next_codes(
    records: QuerySet, letter: str, count: int, *, besides: Iterable[str] = ()
) -> list[str]:
    """The codes after the highest one in use, or among those besides: 'W-07' after 'W-06'."""
    used = records.filter(code__startswith=f"{letter}-").values_list("code", flat=True)
    codes = [*used, *(code for code in besides if code.startswith(f"{letter}-"))]
    highest = max((int(code[2:]) for code in codes if code[2:].isdecimal()), default=0)
    return [f"{letter}-{highest + 1 + n:02d}" for n in range(count)]


def made_with_next_code(records: QuerySet, letter: str, make: Callable[[str], Made]) -> Made:
    """What is made with the next free code, or the one after it where somebody was faster."""
    for _ in range(TRIES):
        (code,) = next_codes(records, letter, 1)
        try:
            with transaction.atomic():
                return make(code)
        except IntegrityError:
            if not records.filter(code=code).exists():
                raise
    return make(code)
