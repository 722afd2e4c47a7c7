"""What a print file gathers from the records."""

import pytest

from decaljobs.craft.paper.printfile import BaseArt
from decaljobs.craft.stages import Build
from decaljobs.models import Measuring
from decaljobs.services.film.lost_sheets import lose_sheet
from decaljobs.services.film.printer_fits import keep_fit
from decaljobs.services.film.printfile import PrintWishes, base_arts_for, pieces_of, print_sheet
from decaljobs.services.film.sheets import put_on_sheet
from decaljobs.services.refused import Refused
from tests.factories import EVENING, make_decals, make_sheet, placed_sheet

pytestmark = pytest.mark.django_db

SQUARE = [[0.0, 0.0], [24.0, 0.0], [24.0, 12.0], [0.0, 12.0], [0.0, 0.0]]
CUT = [[1.0, 1.0], [23.0, 1.0], [23.0, 11.0], [1.0, 11.0], [1.0, 1.0]]
LINE = {"length_mm": 64.0, "tightest_radius_mm": None}


def gather(sheet, **wishes):
    return print_sheet(
        sheet=sheet, wishes=PrintWishes(**wishes), address="http://here/", moment=EVENING
    )


def measure(decal):
    """The decal's art as a measuring would keep it: a band 1 mm wide round light art."""
    return Measuring.objects.create(
        artwork=decal.artwork,
        width_mm=decal.artwork.width_mm,
        clear_margin_mm=1,
        knife_mm=0.15,
        lay_down_mm=0.15,
        state="done",
        begun_at=EVENING,
        found={"base_cut": {"rings": [CUT], **LINE}, "clear_cut": {"rings": [SQUARE], **LINE}},
        drawing={"silhouette": [SQUARE], "light": [CUT]},
    )


@pytest.mark.parametrize("number", [1, 8])
def test_it_gathers_every_piece_with_the_same_queries_for_any_number(
    django_assert_num_queries, number
):
    sheet = placed_sheet("clear", make_decals(number, Build.CLEAR_ALONE))
    with django_assert_num_queries(3):
        gathered = gather(sheet)
    assert len(gathered.pieces) == 2 * number
    assert (gathered.pieces[1].x, gathered.pieces[1].y) == (6.0, 21.0)
    assert gathered.said == "Mon 2 Nov 2026, print at 100 %"


def test_the_code_stands_where_it_takes_no_film():
    """Two pieces end 33 mm down the sheet; a column of 18 ends 30 mm from its left edge."""
    (decal,) = make_decals(1, Build.CLEAR_ALONE)
    assert gather(placed_sheet("clear", [decal], copies=2)).qr == (178.0, 9.7)
    assert gather(placed_sheet("clear", [decal], copies=18)).qr is None


def test_it_refuses_an_empty_sheet_and_pieces_without_a_place():
    sheet = make_sheet("clear")
    with pytest.raises(Refused, match="Nothing lies on sheet C-01"):
        gather(sheet)
    (decal,) = make_decals(1, Build.CLEAR_ALONE, place="Fin")
    put_on_sheet(sheet=sheet.pk, decals=[decal.pk], copies=1)
    with pytest.raises(Refused, match="Fin has no place on sheet C-01"):
        gather(sheet)


def test_it_refuses_a_piece_over_the_edge():
    sheet = placed_sheet("clear", make_decals(1, Build.CLEAR_ALONE, place="Fin"), copies=1)
    sheet.pieces.update(x_mm=190)
    with pytest.raises(Refused, match="Fin reaches over the edge"):
        gather(sheet)


def test_it_refuses_a_lost_sheet_and_laser_film_that_was_cut(maker):
    decals = make_decals(1, Build.CLEAR_ALONE)
    laser = placed_sheet("clear", decals, printer="laser")
    laser.cut_from = make_sheet("clear")
    laser.save()
    with pytest.raises(Refused, match="through the fuser"):
        gather(laser)
    sheet = placed_sheet("clear", decals)
    lose_sheet(sheet=sheet.pk, by=maker, moment=EVENING)
    sheet.refresh_from_db()
    with pytest.raises(Refused, match="logged as lost"):
        gather(sheet)


def test_the_factors_are_those_of_printer_and_film(maker):
    keep_fit(
        printer="inkjet", film="clear", across_mm=99.5, along_mm=100.4, by=maker, moment=EVENING
    )
    decals = make_decals(1)
    clear = gather(placed_sheet("clear", decals))
    white = gather(placed_sheet("white", decals))
    assert (clear.x_factor, clear.y_factor) == pytest.approx((100 / 99.5, 100 / 100.4))
    assert (white.x_factor, white.y_factor) == (1.0, 1.0)


def test_measured_again_the_fit_is_replaced(maker):
    for arm in (99.0, 101.0):
        fit = keep_fit(
            printer="laser", film="white", across_mm=arm, along_mm=100, by=maker, moment=EVENING
        )
    assert type(fit).objects.get().x_factor == pytest.approx(100 / 101)


@pytest.mark.parametrize("arm", [90.9, 109.1, float("nan"), 0])
def test_a_cross_that_cannot_be_is_refused(maker, arm):
    with pytest.raises(Refused, match="91 to 109"):
        keep_fit(
            printer="laser", film="white", across_mm=100, along_mm=arm, by=maker, moment=EVENING
        )


def test_band_and_line_are_offered_only_for_measured_laminated_art_on_white():
    (decal,) = make_decals(1)
    white, clear = placed_sheet("white", [decal]), placed_sheet("clear", [decal])
    alone = placed_sheet("white", make_decals(1, Build.WHITE_ALONE))
    assert base_arts_for(white, pieces_of(white)) == [BaseArt.FULL]
    with pytest.raises(Refused, match="not measured at this size"):
        gather(white, base_art=BaseArt.BAND)
    measure(decal)
    assert base_arts_for(white, pieces_of(white)) == list(BaseArt)
    assert base_arts_for(clear, pieces_of(clear)) == [BaseArt.FULL]
    assert base_arts_for(alone, pieces_of(alone)) == [BaseArt.FULL]


def test_the_band_alone_is_clipped_to_edge_and_a_little_inside_the_cut():
    (decal,) = make_decals(1)
    sheet = placed_sheet("white", [decal])
    measure(decal)
    piece = gather(sheet, base_art=BaseArt.BAND).pieces[0]
    outer, inner = piece.clip
    assert (min(x for x, _ in outer), min(x for x, _ in inner)) == pytest.approx((0, 1.45))
    assert piece.show_art
    assert not piece.lines


def test_the_line_alone_is_the_base_cut_without_art():
    (decal,) = make_decals(1)
    sheet = placed_sheet("white", [decal])
    measure(decal)
    piece = gather(sheet, base_art=BaseArt.GUIDE).pieces[0]
    assert not piece.show_art
    assert piece.lines == (tuple(tuple(place) for place in CUT),)


def test_white_alone_is_always_printed_whole():
    (decal,) = make_decals(1, Build.WHITE_ALONE)
    sheet = placed_sheet("white", [decal])
    piece = gather(sheet, base_art=BaseArt.GUIDE).pieces[0]
    assert piece.show_art


def test_guides_are_the_clear_cut_on_clear_film_and_a_frame_where_nothing_is_measured():
    (decal,) = make_decals(1)
    sheet = placed_sheet("clear", [decal])
    (frame,) = gather(sheet, guides=True).pieces[0].lines
    assert frame[0] == (-1.0, -1.0)
    sheet.gap_mm = 1.5
    (narrow,) = gather(sheet, guides=True).pieces[0].lines
    assert narrow[0] == (-0.75, -0.75)
    measure(decal)
    (line,) = gather(sheet, guides=True).pieces[0].lines
    assert line == tuple(tuple(place) for place in SQUARE)
