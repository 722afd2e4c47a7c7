from io import BytesIO

import pytest
from PIL import Image

from decaljobs.craft.paper.jobcard import fit_art
from decaljobs.pdf.art import ArtShelf
from tests.pdf.papers import art

FIT = fit_art(24.0, 10.0, 172, 220)


def test_it_reduces_a_large_picture_to_what_paper_shows():
    picture = ArtShelf().ready(art(24, 10, dpi=1200), FIT)
    assert picture.getSize() == (283, 118)  # 24 and 10 mm at 300 dots to the inch


def test_it_leaves_a_small_picture_as_it_is():
    assert ArtShelf().ready(art(24, 10, dpi=72), FIT).getSize() == (68, 28)


def test_it_turns_art_that_lies_turned():
    fit = fit_art(200.0, 50.0, 172, 220)
    picture = Image.new("RGB", (40, 10), "white")
    picture.putpixel((0, 0), (255, 0, 0))
    ready = ArtShelf().ready(picture, fit)
    assert ready.getSize() == (10, 40)
    assert ready.getRGBData()[39 * 30 : 39 * 30 + 3] == b"\xff\x00\x00"  # the left end at the foot


def test_it_takes_bytes_a_file_or_an_opened_picture(tmp_path):
    file = tmp_path / "art.png"
    file.write_bytes(art(24, 10))
    opened = Image.open(BytesIO(art(24, 10)))
    shelf = ArtShelf()
    assert {shelf.ready(each, FIT).getSize() for each in (art(24, 10), file, opened)} == {
        (283, 118)
    }


def test_it_reduces_the_same_picture_once():
    shelf = ArtShelf()
    assert shelf.ready(art(24, 10), FIT) is shelf.ready(art(24, 10), FIT)


def test_it_keeps_clear_film_clear():
    picture = Image.new("RGBA", (20, 20), (255, 0, 0, 0))
    ready = ArtShelf().ready(picture, FIT)
    ready.getRGBData()
    assert ready._dataA.getRGBData() == bytes(400)


@pytest.mark.parametrize(
    "broken", [b"", b"not a picture", art(24, 10)[:100], b"%!PS-Adobe-3.0 EPSF-3.0\n", b"<svg/>"]
)
def test_it_has_no_picture_of_what_is_none(broken):
    assert ArtShelf().ready(broken, FIT) is None


def test_it_opens_no_missing_file(tmp_path):
    assert ArtShelf().ready(tmp_path / "gone.png", FIT) is None


def test_it_refuses_a_picture_of_too_many_dots():
    file = BytesIO()
    Image.new("1", (8000, 5001)).save(file, "PNG")
    assert ArtShelf().ready(file.getvalue(), FIT) is None
