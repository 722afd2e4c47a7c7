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
    F,
    OuterRef,
    Prefetch,
    Q,
    QuerySet,
    Subquery,
    Value,
    When,
)

from decaljobs.craft.stages import Film, Layer, Stage
from decaljobs.forms.bench import BenchForm
from decaljobs.models import Decal, Piece, Project, Sheet
from decaljobs.models.decals import IS_HELD, is_drying, is_ready
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


class _Keys:
    """Keys of a list that is long: counted beforehand, fetched one page at a time."""

    def __init__(self, keys: QuerySet, total: int) -> None:
        self.keys, self.total = keys, total

    def __len__(self) -> int:
        return self.total

    def __getitem__(self, part: slice) -> list[tuple[str, int]]:
        return [(row[0], row[1]) for row in self.keys[part]] if self.total else []


def on_the_bench(form: BenchForm, numbers: Mapping[str, str], moment: datetime) -> OnTheBench:
    """What the form asks for at the moment, in seven queries for any number of records."""
    decals, sheets = _asked_decals(form), _asked_sheets(form)
    totals = decals.counted_at(moment)
    more = _count_sheets(sheets, moment)
    pages = {
        name: page_of(
            _Keys(_keys(name, decals, sheets, moment), totals[name] + more[name]),
            numbers.get(name),
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


def _count_sheets(sheets: QuerySet[Sheet], moment: datetime) -> dict[str, int]:
    counts = {name: Count("pk", filter=rule) for name, rule in _sheet_rules(moment).items()}
    return sheets.order_by().aggregate(**counts)


def _sheet_rules(moment: datetime) -> dict[str, Q]:
    return {
        "ready": Q(rested_at__lte=moment),
        "drying": Q(rested_at__gt=moment),
        "held": Q(rested_at=None),
    }


def _keys(
    name: str, decals: QuerySet[Decal], sheets: QuerySet[Sheet], moment: datetime
) -> QuerySet:
    """Kind and number of each record of a list, decals and sheets in one order of work."""
    decal_rules = {"ready": is_ready(moment), "drying": is_drying(moment), "held": IS_HELD}
    step = F("next_step") if name == "ready" else Value("")
    columns = ("kind", "pk", "step", "when")
    ours = decals.filter(decal_rules[name]).annotate(
        kind=Value(DECAL), step=step, when=F("ready_at")
    )
    theirs = sheets.filter(_sheet_rules(moment)[name]).annotate(
        kind=Value(SHEET), step=Value(""), when=F("rested_at")
    )
    both = (
        ours.order_by()
        .values_list(*columns)
        .union(theirs.order_by().values_list(*columns), all=True)
    )
    order = ("-kind", "-pk") if name == "held" else ("step", "when", "kind", "pk")
    return both.order_by(*order)


def _decals(numbers: list[int]) -> dict[int, Decal]:
    good = Prefetch("pieces", queryset=Piece.objects.at_hand().order_by("pk"))
    rows = Decal.objects.select_related("project", "artwork", "queued")
    return rows.prefetch_related(good).in_bulk(numbers)


def _sheets(listed: set[int], decals: dict[int, Decal]) -> dict[int, Sheet]:
    """The sheets on the list, with their good pieces counted, and those that pieces lie on."""
    pieces = [piece for decal in decals.values() for piece in decal.pieces.all()]
    good = Piece.objects.at_hand().filter(sheet=OuterRef("pk")).order_by().values("sheet")
    counted = Subquery(good.annotate(number=Count("pk")).values("number"))
    rows = Sheet.objects.annotate(
        good_count=Case(When(pk__in=listed, then=counted), default=Value(0))
    )
    sheets = rows.in_bulk(listed | {piece.sheet_id for piece in pieces})
    for piece in pieces:
        piece.sheet = sheets[piece.sheet_id]
    return sheets
