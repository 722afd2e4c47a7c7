"""The squeeze of a sheet that is laid out and not printed, and of the other film laid out with it.

Both films keep the same places: what lies at one place on both is nested once and goes along.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from datetime import datetime
from hashlib import sha256

from django.db import transaction

from decaljobs.models import LayoutSearch, Person, Piece, Sheet
from decaljobs.services.film.offcuts import Side, used_to
from decaljobs.services.film.sheet_places import PLACE_COLUMNS, place_fields
from decaljobs.services.film.sheetlog import lock_sheet, refuse_lost
from decaljobs.services.layout.layouts import LayoutWishes
from decaljobs.services.layout.search_records import Watch, begin_record, guarded, keep, tended
from decaljobs.services.refused import Overtaken, Refused
from decaljobs.services.squeeze.nesting import LONGEST
from decaljobs.services.squeeze.strips import Strip, outlines_of

Kind, State = LayoutSearch.Kind, LayoutSearch.State
#: A decal at a place: what lies there on both films is one.
Spot = tuple[int, float, float]


def search_of(sheet: Sheet, moment: datetime) -> LayoutSearch | None:
    """The last squeeze of this sheet (one query)."""
    found = LayoutSearch.objects.filter(asked__sheet=sheet.pk).first()
    return None if found is None else tended(found, moment)


def begin(*, sheet: Sheet, by: Person, moment: datetime) -> LayoutSearch:
    """Squeeze a sheet behind its page. Raises Refused where nothing can be squeezed."""
    pieces = _pieces_of(_with_twin(sheet))
    _check(sheet, pieces)
    return begin_record(
        kind=Kind.SQUEEZE,
        key=_key(sheet, pieces),
        asked={"sheet": sheet.pk},
        seconds=LONGEST,
        by=by,
        moment=moment,
        work=run,
    )


def run(pk: int) -> None:
    """The work behind `begin`; running it twice does no harm."""
    guarded(pk, _work)


def _work(search: LayoutSearch, watch: Watch) -> None:
    sheet = Sheet.objects.get(pk=search.asked["sheet"])
    sheets = _with_twin(sheet)
    pieces = _pieces_of(sheets)
    if _key(sheet, pieces) != search.key:
        raise Refused(f"Somebody changed what lies on sheet {sheet.code}: squeeze it again.")
    strip = _strip(sheet, pieces)
    spots = {_spot(piece): piece.decal for piece in pieces}
    used = _used(sheets, strip)
    nested = strip.nested(
        list(spots.values()),
        length=used / strip.width - strip.wishes.gap,
        seconds=LONGEST,
        progress=watch.told,
        stopped=watch.stopped,
    )
    saved = 0.0
    if nested is not None:
        saved = used - (strip.width * strip.height - nested.rest[0] * nested.rest[1])
    if nested is not None and saved > 0:
        waiting = defaultdict(list)
        for laid in nested.pieces:
            waiting[laid.decal.pk].append(laid)
        new = {spot: waiting[spot[0]].pop() for spot in sorted(spots)}
        for piece in pieces:
            laid = new[_spot(piece)]
            for field, value in place_fields(laid.place).items():
                setattr(piece, field, value)
            piece.outline = [list(corner) for corner in laid.outline or ()]
        _save(sheets, pieces, search.key)
    found = {"saved_mm2": max(0.0, saved), "before_mm2": used, "sheets": [s.code for s in sheets]}
    keep(search, found=found, state=State.DONE, share=1)


@transaction.atomic
def _save(sheets: Sequence[Sheet], pieces: Sequence[Piece], key: str) -> None:
    """Write the new places down, unless the sheets were printed or changed meanwhile."""
    locked = [lock_sheet(sheet.pk) for sheet in sorted(sheets, key=lambda sheet: sheet.pk)]
    for sheet in locked:
        refuse_lost(sheet)
        if sheet.is_printed:
            raise Refused(f"Sheet {sheet.code} was printed meanwhile: its pieces lie as they lie.")
    if _key(sheets[0], _pieces_of(sheets)) != key:
        raise Overtaken(f"Somebody changed what lies on sheet {sheets[0].code}: squeeze it again.")
    Piece.objects.bulk_update(pieces, PLACE_COLUMNS)


def _check(sheet: Sheet, pieces: Sequence[Piece]) -> None:
    refuse_lost(sheet)
    if sheet.is_printed:
        raise Refused(f"Sheet {sheet.code} is printed already: its pieces lie where they lie.")
    if not pieces or not all(piece.has_place for piece in pieces):
        raise Refused(f"Lay sheet {sheet.code} out first: then it can be squeezed.")
    if sheet.straight_cuts:
        raise Refused(
            f"Sheet {sheet.code} was laid out for straight cuts: nested pieces do not come apart "
            "by them."
        )


def _pieces_of(sheets: Sequence[Sheet]) -> list[Piece]:
    found = Piece.objects.filter(sheet__in=sheets)
    return list(found.select_related("decal__artwork", "decal__project").order_by("pk"))


def _with_twin(sheet: Sheet) -> list[Sheet]:
    """The sheet, and the one of the other film that was laid out with it, not printed either."""
    mine = _places(sheet)
    names = ("width_mm", "height_mm", "margin_mm", "gap_mm")
    like = {name: getattr(sheet, name) for name in names}
    others = Sheet.objects.filter(printed_at=None, lost_at=None, **like).exclude(film=sheet.film)
    for other in others.order_by("pk"):
        theirs = _places(other)
        both = mine.keys() & theirs.keys()
        if both and all(mine[decal] == theirs[decal] for decal in both):
            return [sheet, other]
    return [sheet]


def _places(sheet: Sheet) -> dict[int, set[tuple[float | None, ...]]]:
    """Where each decal lies on a sheet."""
    places: dict[int, set[tuple[float | None, ...]]] = defaultdict(set)
    for decal, *place in sheet.pieces.placed().values_list("decal", "x_mm", "y_mm", "degrees"):
        places[decal].add(tuple(place))
    return places


def _strip(sheet: Sheet, pieces: Sequence[Piece]) -> Strip:
    wide, high = float(sheet.width_mm), float(sheet.height_mm)
    gap = float(sheet.gap_mm)
    wishes = LayoutWishes(sheet.printer, wide, high, float(sheet.margin_mm), gap=gap)
    return Strip(wishes, outlines_of(piece.decal.artwork for piece in pieces))


def _used(sheets: Sequence[Sheet], strip: Strip) -> float:
    """Film inside the margin that is not free beyond the better of the two straight cuts, mm²."""
    margin, gap = strip.wishes.margin_mm, strip.wishes.gap
    foot = max(used_to(sheet, Side.FOOT) for sheet in sheets) - margin + gap
    right = max(used_to(sheet, Side.RIGHT) for sheet in sheets) - margin + gap
    free = max(0.0, strip.height - foot) * strip.width, max(0.0, strip.width - right) * strip.height
    return strip.width * strip.height - max(free)


def _spot(piece: Piece) -> Spot:
    return piece.decal_id, piece.x_mm or 0.0, piece.y_mm or 0.0


def _key(sheet: Sheet, pieces: Sequence[Piece]) -> str:
    """The same for the same places, and for no other."""
    rows = [(piece.pk, piece.decal_id, piece.x_mm, piece.y_mm, piece.degrees) for piece in pieces]
    sides = float(sheet.width_mm), float(sheet.height_mm)
    said = repr((sheet.pk, *sides, float(sheet.gap_mm), rows))
    return sha256(said.encode()).hexdigest()
