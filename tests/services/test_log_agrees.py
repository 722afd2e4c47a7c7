"""Random legal and illegal steps, spoilings and undos: log, stage, times and pieces agree."""

from datetime import timedelta

import pytest
from hypothesis import HealthCheck, event, given, settings
from hypothesis import strategies as st

from decaljobs.craft.decallog import Entry, EntryKind, piece_states, stage_of
from decaljobs.craft.stages import LAYERS, Build, Film, Layer, Stage, laid_layers
from decaljobs.models import Decal, StageEvent
from decaljobs.services.bench import spoiling, steps, undoing
from decaljobs.services.film import lending, sheet_undoing, sheets
from decaljobs.services.refused import Refused
from tests.factories import (
    EVENING,
    make_artwork,
    make_decals,
    make_person,
    make_project,
    make_sheet,
)

pytestmark = pytest.mark.django_db(transaction=False)

DOINGS = st.one_of(
    st.tuples(st.just("step"), st.sampled_from(list(Stage)), st.booleans()),
    st.tuples(st.just("undo"), st.none(), st.none()),
    st.tuples(st.just("spoil_layer"), st.sampled_from(list(Layer)), st.none()),
    st.tuples(st.just("spoil_piece"), st.integers(0, 5), st.none()),
    st.tuples(st.just("print"), st.sampled_from(list(Film)), st.none()),
    st.tuples(st.just("coat"), st.sampled_from(list(Film)), st.booleans()),
    st.tuples(st.just("take"), st.sampled_from(list(Layer)), st.booleans()),
    st.tuples(st.just("undo_twin"), st.none(), st.none()),
    st.tuples(st.just("undo_sheet"), st.sampled_from(list(Film)), st.none()),
)
# Mostly the step that comes next, so that runs get far; now and then anything at all.
CHAINS = st.lists(
    st.tuples(st.integers(0, 9), DOINGS, st.integers(0, 40)), min_size=10, max_size=45
)


def entries_of(decal: Decal) -> list[Entry]:
    numbers = dict(decal.events.values_list("pk", "number"))
    return [
        Entry(
            number=event.number,
            kind=EntryKind(event.kind),
            from_stage=Stage(event.from_stage),
            to_stage=Stage(event.to_stage),
            undoes=numbers.get(event.undoes_id),
            pieces=tuple(event.pieces.values_list("pk", flat=True)),
        )
        for event in decal.events.order_by("number")
    ]


def check_agreement(decal: Decal) -> None:
    decal.refresh_from_db()
    entries = entries_of(decal)
    assert [entry.number for entry in entries] == list(range(1, len(entries) + 1))
    assert decal.events_logged == len(entries)
    assert decal.stage == stage_of(entries)
    said = piece_states(entries)
    for piece in decal.pieces.all():
        assert piece.state == said.get(piece.pk, "good"), (piece, entries)
    worn = {
        Layer(layer) for layer in decal.pieces.filter(state="used").values_list("layer", flat=True)
    }
    assert worn == set(laid_layers(Build(decal.build), Stage(decal.stage)))
    check_ready_time(decal)


def check_ready_time(decal: Decal) -> None:
    """The wait after a layer is 12 h in the reference air: common practice, no source."""
    moves = decal.events.in_force().filter(kind__in=["step", "spoiled"]).order_by("number")
    last = moves.last()
    if last is not None:
        assert decal.stage_at == last.at
    if last is not None and last.to_stage in ("base_applied", "clear_applied"):
        assert decal.turns_at == last.at + timedelta(hours=12)
    else:
        assert (decal.turns_to, decal.turns_at) == ("", None)
    if not decal.held_because:
        assert decal.ready_at >= decal.stage_at


def usual(decal: Decal, sheets_by_film: dict, roll: int):
    """What a maker would do next."""
    if decal.next_step in ("printed", "sealed"):
        film = list(Film)[roll % 2]
        sheet = sheets_by_film[film]
        sheet.refresh_from_db()
        return ("coat", film, True) if sheet.is_printed else ("print", film, None)
    return ("step", Stage(decal.next_step), True) if decal.next_step else ("undo", None, None)


def do(what, which, extra, *, decal, twin, films, maker, moment) -> None:
    reason = "for practice" if extra else ""
    if what == "step":
        steps.log_step(decals=[decal.pk], step=which, by=maker, moment=moment, reason=reason)
    elif what == "undo":
        undoing.undo_last(decal=decal.pk, by=maker, moment=moment)
    elif what == "spoil_layer":
        spoiling.spoil_layer(decal=decal.pk, layer=which, by=maker, moment=moment, reason="torn")
    elif what == "spoil_piece":
        pieces = list(decal.pieces.order_by("pk"))
        spoiling.spoil_piece(piece=pieces[which % len(pieces)].pk, by=maker, moment=moment)
    elif what == "take":
        taker, giver = (decal, twin) if extra else (twin, decal)
        lending.take_piece(decal=taker.pk, twin=giver.pk, layer=which, by=maker, moment=moment)
    elif what == "undo_twin":
        undoing.undo_last(decal=twin.pk, by=maker, moment=moment)
    elif what == "print":
        sheets.log_printed(sheet=films[which].pk, by=maker, moment=moment)
    elif what == "coat":
        sheets.log_coat(sheet=films[which].pk, by=maker, moment=moment, reason=reason)
    else:
        sheet_undoing.undo_sheet(sheet=films[which].pk, by=maker, moment=moment)


@pytest.mark.slow
@settings(
    max_examples=25,
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
)
@given(build=st.sampled_from(list(Build)), overcoat=st.booleans(), chain=CHAINS)
def test_log_stage_ready_time_and_pieces_agree_after_each_doing(build, overcoat, chain, settings):
    maker = make_person()
    decal, twin = make_decals(
        2, build, project=make_project(overcoat=overcoat), artwork=make_artwork()
    )
    films = {Film.WHITE: make_sheet("white"), Film.CLEAR: make_sheet("clear")}
    for film, sheet in films.items():
        if film.layer in LAYERS[build]:
            sheets.put_on_sheet(sheet=sheet.pk, decals=[decal.pk], copies=3)
    decal.refresh_from_db()
    moment = EVENING
    for roll, doing, hours in chain:
        moment += timedelta(hours=hours, minutes=1)
        what, which, extra = usual(decal, films, roll) if roll < 7 else doing
        if roll == 7 and what != "take":  # both ways, and often enough that it comes about
            what, which, extra = "take", list(Layer)[hours % 2], False
        before = StageEvent.objects.count()
        try:
            everything = {"decal": decal, "twin": twin, "films": films}
            do(what, which, extra, **everything, maker=maker, moment=moment)
        except Refused:
            assert StageEvent.objects.count() == before
        check_agreement(decal)
        check_agreement(twin)
    event(f"ends {decal.stage}")
    event(f"lent {min(2, StageEvent.objects.filter(kind='taken').count())}")
