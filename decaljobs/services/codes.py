"""Short codes for projects and sheets: a letter and a running number."""

from collections.abc import Iterable

from django.db.models import QuerySet


def next_code(records: QuerySet, letter: str) -> str:
    """The code after the highest one in use with this letter: 'W-07' after 'W-06'."""
    return next_codes(records, letter, 1)[0]


def next_codes(
    records: QuerySet, letter: str, count: int, *, besides: Iterable[str] = ()
) -> list[str]:
    """The codes after the highest one in use, or among those besides, with this letter."""
    used = records.filter(code__startswith=f"{letter}-").values_list("code", flat=True)
    codes = [*used, *(code for code in besides if code.startswith(f"{letter}-"))]
    highest = max((int(code[2:]) for code in codes if code[2:].isdecimal()), default=0)
    return [f"{letter}-{highest + 1 + n:02d}" for n in range(count)]
