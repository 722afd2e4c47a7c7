"""A good piece lent to a twin that has none: it is its own from then on, and both logs say so."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from django.db import transaction
from django.db.models import Q, QuerySet

from decaljobs.craft.outlook import reached_on_sheets
from decaljobs.craft.stages import LAYERS, Build, Layer, Stage
from decaljobs.models import Decal, Person, Piece, PieceState, StageEvent
from decaljobs.services.bench import logbook
from decaljobs.services.bench.logbook import MOVES, How, Kind
from decaljobs.services.bench.outlooks import good_pieces, refresh
from decaljobs.services.bench.taking_back import take_back
from decaljobs.services.drying.air import Airs
from decaljobs.services.film.sheetlog import ON_SHEETS, WORK, Lent, carry_along, lock_sheet
from decaljobs.services.film.twins import Pile, piles_of, sort_of
from decaljobs.services.refused import Overtaken, Refused

LENDING = (Kind.GIVEN, Kind.TAKEN)
#: Twins that a page names as lenders.
MOST_LENDERS = 3


@dataclass(frozen=True)
class Offer:
    """A layer that a decal has no printed piece of, and a twin with good pieces to spare."""

    layer: Layer
    twin: Decal
    spare: int

    @property
    def value(self) -> str:
        """What a form sends to take it."""
        return f"{self.twin.pk}:{self.layer.value}"


def offers_for(decal: Decal) -> list[Offer]:
    """What twins could lend a decal, those of its own project first (two queries at most)."""
    if not decal.project.is_at_work:
        return []
    piles = piles_of([decal.artwork_id])
    lenders = [
        (layer, pile)
        for layer in LAYERS[Build(decal.build)]
        if _wants(piles.of(decal, layer))
        for pile in piles.twins_of(decal, layer)
        if pile.spare
    ]
    twins = Decal.objects.select_related("project").in_bulk([pile.decal for _, pile in lenders])
    offers = [Offer(layer, twins[pile.decal], pile.spare) for layer, pile in lenders]
    offers.sort(key=lambda o: (o.twin.project_id != decal.project_id, -o.spare, o.twin.pk))
    return [
        offer
        for layer in LAYERS[Build(decal.build)]
        for offer in [one for one in offers if one.layer is layer][:MOST_LENDERS]
    ]


def _wants(pile: Pile) -> bool:
    return not pile.laid and not pile.printed


@transaction.atomic
def take_piece(
    *, decal: int, twin: int, layer: Layer, by: Person, moment: datetime, seen: int | None = None
) -> StageEvent:
    """Lend a decal a good piece that its twin has to spare; answers the line in its log.

    Raises Refused where they are no twins or the decal has a piece, Overtaken where the twin has
    none to spare any more.
    """
    seen_piece = _piece_to_spare(twin, layer)
    sheet = lock_sheet(seen_piece.sheet_id) if seen_piece else None
    locked = {found.pk: found for found in logbook.lock([decal, twin])}
    if decal == twin:
        raise Refused("A decal is no twin of its own.")
    taker, giver = locked[decal], locked[twin]
    _check_may_take(taker, giver, layer, seen, moment)
    piece = _piece_to_spare(twin, layer)
    if piece is None or sheet is None or piece.sheet_id != sheet.pk:
        raise _none_to_spare(giver, layer)
    taken = _lend(piece, giver, taker, Lent(moment, moment, by, giver))
    refresh([giver, taker])
    return taken


def _check_may_take(
    taker: Decal, giver: Decal, layer: Layer, seen: int | None, moment: datetime
) -> None:
    logbook.check_seen(taker, seen, now=moment)
    logbook.check_at_work([taker])
    if giver.project.binned_at:
        raise Refused(f"{giver.project} is in the bin: bring it back first.")
    if layer not in LAYERS[Build(taker.build)] or sort_of(taker, layer) != sort_of(giver, layer):
        raise Refused(f"{_full(giver)} is no twin of {taker.words}: its pieces are not the same.")
    own = _pile(taker, layer)
    if own.laid:
        raise Refused(f"{taker.words} has its {layer} layer on the model already.")
    if own.printed:
        raise Refused(f"{taker.words} has a good {layer} piece of its own by now.")


def _none_to_spare(giver: Decal, layer: Layer) -> Overtaken:
    return Overtaken(
        f"{_full(giver)} has no good {layer} piece to spare any more: somebody was quicker, or it "
        "needs its last one itself. Nothing was moved."
    )


def _pile(decal: Decal, layer: Layer) -> Pile:
    return piles_of([decal.artwork_id]).of(decal, layer)


def _piece_to_spare(decal: int, layer: Layer) -> Piece | None:
    """The printed piece that is furthest on of those that a decal has to spare.

    The one furthest on of all it keeps for itself, unless the layer is on the model.
    """
    pieces = Piece.objects.filter(decal=decal, layer=layer).select_related("sheet")
    lying = sorted(pieces.at_size().at_hand().printed(), key=_furthest_first)
    laid = pieces.filter(state=PieceState.USED).exists()
    return next(iter(lying if laid else lying[1:]), None)


def _furthest_first(piece: Piece) -> tuple[bool, float, int, int]:
    sheet = piece.sheet
    dry = sheet.rested_at.timestamp() if sheet.is_sealed and sheet.rested_at else float("inf")
    return not sheet.is_sealed, dry, -sheet.coats_done, piece.pk


def _lend(piece: Piece, giver: Decal, taker: Decal, lent: Lent) -> StageEvent:
    """Move a piece over and write it in both logs; the decals are not yet saved."""
    _hand_over(piece, taker)
    _write(giver, Kind.GIVEN, taker, piece, lent)
    work = piece.sheet.events.in_force().filter(kind__in=WORK).order_by("-number").first()
    if work is not None:
        lying = good_pieces([taker]).get(taker.pk, [])
        carry_along(taker, lying, work, Airs(), lent=lent)
    return _write(taker, Kind.TAKEN, giver, piece, lent)


def _write(decal: Decal, kind: str, twin: Decal, piece: Piece, lent: Lent) -> StageEvent:
    return logbook.append(
        decal,
        kind=kind,
        to_stage=Stage(decal.stage),
        at=lent.at,
        moment=lent.moment,
        by=lent.by,
        pieces=[piece],
        twin=twin,
        air={"twin": _full(twin), "layer": piece.layer},
    )


def _hand_over(piece: Piece, decal: Decal) -> None:
    """A piece as the next free copy of another decal on its sheet."""
    piece.decal, piece.copy = decal, _free_copy(piece, decal.pk)
    piece.save(update_fields=["decal", "copy"])


def put_back_before(lines: QuerySet[StageEvent]) -> None:
    """Give pieces back to whom they belonged to before these lines, which are not kept."""
    lent = lines.filter(Q(kind=Kind.TAKEN) | Q(undoes__kind=Kind.TAKEN)).order_by("-pk")
    for line in lent.select_related("undoes__decal", "twin").prefetch_related("pieces"):
        owner = line.undoes.decal if line.undoes else line.twin
        for piece in line.pieces.all():
            if owner is not None:
                _hand_over(piece, owner)


def _free_copy(piece: Piece, decal: int) -> int:
    """The lowest number that no copy of the decal on the piece's sheet has."""
    numbers = Piece.objects.filter(decal=decal, sheet=piece.sheet_id).exclude(pk=piece.pk)
    had = set(numbers.values_list("copy", flat=True))
    return next(number for number in range(1, len(had) + 2) if number not in had)


def is_lent(*, decal: int, seen: int | None) -> bool:
    """Whether the last line of a decal's log, as a page showed it, tells of a lent piece."""
    found = Decal.objects.filter(pk=decal).first()
    if found is None or seen not in (None, found.events_logged):
        return False
    last = logbook.last_in_force(found)
    return last is not None and last.kind in LENDING


@transaction.atomic
def give_back(*, decal: int, by: Person, moment: datetime) -> StageEvent:
    """Take back the lending that a decal's log ends with; answers the line in that log.

    Raises Refused where the piece was laid, spoiled or lent on since.
    """
    seen = StageEvent.objects.in_force().filter(decal=decal, kind__in=LENDING).last()
    if seen is None:
        raise Overtaken("This was taken back already.")
    pieces = list(seen.pieces.all())
    for piece in pieces:
        lock_sheet(piece.sheet_id)
    locked = {found.pk: found for found in logbook.lock([decal, seen.twin_id or decal])}
    if logbook.last_in_force(locked[decal]) != seen:
        raise Overtaken(f"{locked[decal].words} has moved on. Nothing was taken back.")
    given, taken = _both_lines(seen, pieces)
    giver, taker = locked[given.decal_id], locked[taken.decal_id]
    for piece in pieces:
        _check_may_go_back(piece, giver, taker)
        _hand_over(piece, giver)
    lines = {
        line.pk: take_back(owner, line, by=by, moment=moment)
        for owner, line in ((giver, given), (taker, taken))
    }
    _fall_back(taker, taken, by=by, moment=moment)
    refresh([giver, taker])
    return lines[seen.pk]


def _both_lines(line: StageEvent, pieces: Iterable[Piece]) -> tuple[StageEvent, StageEvent]:
    """The lines of giver and taker, by either of the two."""
    kind = Kind.TAKEN if line.kind == Kind.GIVEN else Kind.GIVEN
    others = StageEvent.objects.in_force().filter(
        decal=line.twin_id, twin=line.decal_id, kind=kind, logged_at=line.logged_at
    )
    other = others.filter(pieces__in=pieces).last() or others.last()
    if other is None:
        raise Refused("The other decal's log does not know of this piece: see the doctor.")
    return (line, other) if line.kind == Kind.GIVEN else (other, line)


def _check_may_go_back(piece: Piece, giver: Decal, taker: Decal) -> None:
    piece.refresh_from_db()
    if piece.decal_id != taker.pk:
        raise Refused(f"{taker.words} has lent this piece on: take that back first.")
    if piece.state != PieceState.GOOD:
        how = "lies on the model" if piece.state == PieceState.USED else "is logged as spoiled"
        raise Refused(f"The piece {how} ({taker.words}): undo that step first.")
    if giver.artwork_id != taker.artwork_id or piece.layer not in LAYERS[Build(giver.build)]:
        raise Refused(f"{giver.words} was changed since: this piece is of no use to it any more.")


def _fall_back(taker: Decal, taken: StageEvent, *, by: Person, moment: datetime) -> None:
    """Undo the stages that the piece alone had brought its taker to."""
    lying = good_pieces([taker]).get(taker.pk, [])
    reached = reached_on_sheets(Build(taker.build), lying)
    while taker.stage in ON_SHEETS[ON_SHEETS.index(reached) + 1 :]:
        last = taker.events.in_force().filter(kind__in=MOVES).order_by("-number").first()
        if last is None or last.how != How.SHEET or last.twin_id != taken.twin_id:
            return
        if last.logged_at != taken.logged_at:
            return
        take_back(taker, last, by=by, moment=moment)


def _full(decal: Decal) -> str:
    """A decal with its project, for a log that is read without either."""
    return f"{decal.words} ({decal.project.name})"[:200]
