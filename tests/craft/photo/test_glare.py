"""Faint reflections, laid by hand on an even sheet."""

import numpy as np
import pytest

from decaljobs.craft.photo.glare import (
    DOUBTED,
    SURE_SPREADS,
    Spots,
    check_reflections,
    reflection_on_black,
    reflection_on_paint,
    reflection_on_sheet,
)
from decaljobs.craft.photo.load import PhotoRefused
from decaljobs.craft.trial.sheet import FILM_LAYOUT, PAPER_LAYOUT, SheetPlaces

CELLS = np.stack(np.meshgrid(np.arange(8) * 4.0, np.arange(7) * 4.0), axis=-1).reshape(-1, 2)
WINDOW = (28.0, 5.0)  # reach in mm and edge


def added(places: np.ndarray, middle: tuple[float, float], reach: float, edge: float) -> np.ndarray:
    away = np.hypot(*(places - middle).T)
    return np.exp(-((away / reach) ** edge))


def paint(colour: tuple[float, float, float], glare: float, reach: float = 30.0) -> Spots:
    rng = np.random.default_rng(4)
    light = np.tile(colour, (len(CELLS), 1)) + rng.normal(0, 0.0004, (len(CELLS), 3))
    light += glare * added(CELLS, (20.0, 10.0), reach, 2.0)[:, None]
    return Spots(CELLS, light)


def sheet(
    layout: SheetPlaces, glare: float = 0.0
) -> tuple[Spots, Spots, np.ndarray, Spots, SheetPlaces]:
    """Paper, prints and black ink in falling light, a reflection about the paint on them."""
    rng = np.random.default_rng(5)
    boxes = (*layout.gaps, *layout.rims, *layout.papers)
    paper = np.array([box.centre for box in boxes])
    lamp = 0.7 + 0.1 * paper[:, 0] / 180 + rng.normal(0, 0.0025, len(paper))
    light = lamp + glare * added(paper, layout.paint.centre, *WINDOW)
    prints = np.array([box.centre for box in layout.patches])
    colours = rng.uniform(70, 130, (len(prints), 3))
    inked = np.clip((colours / 255) ** 2.2 + rng.normal(0, 0.001, colours.shape), 0.01, 1)
    inked += glare * added(prints, layout.paint.centre, *WINDOW)[:, None]
    bare = Spots(paper, np.tile(light[:, None], 3))
    return bare, Spots(prints, inked), colours, inks(layout, glare), layout


def inks(layout: SheetPlaces, glare: float = 0.0) -> Spots:
    """Black squares and every second cell of the code strip."""
    places = np.array([box.centre for box in (*layout.inks, *layout.code_cells[::2])])
    light = 0.025 + np.random.default_rng(6).normal(0, 0.001, len(places))
    light += glare * added(places, layout.paint.centre, *WINDOW)
    return Spots(places, np.tile(light[:, None], 3))


@pytest.mark.parametrize("colour", [(0.03, 0.04, 0.05), (0.2, 0.18, 0.1), (0.7, 0.7, 0.6)])
def test_it_lets_an_even_paint_pass(colour):
    assert reflection_on_paint(paint(colour, 0.0)) < 1.0


@pytest.mark.parametrize("reach", [20.0, 30.0, 40.0])
def test_it_sees_that_a_wide_reflection_misleads(reach):
    colour = np.array([0.2, 0.18, 0.1])
    assert reflection_on_paint(paint(tuple(colour), 0.03, reach)) > 2.5


def test_it_counts_the_same_light_for_more_on_a_darker_paint():
    dark, pale = paint((0.05, 0.05, 0.05), 0.01), paint((0.6, 0.6, 0.6), 0.01)
    assert reflection_on_paint(dark) > 3 * reflection_on_paint(pale)


def test_it_is_not_misled_by_one_spot_that_stands_out():
    spotted = paint((0.2, 0.18, 0.1), 0.0)
    spotted.light[11] += 0.2
    assert reflection_on_paint(spotted) < 1.0


def test_it_takes_very_few_spots():
    assert reflection_on_paint(Spots(CELLS[:4], np.full((4, 3), 0.2))) < 0.01


@pytest.mark.parametrize("layout", [PAPER_LAYOUT, FILM_LAYOUT], ids=["paper", "film"])
def test_it_finds_nothing_on_an_even_sheet(layout):
    assert reflection_on_sheet(*sheet(layout)) < DOUBTED * SURE_SPREADS


@pytest.mark.parametrize("layout", [PAPER_LAYOUT, FILM_LAYOUT], ids=["paper", "film"])
def test_it_finds_a_window_mirrored_about_the_paint(layout):
    assert reflection_on_sheet(*sheet(layout, 0.04)) > SURE_SPREADS


def test_it_finds_a_lamp_mirrored_on_prints_and_the_paper_between():
    paper, prints, colours, black, layout = sheet(PAPER_LAYOUT)
    middle = layout.patches[18].centre
    for spots in (paper, prints, black):
        spots.light[:] += 0.06 * added(spots.places, middle, 18.0, 2.0)[:, None]
    assert reflection_on_sheet(paper, prints, colours, black, layout) > SURE_SPREADS


@pytest.mark.parametrize("layout", [PAPER_LAYOUT, FILM_LAYOUT], ids=["paper", "film"])
def test_black_beside_the_paint_shows_what_paper_and_prints_hide(layout):
    # A hundredth of the paper's light moves a dark paint by far more than a good match.
    paper, prints, colours, black, _ = sheet(layout, 0.01)
    hidden = reflection_on_sheet(paper, prints, colours, inks(layout), layout)
    shown = reflection_on_sheet(paper, prints, colours, black, layout)
    assert hidden < DOUBTED * SURE_SPREADS < shown


DARK, PALE = np.array([0.03, 0.04, 0.05]), np.array([0.7, 0.7, 0.6])


@pytest.mark.parametrize("layout", [PAPER_LAYOUT, FILM_LAYOUT], ids=["paper", "film"])
def test_black_beside_the_paint_tells_how_far_a_reflection_misleads(layout):
    assert reflection_on_black(inks(layout), DARK, layout) < 0.8
    told = [reflection_on_black(inks(layout, glare), DARK, layout) for glare in (0.004, 0.01)]
    # Lifted by 0.03 of the paper's light, black has more than doubled.
    assert 1.5 < told[0] < told[1]
    assert told[1] > 5 * reflection_on_black(inks(layout, 0.01), PALE, layout)


def test_black_that_lies_far_from_the_paint_tells_nothing_of_it():
    black = inks(PAPER_LAYOUT)
    black.light[-6:] += 0.02
    assert reflection_on_black(black, DARK, PAPER_LAYOUT) < 1.0


def test_with_all_black_beside_the_paint_covered_nothing_is_told():
    black = inks(PAPER_LAYOUT, 0.01)
    assert reflection_on_black(Spots(black.places[8:], black.light[8:]), DARK, PAPER_LAYOUT) == 0
    assert reflection_on_black(Spots(black.places[:9], black.light[:9]), DARK, PAPER_LAYOUT) == 0


def test_a_shadow_beside_the_paint_is_no_reflection():
    paper, prints, colours, black, layout = sheet(PAPER_LAYOUT)
    rims = slice(len(layout.gaps), len(layout.gaps) + 4)
    paper.light[rims] *= 0.8
    assert reflection_on_sheet(paper, prints, colours, black, layout) < DOUBTED * SURE_SPREADS


@pytest.mark.parametrize(
    ("on_sheet", "on_paint", "on_black", "where"),
    [
        (4.0, 0.5, 0.5, "on the sheet"),
        (1.0, 3.5, 0.0, "on the paint"),
        (1.0, 0.5, 2.5, "on the paint"),
    ],
)
def test_it_says_where_the_reflection_lies(on_sheet, on_paint, on_black, where):
    with pytest.raises(PhotoRefused, match=where):
        check_reflections(on_sheet, on_paint, on_black)


def test_it_doubts_before_it_refuses():
    assert not check_reflections(0.0, 0.0, 0.0)
    assert check_reflections(2.5, 2.0, 0.0)
    assert check_reflections(2.5, 0.0, 1.2)
