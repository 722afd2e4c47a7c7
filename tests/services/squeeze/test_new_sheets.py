"""A plan squeezed by outline: nested on the sheet, nothing nearer than the gap, film saved."""

from dataclasses import replace
from itertools import combinations

import numpy as np
import pytest
from PIL import Image, ImageDraw
from shapely import Polygon
from shapely.affinity import rotate, translate

from decaljobs.craft.stages import Build
from decaljobs.models import Sheet
from decaljobs.pdf.printfile import print_file_pdf
from decaljobs.services.film.offcuts import Side, cut_off, suggested_cut
from decaljobs.services.film.printfile import PrintWishes, print_sheet
from decaljobs.services.layout import queue
from decaljobs.services.layout.kept_layouts import key_of, plan_from_dict, plan_to_dict
from decaljobs.services.layout.layouts import LayoutWishes, plan_layout
from decaljobs.services.layout.next_sheet import lay_down
from decaljobs.services.refused import Refused
from decaljobs.services.squeeze import strips
from decaljobs.services.squeeze.new_sheets import squeeze_plan
from tests.factories import EVENING, make_artwork, make_decals
from tests.pdf import papers
from tests.queues import all_wanted, queue_up

pytestmark = pytest.mark.django_db

MARGIN, GAP = 7.0, 3.0
WISHES = LayoutWishes("inkjet", 210, 297, MARGIN, gap=GAP, seconds=0.1)


def pennant():
    """A right-angled triangle, red, with its right angle at the lower left: 60 × 40 mm."""
    picture = Image.new("RGBA", (600, 400), (0, 0, 0, 0))
    ImageDraw.Draw(picture).polygon([(0, 0), (0, 399), (599, 399)], fill="#ff0000")
    return picture


@pytest.fixture
def queued(maker):
    """Seven copies of a pennant: three rows of boxes, and two thirds of that by outline."""
    art = make_artwork(name="Pennant", picture=pennant(), width_mm=60)
    (decal,) = make_decals(1, artwork=art, place="Bow")
    queue_up(maker, decal)
    queue.set_copies(decal=decal.pk, base=7, clear=7)
    return decal


def plan(**changes):
    return plan_layout(all_wanted(), replace(WISHES, **changes))


@pytest.fixture
def squeezed(queued):
    return squeeze_plan(plan(), seconds=6)


def shapes_on(sheet):
    """Every outline as it lies on the sheet, made from the piece's place anew; y down."""
    for piece in sheet.pieces.all():
        place = piece.place
        # Anticlockwise to the eye is clockwise in numbers where y runs down.
        yield translate(rotate(Polygon(piece.outline), -place.degrees, origin=(0, 0)), *place.start)


@pytest.mark.slow
def test_it_saves_film_and_says_how_much(queued, squeezed):
    before = plan()
    assert squeezed.saved_mm2 > 0.1 * before.film_mm2
    assert squeezed.plan.film_mm2 == pytest.approx(before.film_mm2 - squeezed.saved_mm2)
    (laid,) = squeezed.plan.laid
    (boxes,) = before.laid
    freed = laid.rest[0] * laid.rest[1] - boxes.rest[0] * boxes.rest[1]
    assert squeezed.saved_mm2 == pytest.approx(freed)
    assert 0 < squeezed.plan.utilisation <= 1


@pytest.mark.slow
def test_an_upright_decal_is_nested_without_a_turn(queued, squeezed):
    assert {piece.place.degrees for laid in squeezed.plan.laid for piece in laid.pieces} != {0}
    queue.set_copies(decal=queued.pk, base=7, clear=7, upright=True)
    nested = squeeze_plan(plan(), seconds=3)
    assert nested is not None, "pennants slide into each other without a turn too"
    assert {piece.place.degrees for laid in nested.plan.laid for piece in laid.pieces} == {0}


@pytest.mark.slow
def test_both_films_get_the_same_nested_places_and_keep_the_gap(maker, squeezed):
    white, clear = lay_down(plan=squeezed.plan, by=maker, moment=EVENING)
    places = [
        sorted(sheet.pieces.values_list("x_mm", "y_mm", "degrees")) for sheet in (white, clear)
    ]
    assert places[0] == places[1]
    assert white.pieces.count() == 7
    shapes = list(shapes_on(white))
    for shape in shapes:
        left, top, right, foot = shape.bounds
        assert left >= MARGIN - 0.05 and right <= 210 - MARGIN + 0.05
        assert top >= MARGIN - 0.05 and foot <= 297 - MARGIN + 0.05
    for one, other in combinations(shapes, 2):
        assert one.distance(other) >= GAP - 0.05


@pytest.mark.slow
def test_the_print_file_prints_every_nested_piece_where_it_lies(maker, squeezed):
    sheet = lay_down(plan=squeezed.plan, by=maker, moment=EVENING)[0]
    gathered = print_sheet(
        sheet=sheet, wishes=PrintWishes(), address="http://here/", moment=EVENING
    )
    assert not any(piece.ticks for piece in gathered.pieces)
    seen = papers.picture(print_file_pdf(replace(gathered, code="-", said="-")), dpi=100)
    red = (seen[..., 0] > 200) & (seen[..., 1] < 60)
    expected = Image.new("1", (seen.shape[1], seen.shape[0]))
    draw = ImageDraw.Draw(expected)
    for shape in shapes_on(sheet):
        draw.polygon([(x / 25.4 * 100, y / 25.4 * 100) for x, y in shape.exterior.coords], fill=1)
    both = np.asarray(expected) & red
    # Seven triangles of 60 × 40 mm; at 100 dpi the edges blur by a pixel.
    assert both.sum() / red.sum() > 0.99
    assert red.sum() / (100 / 25.4) ** 2 == pytest.approx(7 * 1200, rel=0.02)


@pytest.mark.slow
def test_the_rest_of_a_nested_sheet_is_cut_off_beyond_its_pieces(maker, squeezed):
    (laid,) = squeezed.plan.laid
    sheet = lay_down(plan=squeezed.plan, by=maker, moment=EVENING)[0]
    side, at = suggested_cut(sheet, sheet.pieces.all())
    foot = max(shape.bounds[3] for shape in shapes_on(sheet))
    assert (side, at) == (Side.FOOT, pytest.approx(foot + 3, abs=0.2))
    with pytest.raises(Refused, match="A piece of sheet"):
        cut_off(sheet=sheet.pk, side=side, at_mm=foot - 2, by=maker, moment=EVENING)
    offcut = cut_off(sheet=sheet.pk, side=side, at_mm=at, by=maker, moment=EVENING)
    # The plan's rest is the printable part of what is cut off.
    assert float(offcut.height_mm) - MARGIN == pytest.approx(laid.rest[1], abs=0.2)


@pytest.mark.slow
def test_pieces_of_the_last_sheet_go_on_the_full_one(maker, queued):
    queue.set_copies(decal=queued.pk, base=24, clear=24)
    before = plan()
    assert [len(laid.pieces) for laid in before.laid] == [18, 6]
    done = squeeze_plan(before, seconds=20)
    numbers = [len(laid.pieces) for laid in done.plan.laid]
    assert numbers[0] > 18 and sum(numbers) == 24
    inner = (210 - 2 * MARGIN) * (297 - 2 * MARGIN)
    used = [inner - laid.rest[0] * laid.rest[1] for laid in before.laid]
    left = [inner - laid.rest[0] * laid.rest[1] for laid in done.plan.laid]
    assert done.saved_mm2 == pytest.approx(sum(used) - sum(left))
    assert done.plan.film_mm2 == pytest.approx(before.film_mm2 - done.saved_mm2)
    for sheet in lay_down(plan=done.plan, by=maker, moment=EVENING):
        for one, other in combinations(shapes_on(sheet), 2):
            assert one.distance(other) >= GAP - 0.05


@pytest.mark.slow
def test_a_decal_that_wants_both_films_opens_no_second_one(maker, queued):
    """What goes on a fuller sheet wants no film that this sheet has not."""
    alone = make_decals(1, Build.CLEAR_ALONE, artwork=queued.artwork, place="Fin")[0]
    queue_up(maker, alone)
    queue.set_copies(decal=alone.pk, base=None, clear=17)
    done = squeeze_plan(plan(), seconds=12)
    wanted = {queued.pk: {"white", "clear"}, alone.pk: {"clear"}}
    assert sum(len(laid.pieces) for laid in done.plan.laid) >= 17
    for laid in done.plan.laid:
        assert set(laid.films) == set.union(*(wanted[p.decal.pk] for p in laid.pieces))


def test_it_is_not_done_with_straight_cuts(queued):
    with pytest.raises(Refused, match="straight cuts"):
        squeeze_plan(plan(straight_cuts=True), seconds=2)


def test_pieces_that_all_go_on_offcuts_are_not_squeezed(maker, queued):
    boxes = plan()
    offcuts = replace(boxes.laid[0], offcuts=(Sheet(code="W-09"),))
    with pytest.raises(Refused, match="all go on offcuts"):
        squeeze_plan(replace(boxes, laid=(offcuts,)), seconds=2)


@pytest.mark.slow
def test_each_film_with_places_of_its_own_is_squeezed(queued):
    done = squeeze_plan(plan(same_places=False), seconds=10)
    assert [laid.films for laid in done.plan.laid] == [("white",), ("clear",)]
    for laid in done.plan.laid:
        assert all(piece.outline for piece in laid.pieces)


def test_progress_runs_up_and_a_stop_ends_it(queued):
    told = []
    squeeze_plan(
        plan(),
        seconds=20,
        progress=lambda share, shortest: told.append(share),
        stopped=lambda: len(told) > 5,
    )
    assert told == sorted(told)
    assert len(told) < 20


def test_nothing_saved_is_none(queued, monkeypatch):
    monkeypatch.setattr(strips, "squeeze", lambda *args, **wishes: None)
    assert squeeze_plan(plan(), seconds=2) is None


@pytest.mark.slow
def test_a_plan_is_the_same_after_it_was_kept(squeezed):
    wanted, wishes = squeezed.plan.wanted, squeezed.plan.wishes
    assert plan_from_dict(plan_to_dict(squeezed.plan), wanted, wishes, []) == squeezed.plan


def test_another_queue_size_or_wish_has_another_key(maker, queued):
    wanted = all_wanted()
    keys = {key_of(wanted, WISHES, []), key_of(wanted, replace(WISHES, gap=2.0), [])}
    queue.set_copies(decal=queued.pk, base=7, clear=8)
    keys.add(key_of(all_wanted(), WISHES, []))
    assert len(keys) == 3
    (alone,) = make_decals(1, Build.CLEAR_ALONE)
    queue_up(maker, alone)
    assert key_of(all_wanted(), WISHES, []) not in keys
