"""The page of measured art: its drawing, its figures, its new versions, the maker's hand."""

import io
import re
import xml.etree.ElementTree as ET

import pytest
from PIL import Image
from pypdfium2 import PdfDocument

from decaljobs.craft.stages import Build
from decaljobs.models import Artwork, Measuring
from tests.factories import make_artwork, make_decal


@pytest.fixture
def art(db):
    return make_artwork()


def measure(client, art, **data):
    return client.post(f"/artwork/{art.pk}/measure/", data, follow=True)


def test_it_measures_and_draws_the_cuts(signed_in, art):
    assert "Not measured yet" in signed_in.get(f"/artwork/{art.pk}/measured/").content.decode()
    page = measure(signed_in, art).content.decode()
    # 10 px of 240 at 24 mm: an even band of 1 mm.
    assert "1\u00a0mm at its narrowest" in page
    for kind in ("cut-base", "cut-clear", "cut-relief", "cut-narrowest"):
        assert f'class="{kind}"' in page


def width_shown(client, art, **asked) -> float:
    """How many mm of the art the drawing shows across."""
    page = client.get(f"/artwork/{art.pk}/measured/", asked).content.decode()
    drawing = page.split('class="art-drawing"')[1]
    return float(re.search(r'viewBox="(\S+) (\S+) (\S+) (\S+)"', drawing)[3])


@pytest.mark.parametrize(
    ("zoom", "closer"),
    [("1", 1), ("4", 4), ("16", 16), ("0", 1), ("-3", 1), ("many", 1), ("1e9", 1)],
)
def test_it_looks_closer_or_at_the_whole(signed_in, art, zoom, closer):
    measure(signed_in, art)
    whole = width_shown(signed_in, art)
    # 24 mm of art, 1 mm of clear and 3 mm to the scissors on each side.
    assert whole == pytest.approx(32, abs=0.1)
    assert width_shown(signed_in, art, zoom=zoom) == pytest.approx(whole / closer, abs=0.002)


def test_it_waits_for_a_measuring_that_runs(signed_in, art):
    measure(signed_in, art)
    Measuring.objects.update(state="running", found=None, done_share=0.4)
    Measuring.objects.update(begun_at="2999-01-01T00:00Z")
    page = signed_in.get(f"/artwork/{art.pk}/measured/").content.decode()
    assert "Being measured" in page and "40 % done" in page
    assert 'max="100" value="40"' in page


def test_it_gives_out_the_guides_in_mm(signed_in, art):
    measure(signed_in, art)
    answer = signed_in.get(f"/artwork/{art.pk}/cut-guides.svg")
    root = ET.fromstring(answer.content)  # noqa: S314 (our own drawing)
    assert root.get("width").endswith("mm")
    assert "attachment" in answer["Content-Disposition"]


def test_it_makes_a_wider_version(signed_in, art):
    measure(signed_in, art)
    answer = signed_in.post(f"/artwork/{art.pk}/widen/", {"by_mm": "0.4"})
    made = Artwork.objects.get(version=2)
    assert answer["Location"] == f"/artwork/{made.pk}/measured/"


@pytest.mark.parametrize("by_mm", ["0", "-1", "NaN", "1e308", "wide", ""])
def test_it_rejects_a_width_that_makes_no_sense(signed_in, art, by_mm):
    measure(signed_in, art)
    answer = signed_in.post(f"/artwork/{art.pk}/widen/", {"by_mm": by_mm})
    assert answer.context["widen_form"].errors["by_mm"]
    assert Artwork.objects.count() == 1


@pytest.mark.parametrize("colour", ["red", "#12", "", "url(x)"])
def test_it_rejects_a_colour_that_is_none(signed_in, art, colour):
    measure(signed_in, art)
    answer = signed_in.post(f"/artwork/{art.pk}/recolour/", {"colour": colour})
    assert answer.context["recolour_form"].errors["colour"]
    assert Artwork.objects.count() == 1


def test_it_asks_to_measure_before_it_widens(signed_in, art):
    answer = signed_in.post(f"/artwork/{art.pk}/widen/", {"by_mm": "0.4"}, follow=True)
    assert "not measured for your hand yet" in answer.content.decode()


def test_the_hand_is_typed_or_read_off_a_strip(signed_in, maker):
    figures = {"knife_mm": "0.2", "lay_down_mm": "0.1", "clear_margin_mm": "1.2"}
    signed_in.post("/hand/", {**figures, "lay_down_offsets": "0,3 -0,3 0.3 -0.3 0.3"})
    maker.refresh_from_db()
    assert (maker.knife_mm, maker.clear_margin_mm) == (0.2, 1.2)
    assert maker.lay_down_mm == pytest.approx(0.3)


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("knife_mm", "0"),
        ("knife_mm", "NaN"),
        ("clear_margin_mm", "-1"),
        ("knife_offsets", "0.1 0.2"),
        ("knife_offsets", "a b c d e"),
        ("knife_offsets", "nan nan nan nan nan"),
    ],
)
def test_it_rejects_a_hand_that_makes_no_sense(signed_in, field, value):
    figures = {"knife_mm": "0.2", "lay_down_mm": "0.1", "clear_margin_mm": "1.2"}
    answer = signed_in.post("/hand/", {**figures, field: value})
    assert list(answer.context["form"].errors) == [field]


def test_the_strip_is_a_page_of_a4(signed_in):
    # ISO 216: 210 by 297 mm.
    pdf = PdfDocument(signed_in.get("/hand/test-strip.pdf").content)
    assert len(pdf) == 1
    assert [side / 72 * 25.4 for side in pdf[0].get_size()] == pytest.approx([210, 297], abs=0.2)


@pytest.mark.parametrize(("build", "middle"), [("clear_alone", 60), ("laminated", 240)])
def test_it_shows_the_art_on_a_paint(signed_in, art, build, middle):
    """Light art on a dark paint is lost on clear film alone, and kept with white beneath."""
    answer = signed_in.get(f"/artwork/{art.pk}/on-paint.png", {"paint": "1d2f57", "build": build})
    picture = Image.open(io.BytesIO(answer.content)).convert("RGB")
    brightness = picture.getpixel((picture.width // 2, picture.height // 2))[1]
    assert abs(brightness - middle) < 20


@pytest.mark.parametrize("paint", ["", "zzz", "1d2f5", "#1d2f57"])
def test_it_knows_no_other_paint(signed_in, art, paint):
    url = f"/artwork/{art.pk}/on-paint.png"
    assert signed_in.get(url, {"paint": paint, "build": "laminated"}).status_code == 404


def test_a_decal_s_page_says_whether_it_wants_white(signed_in):
    page = signed_in.get(make_decal(Build.CLEAR_ALONE).get_absolute_url()).content.decode()
    assert "Wants white beneath: laminated." in page
    assert "It is planned as clear alone." in page


def test_it_requires_a_maker_to_measure(client, onlooker, art):
    client.force_login(onlooker)
    assert measure(client, art).status_code == 403
    assert client.get("/hand/").status_code == 403
    assert client.get(f"/artwork/{art.pk}/measured/").status_code == 200
