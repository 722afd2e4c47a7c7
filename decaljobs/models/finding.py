"""Words looked for in the columns of a record."""

from __future__ import annotations

from django.db.models import Q

#: No more words than anybody types: each is one more look at every row.
MOST_WORDS = 8


def holds_words(words: str, *columns: str) -> Q:
    """Every word stands in one of these columns, whichever and in whatever order."""
    wanted = Q()
    for word in words.split()[:MOST_WORDS]:
        wanted &= _holds(word, columns)
    return wanted


def _holds(word: str, columns: tuple[str, ...]) -> Q:
    found = Q()
    for written in _ways_to_write(word):
        for column in columns:
            found |= Q(**{f"{column}__icontains": written})
    return found


def _ways_to_write(word: str) -> set[str]:
    """SQLite tells capitals from small letters wherever a letter is not plain ASCII."""
    return {word} if word.isascii() else {word, word.lower(), word.upper(), word.capitalize()}
