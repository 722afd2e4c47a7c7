"""A sheet that is laid out squeezed by outline, with the film that was laid out with it."""

from itertools import combinations

import pytest

from decaljobs.craft.stages import Build
from decaljobs.models import LayoutSearch, Sheet
from decaljobs.services.film import sheets
from decaljobs.services.film.sheet_places import give_places
from decaljobs.services.layout import queue
from decaljobs.services.layout.next_sheet import lay_down
from decaljobs.services.refused import Refused
from decaljobs.services.squeeze import laid_sheets
from decaljobs.services.squeeze.laid_sheets import begin, search_of
from tests.factories import EVENING, make_artwork, make_decals, make_sheet
from tests.queues import queue_up
from tests.services.squeeze.test_new_sheets import GAP, pennant, plan, shapes_on

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def _at_once(settings, monkeypatch):
    settings.WORK_BEHIND = "page"
    monkeypatch.setattr(laid_sheets, "LONGEST", 6.0)


@pytest.fixture
def flag(maker):
    art = make_artwork(name="Pennant", picture=pennant(), width_mm=60)
    return make_decals(1, artwork=art, place="Bow")[0]


def by_hand(decal, copies=7, **fields):
    sheet = make_sheet("clear", margin_mm=7, **fields)
    sheets.put_on_sheet(sheet=sheet.pk, decals=[decal.pk], copies=copies)
    give_places(sheet=sheet, seconds=0.1)
    return sheet


def film_of(corners):
    """What an A4 sheet inside its edge of 7 mm has lost to the better straight cut, mm²."""
    right, foot = (max(ends) - 7 + GAP for ends in zip(*corners, strict=True))
    return min(right * 283, foot * 196)


@pytest.mark.slow
def test_a_sheet_filled_by_hand_is_nested_and_ends_earlier(maker, flag):
    sheet = by_hand(flag)
    before = film_of((piece.place.right, piece.place.foot) for piece in sheet.pieces.all())
    done = begin(sheet=sheet, by=maker, moment=EVENING)
    assert (done.state, done.problem) == ("done", "")
    after = film_of(shape.bounds[2:] for shape in shapes_on(sheet))
    assert after < 0.9 * before
    assert done.found["saved_mm2"] == pytest.approx(before - after, rel=0.05)
    for one, other in combinations(shapes_on(sheet), 2):
        assert one.distance(other) >= GAP - 0.05


@pytest.mark.slow
def test_it_keeps_the_gap_that_the_sheet_was_laid_out_with(maker, flag):
    sheet = by_hand(flag, gap_mm=2)
    rows = sorted({piece.y_mm for piece in sheet.pieces.all()})
    assert rows[1] - rows[0] == pytest.approx(40 + 2)
    begin(sheet=sheet, by=maker, moment=EVENING)
    nearest = min(one.distance(other) for one, other in combinations(shapes_on(sheet), 2))
    assert nearest == pytest.approx(2, abs=0.3)


@pytest.mark.slow
def test_the_other_film_goes_along_piece_by_piece(maker, flag):
    (alone,) = make_decals(1, Build.CLEAR_ALONE, place="Fin")
    queue_up(maker, flag, alone)
    queue.set_copies(decal=flag.pk, base=7, clear=7)
    white, clear = lay_down(plan=plan(), by=maker, moment=EVENING)
    done = begin(sheet=clear, by=maker, moment=EVENING)
    assert sorted(done.found["sheets"]) == ["C-01", "W-01"]
    lying = [
        {
            (piece.copy, piece.x_mm, piece.y_mm, piece.degrees)
            for piece in sheet.pieces.filter(decal=flag)
        }
        for sheet in (white, clear)
    ]
    assert lying[0] == lying[1]
    assert len(lying[0]) == 7
    nested = clear.pieces.filter(decal=alone)
    assert nested and all(piece.outline for piece in nested)


@pytest.mark.slow
def test_a_sheet_of_other_places_stays_as_it_is(maker, flag):
    sheet = by_hand(flag)
    other = make_sheet("white", margin_mm=7)
    sheets.put_on_sheet(sheet=other.pk, decals=[flag.pk], copies=2)
    give_places(sheet=other, seconds=0.1)
    begin(sheet=sheet, by=maker, moment=EVENING)
    assert not any(piece.outline for piece in other.pieces.all())


@pytest.mark.slow
def test_what_was_changed_meanwhile_is_left_alone(maker, flag, monkeypatch):
    sheet = by_hand(flag)
    nested = laid_sheets.Strip.nested

    def slow(strip, decals, **wishes):
        found = nested(strip, decals, **wishes)
        sheets.log_printed(sheet=sheet.pk, by=maker, moment=EVENING)
        return found

    monkeypatch.setattr(laid_sheets.Strip, "nested", slow)
    done = begin(sheet=sheet, by=maker, moment=EVENING)
    assert done.state == "failed"
    assert "was printed meanwhile" in done.problem
    assert not any(piece.outline for piece in sheet.pieces.all())


def test_nothing_saved_leaves_the_places(maker, flag, monkeypatch):
    sheet = by_hand(flag)
    before = list(sheet.pieces.values_list("x_mm", "y_mm"))
    monkeypatch.setattr(laid_sheets.Strip, "nested", lambda *args, **wishes: None)
    assert begin(sheet=sheet, by=maker, moment=EVENING).found["saved_mm2"] == 0
    assert list(sheet.pieces.values_list("x_mm", "y_mm")) == before
    assert search_of(sheet, EVENING).state == "done"


def test_it_refuses_sheets_that_are_not_laid_out_or_printed(maker, flag):
    empty = make_sheet("clear")
    with pytest.raises(Refused, match="Lay sheet C-01 out first"):
        begin(sheet=empty, by=maker, moment=EVENING)
    sheet = by_hand(flag, copies=2)
    sheets.log_printed(sheet=sheet.pk, by=maker, moment=EVENING)
    straight = by_hand(flag, copies=2, straight_cuts=True)
    with pytest.raises(Refused, match="C-03 was laid out for straight cuts"):
        begin(sheet=straight, by=maker, moment=EVENING)
    with pytest.raises(Refused, match="is printed already"):
        begin(sheet=Sheet.objects.get(pk=sheet.pk), by=maker, moment=EVENING)
    assert not LayoutSearch.objects.exists()
