"""A good piece lent to a twin that has none: what moves, what both logs say, and back again."""

from datetime import timedelta
from functools import partial

import pytest

from decaljobs.craft.stages import Build, Hold, Layer, Stage
from decaljobs.models import Decal, PieceState, Sheet, StageEvent
from decaljobs.services.bench import spoiling, steps, undoing
from decaljobs.services.bench.before import bench_then
from decaljobs.services.film import lending, lost_sheets, sheet_undoing
from decaljobs.services.film.filmuse import film_of
from decaljobs.services.film.lending import offers_for, take_piece
from decaljobs.services.film.sheets import log_printed
from decaljobs.services.projects import bin as bins
from decaljobs.services.refused import Overtaken, Refused
from decaljobs.services.safekeeping.doctor import look_over
from tests.factories import (
    EVENING,
    make_artwork,
    make_decals,
    make_project,
    placed_sheet,
    sealed_sheet,
)
from tests.services.layout.test_layouts import at_once
from tests.services.test_log_agrees import check_agreement

pytestmark = pytest.mark.django_db
CLEAR, BASE = Layer.CLEAR, Layer.BASE
LATER = EVENING + timedelta(hours=1)


def fresh(decal):
    return Decal.objects.select_related("project", "artwork").get(pk=decal.pk)


def take(wants, has, maker, layer=CLEAR, **fields):
    return take_piece(decal=wants.pk, twin=has.pk, layer=layer, by=maker, moment=EVENING, **fields)


def undo(decal, maker):
    return undoing.undo_last(decal=decal.pk, by=maker, moment=LATER)


def standing(decal):
    decal = fresh(decal)
    return decal.stage, decal.held_because, decal.pieces.count()


def test_the_piece_is_the_twins_from_then_on_and_it_can_be_laid(maker, twins):
    has, wants = twins
    take(wants, has, maker)
    assert standing(wants) == (Stage.SEALED, "", 1)
    assert standing(has) == (Stage.SEALED, "", 2)
    assert fresh(wants).ready_at == EVENING
    steps.log_step(decals=[wants.pk], step="clear_applied", by=maker, moment=LATER)
    assert wants.pieces.get().state == PieceState.USED
    for decal in twins:
        check_agreement(decal)


def test_both_logs_say_so(maker, twins):
    has, wants = twins
    taken = take(wants, has, maker)
    assert taken.words == "Clear piece taken from Door 1 of 2 (Harbour launch)"
    given = has.events.get(kind="given")
    assert given.words == "Clear piece given to Door 2 of 2 (Harbour launch)"
    assert (given.twin, taken.twin, given.by) == (wants, has, maker)
    assert set(given.pieces.all()) == set(taken.pieces.all()) == set(wants.pieces.all())
    assert [line.words for line in wants.events.all()] == ["Printed", "Sealed", taken.words]


def test_it_gets_the_next_free_number_among_the_copies_on_its_sheet(maker):
    has, wants = make_decals(2, Build.CLEAR_ALONE)
    sheet = sealed_sheet("clear", [has, wants], maker, copies=3)
    for piece in wants.pieces.filter(copy__in=(1, 2, 3)):
        spoiling.spoil_piece(piece=piece.pk, by=maker, moment=EVENING)
    take(wants, has, maker)
    assert sorted(sheet.pieces.filter(decal=wants).values_list("copy", flat=True)) == [1, 2, 3, 4]
    assert has.pieces.count() == 2


def test_the_lender_keeps_the_piece_that_is_furthest_on(maker):
    has, wants = make_decals(2, Build.CLEAR_ALONE)
    wet = placed_sheet("clear", [has], copies=1)
    dry = sealed_sheet("clear", [has], maker, copies=1)
    log_printed(sheet=wet.pk, by=maker, moment=EVENING)
    take(wants, has, maker)
    assert wants.pieces.get().sheet == wet
    assert has.pieces.get().sheet == dry
    assert standing(wants) == (Stage.PRINTED, Hold.SHEET_NOT_SEALED, 1)


def test_the_last_piece_that_the_twin_needs_is_never_lent(maker, twins):
    has, wants = twins
    spoil_all_but(has, 1, maker)
    assert offers_for(wants) == []
    with pytest.raises(Overtaken, match="needs its last one itself. Nothing was moved"):
        take(wants, has, maker)
    assert not StageEvent.objects.filter(kind="taken").exists()


def spoil_all_but(decal, number, maker):
    for piece in decal.pieces.good()[number:]:
        spoiling.spoil_piece(piece=piece.pk, by=maker, moment=EVENING)


def test_one_that_is_laid_lends_its_last_piece_too(maker, twins):
    has, wants = twins
    steps.log_step(decals=[has.pk], step="clear_applied", by=maker, moment=EVENING)
    spoil_all_but(has, 1, maker)
    assert [(offer.twin, offer.spare) for offer in offers_for(wants)] == [(has, 1)]
    take(wants, has, maker)
    assert standing(has)[2] == 2  # the laid one and the spoiled one


def test_of_two_who_want_the_last_spare_the_second_is_told(maker, twins):
    has, wants = twins
    third = make_decals(1, Build.CLEAR_ALONE, artwork=has.artwork)[0]
    spoil_all_but(has, 2, maker)
    take(wants, has, maker)
    with pytest.raises(Overtaken, match=r"Door 1 of 2 \(Harbour launch\) has no good clear piece"):
        take(third, has, maker)
    assert third.events_logged == 0


@pytest.mark.django_db(transaction=True, serialized_rollback=True)
def test_of_three_who_take_the_last_spare_at_once_one_gets_it_and_the_others_are_told(maker):
    has, *want = make_decals(4, Build.CLEAR_ALONE, place="Door")
    sealed_sheet("clear", [has], maker, copies=2)
    came = at_once([partial(take, one, has, maker) for one in want])
    told = [one for one in came if isinstance(one, Overtaken)]
    assert len(told) == 2
    assert all("to spare any more" in str(one) for one in told)
    assert StageEvent.objects.filter(kind="taken").count() == 1
    assert has.pieces.count() == 1
    for decal in (has, *want):
        check_agreement(decal)


def test_a_page_that_is_out_of_date_is_refused(maker, twins):
    has, wants = twins
    take(wants, has, maker, seen=0)
    with pytest.raises(Overtaken, match="has moved on"):
        take(wants, has, maker, seen=0)


def test_one_with_a_good_piece_of_its_own_gets_no_other(maker, twins):
    has, wants = twins
    take(wants, has, maker)
    assert offers_for(fresh(wants)) == []
    with pytest.raises(Refused, match="has a good clear piece of its own by now"):
        take(wants, has, maker)
    steps.log_step(decals=[wants.pk], step="clear_applied", by=maker, moment=EVENING)
    with pytest.raises(Refused, match="has its clear layer on the model already"):
        take(wants, has, maker)


@pytest.mark.parametrize("unlike", ["artwork", "upright", "build", "size"])
def test_only_what_is_truly_equal_lends(maker, unlike):
    art = make_artwork()
    has, wants = make_decals(2, Build.WHITE_ALONE, artwork=art)
    sealed_sheet("white", [has], maker, copies=3)
    if unlike == "artwork":
        Decal.objects.filter(pk=wants.pk).update(artwork=make_artwork())
    elif unlike == "upright":
        Decal.objects.filter(pk=wants.pk).update(upright=True)
    elif unlike == "build":
        Decal.objects.filter(pk=wants.pk).update(build=Build.LAMINATED)
    elif unlike == "size":
        has.pieces.update(x_mm=9, y_mm=9, width_mm=24, height_mm=12, degrees=0)
        assert offers_for(fresh(wants))
        art.width_mm = 25
        art.save()
    assert offers_for(fresh(wants)) == []
    with pytest.raises(Refused):
        take(wants, has, maker, layer=BASE)


def test_a_decal_is_no_twin_of_its_own(maker, twins):
    has, wants = twins
    for decal in (has, wants):
        with pytest.raises(Refused, match="no twin of its own"):
            take(decal, decal, maker)


def test_a_turned_piece_is_known_by_the_width_it_was_laid_out_with(maker, twins):
    has, wants = twins
    has.pieces.update(x_mm=9, y_mm=9, width_mm=12, height_mm=24, degrees=90)
    assert offers_for(wants)
    has.pieces.update(degrees=0)
    assert offers_for(wants) == []


def test_no_piece_is_lent_to_or_from_the_bin(maker):
    art = make_artwork()
    has = make_decals(1, Build.CLEAR_ALONE, artwork=art, project=make_project())[0]
    wants = make_decals(1, Build.CLEAR_ALONE, artwork=art, project=make_project())[0]
    sealed_sheet("clear", [has], maker, copies=3)
    bins.throw_away(project=has.project_id, moment=EVENING)
    assert offers_for(wants) == []
    with pytest.raises(Refused, match="is in the bin"):
        take(wants, has, maker)
    bins.bring_back(project=has.project_id)
    bins.put_away(project=wants.project_id, moment=EVENING)
    assert offers_for(fresh(wants)) == []
    with pytest.raises(Refused, match="is put away"):
        take(wants, has, maker)


def test_twins_of_the_same_model_are_named_first_and_three_at_most(maker):
    art, near = make_artwork(), make_project(name="Near")
    far = [make_decals(1, Build.CLEAR_ALONE, artwork=art)[0] for _ in range(4)]
    has, wants = make_decals(2, Build.CLEAR_ALONE, artwork=art, project=near)
    sealed_sheet("clear", far, maker, copies=4)
    sealed_sheet("clear", [has], maker, copies=2)
    offers = offers_for(wants)
    assert offers[0].twin == has
    assert len(offers) == 3


def test_a_laminated_decal_gets_on_once_it_has_both(maker):
    has, wants = make_decals(2, place="Door")
    sealed_sheet("white", [has], maker, copies=3)
    sealed_sheet("clear", [has], maker, copies=3)
    take(wants, has, maker, layer=BASE)
    assert standing(wants) == (Stage.PLANNED, Hold.NO_CLEAR_PIECE, 1)
    take(wants, has, maker)
    assert standing(wants) == (Stage.SEALED, "", 2)
    undo(wants, maker)
    assert standing(wants) == (Stage.PLANNED, Hold.NO_CLEAR_PIECE, 1)
    for decal in (has, wants):
        check_agreement(decal)


@pytest.mark.parametrize("by_whom", ["taker", "lender"])
def test_undone_on_either_side_it_is_back_and_both_logs_say_so(maker, twins, by_whom):
    has, wants = twins
    copy = take(wants, has, maker).pieces.get().copy
    line = undo(wants if by_whom == "taker" else has, maker)
    assert line.undoes.kind == ("taken" if by_whom == "taker" else "given")
    assert standing(wants) == (Stage.PLANNED, Hold.NO_CLEAR_PIECE, 0)
    assert standing(has) == (Stage.SEALED, "", 3)
    assert sorted(has.pieces.values_list("copy", flat=True)) == [1, 2, 3]
    assert copy == 1
    assert not StageEvent.objects.in_force().filter(kind__in=lending.LENDING).exists()
    for decal in twins:
        check_agreement(decal)
    take(wants, has, maker)
    assert standing(wants) == (Stage.SEALED, "", 1)


def test_the_lender_may_take_it_back_after_the_taker_went_on_with_another(maker, twins):
    has, wants = twins
    take(wants, has, maker)
    own = sealed_sheet("clear", [wants], maker, copies=1)
    undo(has, maker)
    assert standing(wants) == (Stage.SEALED, "", 1)
    assert wants.pieces.get().sheet == own
    check_agreement(wants)


def test_stages_that_were_there_before_stay_when_it_goes_back(maker):
    has, wants = make_decals(2, Build.CLEAR_ALONE)
    sealed_sheet("clear", [has, wants], maker, copies=2)
    spoil_all_but(wants, 0, maker)
    take(wants, has, maker)
    undo(wants, maker)
    assert standing(wants) == (Stage.SEALED, Hold.NO_CLEAR_PIECE, 2)
    check_agreement(wants)


@pytest.mark.parametrize("what", ["laid", "spoiled", "lent on"])
def test_what_became_of_it_has_to_be_undone_first(maker, twins, what):
    has, wants = twins
    take(wants, has, maker)
    piece = wants.pieces.get()
    if what == "laid":
        steps.log_step(decals=[wants.pk], step="clear_applied", by=maker, moment=EVENING)
    elif what == "spoiled":
        spoiling.spoil_piece(piece=piece.pk, by=maker, moment=EVENING)
    else:
        own = sealed_sheet("clear", [wants], maker, copies=1)
        Sheet.objects.filter(pk=own.pk).update(rested_at=EVENING - timedelta(days=9))
        (third,) = make_decals(1, Build.CLEAR_ALONE, artwork=has.artwork)
        take(third, wants, maker)
        assert third.pieces.get() == piece
    lent_on = "has lent this piece on"
    said = {"laid": "lies on the model", "spoiled": "logged as spoiled", "lent on": lent_on}
    with pytest.raises(Refused, match=said[what]):
        undo(has, maker)
    assert fresh(has).events.in_force().filter(kind="given").exists()


def test_a_lost_sheet_is_told_in_the_log_of_whom_the_piece_is_now(maker, twins):
    has, wants = twins
    take(wants, has, maker)
    sheet = wants.pieces.get().sheet
    lost_sheets.lose_sheet(sheet=sheet.pk, by=maker, moment=EVENING)
    assert wants.events.get(kind="piece_spoiled").pieces.get() == wants.pieces.get()
    assert has.events.get(kind="piece_spoiled").pieces.count() == 2
    sheet_undoing.undo_sheet(sheet=sheet.pk, by=maker, moment=LATER)
    assert standing(wants) == (Stage.SEALED, "", 1)
    for decal in twins:
        check_agreement(decal)


def test_a_coat_undone_on_the_sheet_takes_the_taker_back_and_the_next_brings_it_on(maker, twins):
    has, wants = twins
    take(wants, has, maker)
    sheet = wants.pieces.get().sheet
    sheet_undoing.undo_sheet(sheet=sheet.pk, by=maker, moment=LATER)
    assert standing(wants)[:2] == (Stage.PRINTED, Hold.SHEET_NOT_SEALED)
    check_agreement(wants)
    undo(wants, maker)
    assert standing(wants) == (Stage.PLANNED, Hold.NO_CLEAR_PIECE, 0)
    check_agreement(wants)


def test_the_film_is_counted_where_the_piece_went(maker, twins):
    has, wants = twins
    sheet = has.pieces.first().sheet
    take(wants, has, maker)
    (film,) = film_of([sheet])
    assert {share.decal: round(share.fraction, 4) for share in film.shares} == {
        has.pk: 0.6667,
        wants.pk: 0.3333,
    }


def test_the_bench_as_it_was_has_the_piece_where_it_lay_then(maker, twins):
    has, wants = twins
    take_piece(decal=wants.pk, twin=has.pk, layer=CLEAR, by=maker, moment=LATER)
    then = bench_then(moment=EVENING)
    assert [entry.decal for entry in then["held"]] == [wants.words]
    assert [entry.decal for entry in then["ready"]] == [has.words]
    assert standing(wants) == (Stage.SEALED, "", 1)
    undoing.undo_last(decal=wants.pk, by=maker, moment=LATER + timedelta(hours=1))
    then = bench_then(moment=LATER + timedelta(minutes=30))
    assert [entry.decal for entry in then["held"]] == []
    assert standing(wants)[2] == 0


def test_the_doctor_finds_nothing_amiss(maker, twins):
    has, wants = twins
    take(wants, has, maker)
    assert not [found for found in look_over(EVENING) if "log" in found.words]
