"""Which rows of a list are shown, and in which order: kept in the address."""

from __future__ import annotations

from collections.abc import Iterable
from typing import ClassVar

from django import forms
from django.db.models import F, QuerySet
from django.utils import timezone

from decaljobs.craft.stages import Build, Film, Printer
from decaljobs.forms.bench import NEXT_STEPS
from decaljobs.forms.search import SearchForm
from decaljobs.models import Role
from decaljobs.models.choices import choices_of
from decaljobs.models.finding import holds_words

Order = tuple[str | object, ...]


def _choice(label: str, everything: str, choices: Iterable[tuple[str, str]]) -> forms.ChoiceField:
    return forms.ChoiceField(label=label, required=False, choices=[("", everything), *choices])


class ListForm(SearchForm):
    """Words, filters and an order. The first order is the one taken when none is asked for."""

    orders: ClassVar[dict[str, tuple[str, Order]]] = {}

    def __init__(self, *args, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        if self.orders:
            (_, (usual, _)), *others = self.orders.items()
            named = [(key, words) for key, (words, _) in others]
            self.fields["sort"] = _choice("Order", usual, named)

    def rows(self, everything: QuerySet) -> QuerySet:
        """What is asked for of these rows, in the order asked for."""
        found = self.found(everything) if self.words else everything
        for name in self.fields.keys() - {"q", "sort"}:
            if wish := self.asked(name):
                found = self.narrow(found, name, wish)
        return found.order_by(*self.order)

    def found(self, rows: QuerySet) -> QuerySet:
        """The rows that hold the words."""
        return rows.found(self.words)

    def narrow(self, rows: QuerySet, name: str, wish: str) -> QuerySet:
        """The rows that have what one filter asks for."""
        return rows.filter(**{name: wish})

    @property
    def order(self) -> Order:
        """The columns to sort by."""
        key = self.asked("sort") if "sort" in self.fields else ""
        return self.orders[key or next(iter(self.orders))][1]


class ProjectsForm(ListForm):
    """Projects by where they stand."""

    orders: ClassVar = {
        "new": ("newest first", ("-made_at", "-pk")),
        "name": ("by name", ("name", "pk")),
        "code": ("by code", ("code",)),
        "due": ("by due date", (F("due").asc(nulls_last=True), "pk")),
        "ready": ("most ready first", ("-ready_count", "pk")),
    }
    state = _choice(
        "Show",
        "all at work",
        [
            ("ready", "something is ready"),
            ("unfinished", "not finished"),
            ("finished", "finished"),
            ("without", "without decals"),
            ("archived", "put away"),
        ],
    )

    def rows(self, everything: QuerySet) -> QuerySet:
        if self.asked("state") == "archived":
            return super().rows(everything.archived())
        # Who looks for words looks for them in finished work too.
        return super().rows(everything.kept() if self.words else everything.at_work())

    def narrow(self, rows: QuerySet, name: str, wish: str) -> QuerySet:
        return rows if wish == "archived" else rows.standing(wish)


class DecalsListForm(ListForm):
    """The decals of one project."""

    orders: ClassVar = {
        "place": ("by place", ("place", "number", "pk")),
        "ready": ("soonest ready first", (F("ready_at").asc(nulls_last=True), "pk")),
        "art": ("by artwork", ("artwork__name", "place", "number", "pk")),
    }
    build = _choice("Build", "any", [(build.value, build.words) for build in Build])
    step = _choice(
        "Next step",
        "any",
        [*((step.value, step.words) for step in NEXT_STEPS), ("none", "none: finished")],
    )

    def narrow(self, rows: QuerySet, name: str, wish: str) -> QuerySet:
        if name == "step":
            return rows.filter(next_step="" if wish == "none" else wish)
        return super().narrow(rows, name, wish)


class SheetsForm(ListForm):
    """Sheets by film, printer and where they stand."""

    orders: ClassVar = {
        "new": ("newest first", ("-made_at", "-pk")),
        "code": ("by code", ("code",)),
        "good": ("most good pieces first", ("-good_count", "pk")),
        "dry": ("longest dry first", (F("rested_at").asc(nulls_last=True), "pk")),
    }
    film = _choice("Film", "any", choices_of(Film))
    printer = _choice("Printer", "any", choices_of(Printer))
    state = _choice(
        "Show",
        "all",
        [
            ("unprinted", "not printed"),
            ("unsealed", "to be sealed"),
            ("drying", "sealed, drying"),
            ("dry", "sealed and dry"),
            ("lost", "lost"),
        ],
    )

    def narrow(self, rows: QuerySet, name: str, wish: str) -> QuerySet:
        if name == "state":
            return rows.standing(wish, timezone.now())
        return super().narrow(rows, name, wish)


class ArtworkListForm(ListForm):
    """Artwork by use and sharpness."""

    orders: ClassVar = {
        "name": ("by name", ("name", "pk")),
        "new": ("newest first", ("-made_at", "-pk")),
        "wide": ("widest first", ("-width_mm", "pk")),
        "used": ("most used first", ("-decal_count", "name", "pk")),
    }
    state = _choice(
        "Show",
        "all",
        [
            ("used", "on a decal"),
            ("unused", "on no decal"),
            ("coarse", "under 300 dpi"),
        ],
    )

    def narrow(self, rows: QuerySet, name: str, wish: str) -> QuerySet:
        return rows.coarse() if wish == "coarse" else rows.used(wish == "used")


class TrialsForm(ListForm):
    """Trials with a recipe and without."""

    orders: ClassVar = {
        "new": ("newest first", ("-begun_at", "-pk")),
        "paint": ("by paint", ("paint", "pk")),
    }
    state = _choice("Show", "all", [("kept", "with a recipe"), ("open", "without a recipe")])

    def narrow(self, rows: QuerySet, name: str, wish: str) -> QuerySet:
        return rows.filter(recipe__isnull=wish == "open")


class PeopleForm(ListForm):
    """People by role."""

    orders: ClassVar = {"name": ("by name", ("username",)), "role": ("by role", ("role", "pk"))}
    role = _choice("Role", "any", Role.choices)

    def found(self, rows: QuerySet) -> QuerySet:
        return rows.filter(holds_words(self.words, "username"))
