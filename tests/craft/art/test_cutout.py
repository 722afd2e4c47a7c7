"""Art taken off its paper: the print width means the visible art."""

import tracemalloc

import numpy as np
import pytest
from PIL import Image

from decaljobs.craft.art.cutout import cut_out
from decaljobs.craft.pictures import PictureError


def on_paper(size=(200, 100), box=(40, 30, 140, 80), colour="#203040"):
    page = Image.new("RGB", size, "white")
    page.paste(colour, box)
    return page


def test_it_drops_the_empty_border_and_makes_the_paper_clear():
    art = np.asarray(cut_out(on_paper()))
    assert art.shape == (52, 102, 4)
    assert (art[1:-1, 1:-1, 3] == 255).all()
    assert not art[0, :, 3].any()
    assert tuple(art[25, 50, :3]) == (0x20, 0x30, 0x40)


def test_white_within_the_art_stays_white():
    page = on_paper()
    page.paste("white", (60, 45, 120, 65))
    art = np.asarray(cut_out(page))
    assert tuple(art[25, 50]) == (255, 255, 255, 255)


def test_an_edge_mixed_with_paper_becomes_part_clear_in_the_art_s_own_colour():
    page = on_paper()
    half = tuple((255 + value) // 2 for value in (0x20, 0x30, 0x40))
    page.paste(half, (139, 30, 140, 80))
    edge = np.asarray(cut_out(page))[25, 100]
    assert abs(int(edge[3]) - 128) <= 4
    assert np.abs(edge[:3].astype(int) - [0x20, 0x30, 0x40]).max() <= 6


def test_it_keeps_the_colours_of_a_picture_that_is_clear_already():
    picture = Image.new("RGBA", (60, 40), (0, 0, 0, 0))
    picture.paste((10, 20, 30, 255), (20, 10, 40, 30))
    assert cut_out(picture).size == (22, 22)


def test_it_refuses_a_blank_page():
    with pytest.raises(PictureError, match="blank"):
        cut_out(Image.new("RGB", (50, 50), "white"))


def test_it_needs_little_memory_beside_the_picture():
    """A page of 40 megapixels comes in one request: 1 GB is what a small machine can spare."""
    page = on_paper((2000, 2000), (20, 20, 1980, 1980))
    tracemalloc.start()
    try:
        cut_out(page)
        peak = tracemalloc.get_traced_memory()[1]
    finally:
        tracemalloc.stop()
    assert 40e6 * peak / (2000 * 2000) < 1e9
