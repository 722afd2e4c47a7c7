"""The film of sheets: what lies on it, where its area went, and what it was bought as."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal

from django.db.models import QuerySet

from decaljobs.craft.film.filmuse import Cut, FilmAccount, box, film_account, outline
from decaljobs.craft.stores.cost import shared_out
from decaljobs.craft.stores.supplies import SupplyKind
from decaljobs.models import Piece, Sheet, StockLine, Supply

#: Clear edge cut round a piece whose place on its sheet is not known, mm on each side.
EDGE_MM = 1.0
#: What the outline of a piece is worked out from.
SHAPE = (
    "outline",
    "width_mm",
    "height_mm",
    "decal__artwork__width_mm",
    "decal__artwork__width_px",
    "decal__artwork__height_px",
)


@dataclass(frozen=True)
class SheetFilm:
    """One sheet, or what is left of it once offcuts are off, with where its area went."""

    sheet: Sheet
    pieces: tuple[tuple[int, float], ...]
    account: FilmAccount

    @property
    def shares(self) -> list[FilmShare]:
        """How what was used of it falls on the decals with pieces there, by their area."""
        areas = [area for _, area in self.pieces]
        portions = shared_out(1.0, areas)
        by_decal: dict[int, float] = {}
        for (decal, _), portion in zip(self.pieces, portions, strict=True):
            by_decal[decal] = by_decal.get(decal, 0.0) + portion
        return [FilmShare(decal, portion, self.account) for decal, portion in by_decal.items()]


@dataclass(frozen=True)
class FilmShare:
    """A decal's part of a sheet: a fraction of all that lies on it."""

    decal: int
    fraction: float
    account: FilmAccount

    @property
    def areas(self) -> dict[str, float]:
        """Its pieces, gaps and waste, mm²."""
        found = {
            "pieces": self.account.pieces,
            "gaps": self.account.gaps,
            "waste": self.account.waste,
        }
        return {words: area * self.fraction for words, area in found.items()}


def film_of(sheets: Sequence[Sheet]) -> list[SheetFilm]:
    """Where the area of each of these sheets went (one query)."""
    return _film_of(sheets, Piece.objects.filter(sheet__in=sheets))


def all_film() -> list[SheetFilm]:
    """Where the area of every sheet that was ever opened went (two queries)."""
    return _film_of(list(Sheet.objects.order_by("pk")), Piece.objects.all())


def _film_of(sheets: Sequence[Sheet], pieces: QuerySet[Piece]) -> list[SheetFilm]:
    # Plain values: a workshop of some years has tens of thousands of pieces.
    lying: dict[int, list[tuple[int, Cut]]] = {}
    for sheet, decal, *shape in pieces.order_by("pk").values_list("sheet", "decal", *SHAPE):
        lying.setdefault(sheet, []).append((decal, _cut(*shape)))
    return [_film(sheet, lying.get(sheet.pk, [])) for sheet in sheets]


def _film(sheet: Sheet, pieces: Sequence[tuple[int, Cut]]) -> SheetFilm:
    size = (float(sheet.width_mm), float(sheet.height_mm))
    areas = tuple((decal, cut.area) for decal, cut in pieces)
    return SheetFilm(sheet, areas, _account(sheet, size, [cut for _, cut in pieces]))


def _account(sheet: Sheet, size: tuple[float, float], cuts: Sequence[Cut]) -> FilmAccount:
    whole = size[0] * size[1]
    if not sheet.is_printed:
        return FilmAccount(waste=whole) if sheet.is_lost else FilmAccount(kept=whole)
    try:
        return film_account(size, cuts, gap=float(sheet.gap_mm))
    except ValueError:  # pieces put on by hand may be more than fits
        return FilmAccount(pieces=whole)


def _cut(
    corners: Sequence[Sequence[float]] | None,
    width: float | None,
    height: float | None,
    art_mm: Decimal,
    wide_px: int,
    high_px: int,
) -> Cut:
    """The outline of a piece in mm: nested by it, from its place, or else from its art."""
    if corners:
        return outline(corners)
    if width and height:
        return box(width, height)
    art = float(art_mm)
    return box(art + 2 * EDGE_MM, art * high_px / wide_px + 2 * EDGE_MM)


def usual_films() -> dict[tuple[str, bool], Supply]:
    """The film that sheets are printed on, by its colour and whether it is the example's.

    It is the newest for the printer of the sheet printed last (two queries).
    """
    printed = Sheet.objects.filter(printed_at__isnull=False).order_by("-printed_at")
    last = printed.values_list("printer", flat=True).first()
    films = Supply.objects.kept().films().order_by("pk")
    ordered = sorted(films, key=lambda film: film.printer == last)
    return {(film.film, film.example): film for film in ordered}


def opened_as(sheets: Iterable[Sheet]) -> dict[int, Supply]:
    """The film in the stores that each sheet was once taken from, offcuts through theirs.

    By the log of the stores; by kind and size where the film was put in only later. Three queries,
    and one more for each time that an offcut was cut from an offcut.
    """
    roots = _roots(list(sheets))
    lines = StockLine.objects.in_force().filter(sheet__in=roots.values(), kind=StockLine.Kind.USED)
    taken = {line.sheet_id: line.supply for line in lines.select_related("supply")}
    films = list(Supply.objects.films())
    found = {}
    for pk, root in roots.items():
        film = taken.get(root.pk) or next((f for f in films if is_of(root, f)), None)
        if film is not None:
            found[pk] = film
    return found


def clean_sheets(film: Supply) -> list[Sheet]:
    """Opened sheets of a film, and offcuts of them, that nothing is printed on (five queries)."""
    if film.kind != SupplyKind.FILM:
        return []
    found = list(
        Sheet.objects.filter(
            film=film.film, printer=film.printer, printed_at=None, lost_at=None
        ).order_by("code")
    )
    films = opened_as(found)
    return [sheet for sheet in found if films.get(sheet.pk) == film]


def _roots(sheets: Sequence[Sheet]) -> dict[int, Sheet]:
    """The whole sheet that each of these was once cut from."""
    roots = {sheet.pk: sheet for sheet in sheets}
    while parents := {root.cut_from_id for root in roots.values() if root.cut_from_id}:
        known = Sheet.objects.in_bulk(parents)
        roots = {
            pk: known[root.cut_from_id] if root.cut_from_id else root for pk, root in roots.items()
        }
    return roots


def is_of(sheet: Sheet, film: Supply) -> bool:
    """Whether a whole sheet is one of a film in the stores, by kind and size."""
    sides = sorted((film.width_mm or 0, film.height_mm or 0))
    kinds = (film.film, film.printer, film.example) == (sheet.film, sheet.printer, sheet.example)
    return kinds and sorted((sheet.width_mm, sheet.height_mm)) == sides
