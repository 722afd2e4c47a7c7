"""Every address of the workshop, taken from its URL configuration, with records that are there."""

from __future__ import annotations

from collections.abc import Iterator

from django.test import Client
from django.urls import URLPattern, reverse

from decaljobs.models import Artwork, Decal, Person, Piece, Project, Sheet, WaitRule
from decaljobs.urls import urlpatterns

#: What only somebody who is not signed in gets to see.
DOORS = frozenset({"sign-in", "enter"})


def names() -> list[str]:
    """The name of every address, in the order of the configuration."""
    return [str(pattern.name) for pattern in urlpatterns]


def path_of(name: str) -> str:
    """One address of this name, for the first fitting record."""
    return next(paths_of(name))


def paths_of(name: str) -> Iterator[str]:
    """The addresses of this name: one for each way a record can stand where it has a screen
    of its own, one otherwise."""
    (pattern,) = (pattern for pattern in urlpatterns if pattern.name == name)
    if not pattern.pattern.converters:
        yield reverse(name)
        return
    arguments = _arguments(pattern)
    for argument in arguments if str(pattern.pattern).endswith(">/") else arguments[:1]:
        yield reverse(name, args=[argument])


def pages(client: Client) -> list[str]:
    """The names of all addresses that show a page to the owner, who is signed in."""
    shown = []
    for name in names():
        if name in DOORS:
            continue
        answer = client.get(path_of(name))
        answer.close()
        assert answer.status_code in (200, 405), f"{name} answers {answer.status_code}"
        if answer.status_code == 200 and answer["Content-Type"].startswith("text/html"):
            shown.append(name)
    return shown


def changing(client: Client) -> list[str]:
    """The names of all addresses that take a POST from the owner, who is signed in."""
    return [name for name in names() if client.options(path_of(name)).status_code != 405]


def _arguments(pattern: URLPattern) -> list[object]:
    room = str(pattern.pattern).split("/")[0]
    return {
        "projects": _projects,
        "decals": _decals,
        "pieces": lambda: [Piece.objects.earliest("pk").pk],
        "artwork": lambda: [Artwork.objects.earliest("pk").pk],
        "sheets": _sheets,
        "drying": lambda: [WaitRule.objects.earliest("pk").kind],
        "people": lambda: [Person.objects.earliest("pk").pk],
        "enter": lambda: ["no-such-link"],
    }[room]()


def _projects() -> list[object]:
    return [Project.objects.earliest("pk").code]


def _decals() -> list[object]:
    """One decal for each stage and each reason why it is held."""
    stands = {(decal.stage, decal.held_because): decal.pk for decal in Decal.objects.all()}
    return list(stands.values())


def _sheets() -> list[object]:
    """One sheet for each film and number of coats, printed or not."""
    stands = {(s.film, s.is_printed, s.coats_done): s.code for s in Sheet.objects.all()}
    return list(stands.values())
