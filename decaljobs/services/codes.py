"""Short codes for projects and sheets: a letter and a running number."""

from django.db.models import QuerySet


def next_code(records: QuerySet, letter: str) -> str:
    """The code after the highest one in use with this letter: 'W-07' after 'W-06'."""
    codes = records.filter(code__startswith=f"{letter}-").values_list("code", flat=True)
    numbers = [int(code[2:]) for code in codes if code[2:].isdigit()]
    return f"{letter}-{max(numbers, default=0) + 1:02d}"
