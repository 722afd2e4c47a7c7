"""The queue laid out and laid down: places, films, offcuts, and two people at once."""

from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from functools import partial
from itertools import combinations
from threading import Barrier

import pytest
from django.db import connections
from PIL import Image

from decaljobs.craft.stages import Build, Film
from decaljobs.models import Decal, Piece, QueuedDecal, Sheet
from decaljobs.services.film import sheets
from decaljobs.services.film.offcuts import Side, cut_off
from decaljobs.services.film.sheet_places import give_places
from decaljobs.services.layout import queue
from decaljobs.services.layout.copies import wanted_of
from decaljobs.services.layout.layouts import LayoutWishes, plan_layout
from decaljobs.services.layout.next_sheet import (
    fingerprint,
    gap_costs,
    lay_down,
    still_fitting,
)
from decaljobs.services.refused import Overtaken, Refused
from tests.factories import EVENING, make_artwork, make_decals, make_sheet
from tests.queues import queue_up

pytestmark = pytest.mark.django_db

WISHES = LayoutWishes("inkjet", 210, 297, 6, seconds=0.05)


def plan(**changes):
    rows = list(QueuedDecal.objects.for_sheet())
    offcuts = list(Sheet.objects.clean_offcuts())
    return plan_layout(wanted_of(rows), replace(WISHES, **changes), offcuts)


def lay(maker, made=None):
    return lay_down(plan=made or plan(), by=maker, moment=EVENING)


def places(sheet):
    return sorted(sheet.pieces.values_list("decal", "x_mm", "y_mm", "width_mm", "height_mm"))


def offcut(maker, film, height=100, **fields):
    whole = make_sheet(film, **fields)
    return cut_off(sheet=whole.pk, side=Side.FOOT, at_mm=297 - height, by=maker, moment=EVENING)


def test_one_layout_serves_both_films(maker):
    decals = make_decals(3)
    queue_up(maker, *decals)
    white, clear = lay(maker)
    assert (white.film, clear.film) == ("white", "clear")
    assert places(white) == places(clear)
    assert white.pieces.count() == 6
    assert not QueuedDecal.objects.exists()
    decals[0].refresh_from_db()
    assert decals[0].held_because == "sheet_not_printed"


def test_pieces_lie_inside_the_edge_with_the_gap_between(maker):
    art = [make_artwork(name=f"Art {width}", width_mm=width) for width in (13, 31, 57)]
    queue_up(maker, *[decal for a in art for decal in make_decals(3, artwork=a)])
    sheet = lay(maker)[0]
    lying = list(sheet.pieces.all())
    assert len(lying) == 18
    for piece in lying:
        assert min(piece.x_mm, piece.y_mm) >= 6 - 1e-6
        assert piece.x_mm + piece.width_mm <= 204 + 1e-6
        assert piece.y_mm + piece.height_mm <= 291 + 1e-6
        wide = piece.height_mm if piece.degrees else piece.width_mm
        assert wide == pytest.approx(float(piece.decal.artwork.width_mm))
    for one, other in combinations(lying, 2):
        across = max(one.x_mm - other.x_mm - other.width_mm, other.x_mm - one.x_mm - one.width_mm)
        along = max(one.y_mm - other.y_mm - other.height_mm, other.y_mm - one.y_mm - one.height_mm)
        assert max(across, along) >= 3 - 2e-3


def test_a_decal_of_one_layer_takes_its_place_on_that_film_alone(maker):
    (both,) = make_decals(1)
    (alone,) = make_decals(1, Build.CLEAR_ALONE)
    queue_up(maker, both, alone)
    white, clear = lay(maker)
    assert set(white.pieces.values_list("decal", flat=True)) == {both.pk}
    assert set(clear.pieces.values_list("decal", flat=True)) == {both.pk, alone.pk}


def test_clear_decals_alone_open_no_white_sheet(maker):
    queue_up(maker, *make_decals(2, Build.CLEAR_ALONE))
    (sheet,) = lay(maker)
    assert sheet.film == "clear"


def test_on_places_of_their_own_each_film_has_its_own_copies(maker):
    (decal,) = make_decals(1)
    queue_up(maker, decal)
    queue.set_copies(decal=decal.pk, base=5, clear=2)
    white, clear = lay(maker, plan(same_places=False))
    assert (white.pieces.count(), clear.pieces.count()) == (5, 2)


def test_offcuts_are_filled_before_a_new_sheet_opens(maker):
    rest = offcut(maker, "clear", 60)
    queue_up(maker, *make_decals(2, Build.CLEAR_ALONE))
    (sheet,) = lay(maker)
    assert sheet == rest
    for piece in rest.pieces.all():
        assert piece.y_mm + piece.height_mm <= 60 - 6 + 1e-6


@pytest.mark.parametrize("rest", [None, 100])
def test_sheets_and_offcuts_keep_how_they_were_laid_out(maker, rest):
    if rest:
        offcut(maker, "clear", rest)
    queue_up(maker, *make_decals(2, Build.CLEAR_ALONE))
    (sheet,) = lay(maker, plan(gap=2.25, straight_cuts=True))
    sheet.refresh_from_db()
    assert (float(sheet.gap_mm), sheet.straight_cuts) == (2.25, True)
    assert (sheet.cut_from is None) == (rest is None)


def test_both_films_go_on_a_pair_of_offcuts(maker):
    white, clear = offcut(maker, "white", 60), offcut(maker, "clear", 70)
    queue_up(maker, *make_decals(1))
    assert lay(maker) == [white, clear]
    assert places(white) == places(clear)


def test_an_offcut_without_a_partner_waits_where_both_films_are_wanted(maker):
    offcut(maker, "clear", 100)
    queue_up(maker, *make_decals(1))
    laid = plan().laid
    assert [part.is_new for part in laid] == [True]


def test_laser_offcuts_and_those_of_another_printer_are_left_out(maker, owner):
    rest = offcut(maker, "clear", 100)
    queue_up(maker, *make_decals(1, Build.CLEAR_ALONE))
    assert plan().laid[0].offcuts == (rest,)
    assert plan(printer="laser").laid[0].offcuts == ()
    rest.printer = "laser"
    rest.save()
    assert plan(printer="laser").laid[0].offcuts == ()
    rest.refeed_reason = "the packet says so (olle)"
    rest.save()
    assert plan(printer="laser").laid[0].offcuts == (rest,)


def test_of_two_who_lay_out_the_same_offcut_one_is_told(maker):
    rest = offcut(maker, "clear", 60)
    first, second = make_decals(2, Build.CLEAR_ALONE)
    queue_up(maker, first)
    mine = plan()
    queue.unqueue(decals=[first.pk])
    queue_up(maker, second)
    theirs = plan()
    queue_up(maker, first)
    lay(maker, theirs)
    row = QueuedDecal.objects.get()
    mine = replace(mine, wanted=(replace(mine.wanted[0], row=row),))
    with pytest.raises(Overtaken, match=f"Offcut {rest.code} was taken"):
        lay(maker, mine)
    assert QueuedDecal.objects.count() == 1
    assert Piece.objects.filter(decal=first).count() == 0


def at_once(tasks):
    """What became of each task: a thread and a connection for each, all let go together."""
    start = Barrier(len(tasks), timeout=30)

    def done(task):
        try:
            start.wait()
            return task()
        except Overtaken as told:
            return told
        finally:
            connections.close_all()

    with ThreadPoolExecutor(len(tasks)) as threads:
        return list(threads.map(done, tasks))


@pytest.mark.django_db(transaction=True, serialized_rollback=True)
def test_of_four_who_lay_out_the_same_offcut_at_once_one_gets_it_and_the_others_are_told(maker):
    rest = offcut(maker, "clear", 60)
    decals = make_decals(4, Build.CLEAR_ALONE)
    queue_up(maker, *decals)
    every = plan().wanted
    offcuts = list(Sheet.objects.clean_offcuts())
    plans = [plan_layout([want], WISHES, offcuts) for want in every]
    assert all(made.laid[0].offcuts == (rest,) for made in plans)
    came = at_once([partial(lay, maker, made) for made in plans])
    told = [one for one in came if isinstance(one, Overtaken)]
    assert [one for one in came if one not in told] == [[rest]]
    assert [f"Offcut {rest.code} was taken by somebody else" in str(one) for one in told] == [
        True
    ] * 3
    assert Piece.objects.values("decal").distinct().count() == 1
    assert QueuedDecal.objects.count() == 3


@pytest.mark.django_db(transaction=True, serialized_rollback=True)
def test_of_two_who_print_the_same_offcut_at_once_one_is_told(maker):
    offcut(maker, "clear", 60)
    queue_up(maker, *make_decals(1, Build.CLEAR_ALONE))
    (sheet,) = lay(maker)
    seen = sheet.events_logged
    print_it = partial(sheets.log_printed, sheet=sheet.pk, by=maker, moment=EVENING, seen=seen)
    came = at_once([print_it, print_it])
    (told,) = [one for one in came if isinstance(one, Overtaken)]
    assert "‘Printed’ was logged by mara" in str(told)
    assert sheet.events.filter(kind="printed").count() == 1


def test_of_two_who_lay_out_the_same_queue_one_is_told(maker):
    queue_up(maker, *make_decals(1))
    mine, theirs = plan(), plan()
    lay(maker, theirs)
    with pytest.raises(Overtaken, match="queue has moved on"):
        lay(maker, mine)
    assert Sheet.objects.count() == 2


def test_copies_changed_meanwhile_are_told(maker):
    (decal,) = make_decals(1)
    queue_up(maker, decal)
    mine = plan()
    queue.set_copies(decal=decal.pk, base=9, clear=9)
    with pytest.raises(Overtaken):
        lay(maker, mine)


def test_of_two_who_print_the_same_sheet_one_is_told(maker):
    queue_up(maker, *make_decals(1, Build.CLEAR_ALONE))
    (sheet,) = lay(maker)
    sheets.log_printed(sheet=sheet.pk, by=maker, moment=EVENING, seen=0)
    with pytest.raises(Overtaken, match="‘Printed’ was logged by mara"):
        sheets.log_printed(sheet=sheet.pk, by=maker, moment=EVENING, seen=0)


def test_another_queue_or_other_offcuts_have_another_fingerprint(maker):
    (decal,) = make_decals(1)
    queue_up(maker, decal)
    rows = list(QueuedDecal.objects.for_sheet())
    before = fingerprint(rows, [])
    assert before == fingerprint(rows, [])
    assert before != fingerprint(rows, [make_sheet("white")])
    queue.set_copies(decal=decal.pk, base=4, clear=4)
    assert before != fingerprint(list(QueuedDecal.objects.for_sheet()), [])


def test_a_piece_larger_than_the_sheet_is_named_with_the_largest_that_fits(maker):
    wide = make_artwork(name="Banner", width_mm=600)
    queue_up(maker, *make_decals(1, artwork=wide, place="Roof"))
    with pytest.raises(Refused, match=r"Roof.*600.*198 × 285"):
        plan()


def degrees(made):
    return {piece.place.degrees for laid in made.laid for piece in laid.pieces}


def test_an_upright_decal_is_never_turned_to_save_film(maker):
    """By hand: 185 mm across, 60 × 40 mm lie two side by side straight, four turned."""
    art = make_artwork(name="Flag", width_mm=60, picture=Image.new("RGBA", (60, 40), "red"))
    (decal,) = make_decals(1, Build.CLEAR_ALONE, artwork=art)
    queue_up(maker, decal)
    queue.set_copies(decal=decal.pk, base=None, clear=4)
    narrow = {"width_mm": 6 + 185 + 6}
    turned = plan(**narrow)
    assert degrees(turned) == {90}
    queue.set_copies(decal=decal.pk, base=None, clear=4, upright=True)
    straight = plan(**narrow)
    assert degrees(straight) == {0}
    assert straight.film_mm2 > turned.film_mm2
    (sheet,) = lay(maker, straight)
    assert set(sheet.pieces.values_list("degrees", "width_mm", "height_mm")) == {(0, 60, 40)}


def test_an_upright_decal_that_fits_only_turned_is_refused_with_the_reason(maker):
    wide = make_artwork(name="Banner", width_mm=230, picture=Image.new("RGBA", (230, 20), "red"))
    (decal,) = make_decals(1, artwork=wide, place="Roof")
    queue_up(maker, decal)
    assert degrees(plan()) == {90}
    queue.set_copies(decal=decal.pk, base=None, clear=None, upright=True)
    with pytest.raises(Refused, match=r"Roof.*198 × 285 mm, and this piece may not be turned"):
        plan()


def test_a_decal_kept_upright_meanwhile_is_told(maker):
    (decal,) = make_decals(1)
    queue_up(maker, decal)
    mine = plan()
    queue.set_copies(decal=decal.pk, base=None, clear=None, upright=True)
    with pytest.raises(Overtaken, match="How a decal may lie"):
        lay(maker, mine)
    assert not Sheet.objects.exists()


def test_pieces_put_on_by_hand_are_laid_out_upright_too(maker):
    art = make_artwork(name="Flag", width_mm=60, picture=Image.new("RGBA", (60, 40), "red"))
    (decal,) = make_decals(1, Build.CLEAR_ALONE, artwork=art)
    sheet = make_sheet("clear", width_mm=7 + 185 + 7)
    sheets.put_on_sheet(sheet=sheet.pk, decals=[decal.pk], copies=4)
    give_places(sheet=sheet, seconds=0.05)
    assert set(sheet.pieces.values_list("degrees", flat=True)) == {90}
    Decal.objects.filter(pk=decal.pk).update(upright=True)
    give_places(sheet=sheet, seconds=0.05)
    assert set(sheet.pieces.values_list("degrees", flat=True)) == {0}


def test_an_empty_queue_is_refused():
    with pytest.raises(Refused, match="Nothing waits"):
        plan()


@pytest.mark.parametrize("changes", [{"gap": float("nan")}, {"gap": 500}, {"margin_mm": 105}])
def test_gaps_and_edges_that_leave_nothing_are_refused(maker, changes):
    queue_up(maker, *make_decals(1))
    with pytest.raises(Refused):
        plan(**changes)


def test_a_wider_gap_costs_more_film(maker):
    queue_up(maker, *make_decals(12))
    costs = gap_costs(plan(), [])
    assert [gap for gap, _ in costs] == [2, 3, 4]
    film = [cost for _, cost in costs]
    assert film == sorted(film)
    # 22 pieces of 24 by 12 mm are 63 cm², with half a gap all round 80 and 99 cm².
    assert 63 < film[0] < film[2]


def test_what_would_still_fit_is_held_and_not_queued_and_may_lie_so(maker):
    queued, small, upright = make_decals(3)
    long = make_artwork(name="Line", width_mm=230, picture=Image.new("RGBA", (230, 10), "red"))
    Decal.objects.filter(pk=upright.pk).update(artwork=long, upright=True)
    (turned,) = make_decals(1, artwork=long)
    wide = make_artwork(name="Banner", width_mm=600)
    make_decals(1, artwork=wide)
    queue_up(maker, queued)
    assert still_fitting(plan()) == [small, turned]


def test_films_of_a_new_pair_take_the_sealing_of_the_last_sheet(maker):
    make_sheet("white", coats_wanted=5, sealer="solvent")
    queue_up(maker, *make_decals(1))
    for sheet in lay(maker):
        assert (sheet.coats_wanted, sheet.sealer) == (5, "solvent")
    assert {Film(sheet.film) for sheet in Sheet.objects.all()} == set(Film)


def test_more_pieces_than_one_layout_holds_are_refused_with_the_number(maker):
    decals = make_decals(200) + make_decals(10)
    queue_up(maker, *decals)
    QueuedDecal.objects.update(base_copies=50, clear_copies=50)
    with pytest.raises(Refused, match="10500 pieces are too many"):
        plan()
