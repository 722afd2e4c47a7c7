"""What lies on the bench at a moment: decals and sheets, ready, drying or held, page by page."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime

from django.core.paginator import Page
from django.db.models import (
    Case,
    Count,
    Exists,
    OuterRef,
    Prefetch,
    QuerySet,
    Subquery,
    Value,
    When,
)

from decaljobs.craft.stages import Film, Layer, Stage
from decaljobs.forms.bench import BenchForm
from decaljobs.models import Decal, Piece, Project, Sheet
from decaljobs.models.decals import IS_HELD, is_drying, is_ready
from decaljobs.services.film.twins import LACKS, near_lender
from decaljobs.views.pages import page_of

LISTS = ("ready", "drying", "held")
DECAL, SHEET = "decal", "sheet"


@dataclass(frozen=True)
class OnTheBench:
    """The three pages of (kind, pk), the records they name, and how many there are of each."""

    pages: dict[str, Page]
    decals: dict[int, Decal]
    sheets: dict[int, Sheet]

    def count(self, name: str) -> int:
        return self.pages[name].paginator.count

    def things(self, name: str) -> list[Decal | Sheet]:
        """The records of one list's page, in order."""
        found: list[Decal | Sheet] = []
        for kind, pk in self.pages[name].object_list:
            record = (self.decals if kind == DECAL else self.sheets).get(pk)
            if record is not None:
                found.append(record)
        return found


#: Kind, number, next step and when it comes: what each list is sorted by.
Key = tuple[str, int, str, datetime | None]


class _Keys:
    """The keys of one list, decals and sheets in one order of work, fetched a page at a time.

    Decals are counted beforehand; sheets that want a coat are few, and known all of them.
    """

    def __init__(self, name: str, decals: QuerySet, number: int, sheets: list[Key]) -> None:
        self.decals, self.number, self.sheets = decals, number, sheets
        self.order = _newest_first if name == "held" else _in_order

    def __len__(self) -> int:
        return self.number + len(self.sheets)

    def __getitem__(self, part: slice) -> list[tuple[str, int]]:
        # So many decals at least stand before the page, wherever the sheets come in between.
        before = max(0, part.start - len(self.sheets))
        rows = self.decals[before : part.stop] if self.number else ()
        keys = [*self.sheets, *((DECAL, *row) for row in rows)]
        found = sorted(keys, key=self.order)[part.start - before : part.stop - before]
        return [(kind, pk) for kind, pk, *_ in found]


def _in_order(key: Key) -> tuple[str, datetime | None, str, int]:
    kind, pk, step, when = key
    return step, when, kind, pk


def _newest_first(key: Key) -> tuple[bool, int]:
    return key[0] == DECAL, -key[1]


def on_the_bench(form: BenchForm, numbers: Mapping[str, str], moment: datetime) -> OnTheBench:
    """What the form asks for at the moment, in eight queries for any number of records."""
    decals, sheets = _asked_decals(form), _sheet_keys(_asked_sheets(form), moment)
    totals = decals.counted_at(moment)
    pages = {
        name: page_of(
            _Keys(name, _decal_keys(name, decals, moment), totals[name], sheets[name]),
            numbers,
            name,
        )
        for name in LISTS
    }
    wanted = [key for page in pages.values() for key in page.object_list]
    decals_shown = _decals([pk for kind, pk in wanted if kind == DECAL])
    listed = {pk for kind, pk in wanted if kind == SHEET}
    return OnTheBench(pages, decals_shown, _sheets(listed, decals_shown))


def live_projects() -> QuerySet:
    """Code and name of every project with a decal that is not finished (one query)."""
    unfinished = Decal.objects.filter(project=OuterRef("pk")).exclude(next_step="")
    return (
        Project.objects.at_work()
        .filter(Exists(unfinished))
        .values_list("code", "name")
        .order_by("code")
    )


def _asked_decals(form: BenchForm) -> QuerySet[Decal]:
    decals = Decal.objects.at_work()
    if code := form.asked("project"):
        decals = decals.of_project(code)
    if layer := form.asked("layer"):
        decals = decals.next_on_layer(Layer(layer))
    if step := form.asked("step"):
        decals = decals.next_is(Stage(step))
    return decals.found(form.words) if form.words else decals


def _asked_sheets(form: BenchForm) -> QuerySet[Sheet]:
    """Sheets that want a coat and still bear a good piece."""
    if form.asked("step") not in ("", Stage.SEALED):
        return Sheet.objects.none()
    pieces = Piece.objects.at_hand().filter(
        sheet=OuterRef("pk"), decal__project__archived_at=None, decal__project__binned_at=None
    )
    if code := form.asked("project"):
        pieces = pieces.filter(decal__project__code=code)
    sheets = Sheet.objects.to_coat().filter(Exists(pieces))
    if layer := form.asked("layer"):
        films = [film.value for film in Film if film.layer == layer]
        sheets = sheets.filter(film__in=films)
    return sheets.found(form.words) if form.words else sheets


def _sheet_keys(sheets: QuerySet[Sheet], moment: datetime) -> dict[str, list[Key]]:
    """The keys of all these sheets by list (one query)."""
    keys: dict[str, list[Key]] = {name: [] for name in LISTS}
    for pk, rested_at in sheets.order_by().values_list("pk", "rested_at"):
        name = "held" if rested_at is None else "ready" if rested_at <= moment else "drying"
        keys[name].append((SHEET, pk, "", rested_at))
    return keys


def _decal_keys(name: str, decals: QuerySet[Decal], moment: datetime) -> QuerySet:
    """Number, step and moment of the decals of a list, in its order."""
    if name == "held":
        return decals.filter(IS_HELD).order_by("-pk").values_list("pk", "next_step", "ready_at")
    if name == "drying":
        found = decals.filter(is_drying(moment)).order_by("ready_at", "pk")
        return found.values_list("pk", Value(""), "ready_at")
    found = decals.filter(is_ready(moment)).order_by("next_step", "ready_at", "pk")
    return found.values_list("pk", "next_step", "ready_at")


def _decals(numbers: list[int]) -> dict[int, Decal]:
    # Spares of a base that is laid already tell nothing here, and are a third of all pieces.
    laid = {"layer": Layer.BASE.value, "decal__next_step": Stage.CLEAR_APPLIED.value}
    pieces = Piece.objects.at_hand().exclude(**laid).defer("outline")
    good = Prefetch("pieces", queryset=pieces.order_by("pk"))
    rows = Decal.objects.select_related("project", "artwork", "queued")
    rows = rows.annotate(lacks=LACKS, lender=near_lender())
    return rows.prefetch_related(good).in_bulk(numbers)


def _sheets(listed: set[int], decals: dict[int, Decal]) -> dict[int, Sheet]:
    """The sheets on the list, with their good pieces counted, and those that pieces lie on."""
    pieces = [piece for decal in decals.values() for piece in decal.pieces.all()]
    rows = Sheet.objects.all()
    if listed:
        good = Piece.objects.at_hand().filter(sheet=OuterRef("pk")).order_by().values("sheet")
        counted = Subquery(good.annotate(number=Count("pk")).values("number"))
        rows = rows.annotate(good_count=Case(When(pk__in=listed, then=counted), default=Value(0)))
    sheets = rows.in_bulk(listed | {piece.sheet_id for piece in pieces})
    for piece in pieces:
        piece.sheet = sheets[piece.sheet_id]
    return sheets
