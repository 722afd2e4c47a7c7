from dataclasses import replace

import numpy as np
import pytest
from PIL import Image
from zxingcpp import read_barcodes

from decaljobs.craft.colour import lab_from_srgb
from decaljobs.craft.colourtrial import first_round, sheet_of
from decaljobs.craft.paper.roundpaper import LONGEST_ADDRESS, RoundPaper
from decaljobs.craft.photo.load import Photo
from decaljobs.craft.photo.marks import find_marks
from decaljobs.craft.trial.photo import read_photo
from decaljobs.craft.trial.records import PrintSettings
from decaljobs.craft.trial.rounds import round_colours
from decaljobs.craft.trial.sheet import RAMP, SheetCode, film_sheet
from decaljobs.pdf.roundsheet import round_sheet_pdf
from tests.pdf.papers import picture, read, words

DPI = 254  # ten pixels to the millimetre
ADDRESS = "http://192.168.178.20:8000/trials/12/1/"
ROUND = first_round((120, 132, 96), PrintSettings("desk printer"))
PAPER = RoundPaper(
    sheet_of(12, ROUND), "Meadow green", "desk printer, plain paper, best", ADDRESS, "Thu 22 Oct"
)
FILM = RoundPaper(
    film_sheet(SheetCode(12, 4), round_colours(ROUND.centre, 5.0, 24)),
    "Meadow green",
    "desk printer, clear film, best",
    ADDRESS,
)
SHEETS = pytest.mark.parametrize("made", [PAPER, FILM], ids=["paper", "film"])
SIZES = pytest.mark.parametrize("size", ["A4", "Letter"])


@SHEETS
@SIZES
def test_it_is_one_page_with_everything_where_the_layout_says(made, size):
    pdf = round_sheet_pdf(made, paper=size)
    assert len(read(pdf)) == 1
    page = picture(pdf, dpi=DPI)
    layout = made.sheet.layout
    found = find_marks(page.mean(axis=2).astype(np.float32), layout)
    # The page is flat, so marks give the scale: ten pixels a millimetre, and upright.
    assert found.scale((90.0, 50.0)) == pytest.approx(10.0, rel=0.002)
    for box, rgb in zip(layout.patches, made.sheet.colours, strict=True):
        for place in (box.centre, (box.x + 0.4, box.y + 0.4), (box.x + 11.6, box.y + 11.6)):
            x, y = found.pixels(place)
            assert np.abs(page[round(y), round(x)].astype(int) - rgb).max() <= 1
    for box, grey in zip(layout.ramp, RAMP, strict=True):
        x, y = found.pixels(box.centre)
        assert np.abs(page[round(y), round(x)].astype(int) - grey).max() <= 1
    for box in layout.inks:
        x, y = found.pixels(box.centre)
        assert page[round(y), round(x)].max() <= 1
    for box in (*layout.papers, *layout.gaps, *layout.rims):
        (left, top), (right, low) = found.pixels(
            [(box.x + 0.3, box.y + 0.3), (box.x + box.width - 0.3, box.y + box.height - 0.3)]
        )
        assert page[round(top) : round(low), round(left) : round(right)].min() == 255


@SHEETS
def test_it_is_read_back_by_the_photo_code(made):
    page = picture(round_sheet_pdf(made), dpi=DPI).copy()
    found = find_marks(page.mean(axis=2).astype(np.float32), made.sheet.layout)
    place = made.sheet.layout.paint
    (left, top), (right, low) = found.pixels(
        [(place.x, place.y), (place.x + place.width, place.y + place.height)]
    )
    page[round(top) + 40 : round(low) - 40, round(left) + 40 : round(right) - 40] = (110, 120, 90)
    # Paper in a photo is never full white.
    reading = read_photo(Photo((page * 0.9).astype(np.uint8)), made.sheet)
    assert reading.good.all()
    wanted = lab_from_srgb(made.sheet.colours) - lab_from_srgb((110, 120, 90))
    assert np.abs(reading.differences - wanted).max() < 8
    order = np.argsort(reading.apart)[:3]
    assert set(order) <= set(np.argsort(np.linalg.norm(wanted, axis=1))[:6])


@SHEETS
@SIZES
def test_it_carries_a_qr_code_that_is_read_at_150_dpi(made, size):
    page = Image.fromarray(picture(round_sheet_pdf(made, paper=size), dpi=150))
    assert [code.text for code in read_barcodes(page)] == [ADDRESS]


def test_it_says_trial_round_settings_and_every_patch_number():
    said = words(round_sheet_pdf(PAPER))
    for wanted in ("T12 R1", "Meadow green, round 1", "plain paper, best", "printed Thu 22 Oct"):
        assert wanted in said
    assert set(said.split()) >= {str(number) for number in range(1, 41)}


def test_it_warns_of_the_fuser_on_film_only():
    assert "never feed a sheet with film cut away" in words(round_sheet_pdf(FILM))
    assert "fuser" not in words(round_sheet_pdf(PAPER))


def test_it_stays_in_the_upper_half_of_a4():
    page = picture(round_sheet_pdf(PAPER), dpi=72)
    inked = np.nonzero((page < 200).any(axis=(1, 2)))[0] / 72 * 25.4
    # All patches and marks are above the middle; below are words and the ruler at the foot.
    strong = np.nonzero((page < 60).all(axis=2).sum(axis=1) > 60)[0] / 72 * 25.4
    assert strong.max() < 297 / 2
    assert inked.max() > 270


@pytest.mark.parametrize(
    ("name", "printed"),
    [
        ("<b>&amp;", "<b>&amp;, round 1"),
        ("Grün 緑 سلام", "Grün □ سلام, round 1"),
        ("x" * 500, "xxx…"),
    ],
)
def test_it_takes_any_name_on_its_one_page(name, printed):
    pdf = round_sheet_pdf(replace(PAPER, name=name))
    assert len(read(pdf)) == 1
    assert printed in words(pdf)


def test_it_makes_the_same_bytes_of_the_same_round():
    assert round_sheet_pdf(PAPER) == round_sheet_pdf(PAPER)


def test_it_refuses_an_address_that_the_code_cannot_carry_and_other_papers():
    with pytest.raises(ValueError, match="from 1 to 106 bytes, not 107"):
        replace(PAPER, address="x" * (LONGEST_ADDRESS + 1))
    with pytest.raises(ValueError, match="not 0"):
        replace(PAPER, address="")
    with pytest.raises(ValueError, match="A4 or Letter"):
        round_sheet_pdf(PAPER, paper="A5")
