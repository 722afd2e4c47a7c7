"""One search over everything that has a name."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from django.db.models import Min, Model, Q, QuerySet

from decaljobs.models import Artwork, Decal, Project, Recipe, Sheet, Supply
from decaljobs.models.finding import holds_words

MOST_OF_A_KIND = 12
#: Letters shown on either side of the words found in a long note.
AROUND = 70


@dataclass(frozen=True)
class Group:
    """The first records of one kind that hold the words, and whether there are more."""

    kind: str
    title: str
    rows: Sequence[Any]
    has_more: bool = False


@dataclass(frozen=True)
class Note:
    """A note in which the words stand: whose it is, and the part of it around them."""

    of: Model
    text: str


def find_everything(words: str) -> list[Group]:
    """What holds every one of the words, by kind; at most eleven queries, however much there is."""
    groups = [
        _group("projects", "Projects", _projects(words)),
        _group("decals", "Decals", Decal.objects.kept().found(words).for_rows()),
        _group("artwork", "Artwork", Artwork.objects.found(words)),
        _group("sheets", "Sheets", Sheet.objects.found(words)),
        _group("recipes", "Colour recipes", _recipes(words)),
        _group("supplies", "Stores", Supply.objects.kept().found(words)),
        Group("notes", "Notes", _notes(words)),
    ]
    return [group for group in groups if group.rows]


def by_code(words: str) -> Project | Sheet | None:
    """The project or sheet whose code was typed, with or without its hyphen."""
    typed = "".join(words.split()).upper()
    if not typed or len(typed) > 13:
        return None
    codes = [typed, _hyphened(typed)]
    return (
        Project.objects.filter(code__in=codes).first()
        or Sheet.objects.filter(code__in=codes).first()
    )


def _hyphened(typed: str) -> str:
    """'P7' as 'P-07': a letter, a hyphen, two digits at least, as codes are given out."""
    letter, digits = typed[:1], typed[1:]
    return f"{letter}-{int(digits):02d}" if letter.isalpha() and digits.isdecimal() else typed


def _group(kind: str, title: str, found: QuerySet) -> Group:
    rows = list(found[: MOST_OF_A_KIND + 1])
    return Group(kind, title, rows[:MOST_OF_A_KIND], len(rows) > MOST_OF_A_KIND)


def _projects(words: str) -> QuerySet[Project]:
    """Projects outside the bin, each with a drawing to know it by."""
    found = Project.objects.kept().found(words)
    return found.annotate(first_artwork=Min("decals__artwork")).order_by("-made_at", "-pk")


def _recipes(words: str) -> QuerySet[Recipe]:
    found = holds_words(words, "trial__paint", "colour", "printer")
    return Recipe.objects.filter(found).select_related("trial").order_by("-kept_at", "-pk")


def _notes(words: str) -> list[Note]:
    """Notes of projects and decals in which all the words stand; a sheet shows its own."""
    kinds: list[tuple[QuerySet, str]] = [
        (Project.objects.kept(), "notes"),
        (Decal.objects.kept().select_related("project"), "note"),
    ]
    found: list[Note] = []
    for records, column in kinds:
        rows = records.filter(holds_words(words, column) & ~Q(**{column: ""}))
        found += [Note(row, around(getattr(row, column), words)) for row in rows[:MOST_OF_A_KIND]]
    return found[:MOST_OF_A_KIND]


def around(text: str, words: str) -> str:
    """The part of a text around the first of the words, cut at blanks.

    >>> around("one two three", "two")
    'one two three'
    """
    plain = " ".join(text.split())
    place = max(plain.casefold().find(words.split()[0].casefold()), 0)
    start, end = max(place - AROUND, 0), place + AROUND
    before = plain[start:place].split(" ", 1)[-1] if start else plain[:place]
    after = plain[place:end].rsplit(" ", 1)[0] if end < len(plain) else plain[place:]
    return f"{'… ' if start else ''}{before}{after}{' …' if end < len(plain) else ''}"
