"""Artwork: pictures are checked, re-encoded and kept under names of ours."""

import io

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse
from PIL import Image

from decaljobs.models import Artwork
from tests.factories import make_artwork, make_decals, picture_bytes

SVG = b'<svg xmlns="http://www.w3.org/2000/svg"><script>alert(1)</script></svg>'
EPS = b"%!PS-Adobe-3.0 EPSF-3.0\n%%BoundingBox: 0 0 9 9\nshowpage\n"


def post(client, data: bytes, name="art.png", **fields):
    file = SimpleUploadedFile(name, data, content_type="image/png")
    start = {"name": "Roundel", "width_mm": "24", "picture": file}
    return client.post(reverse("artwork-new"), {**start, **fields})


def sideways_jpeg_with_place() -> bytes:
    """A JPEG lying on its side, with GPS figures in its EXIF."""
    image = Image.new("RGB", (60, 30), "#9c2a21")
    exif = Image.Exif()
    exif[0x0112] = 6
    exif.get_ifd(0x8825)[1] = "N"
    kept = io.BytesIO()
    image.save(kept, "JPEG", exif=exif)
    return kept.getvalue()


@pytest.mark.parametrize("kind", ["PNG", "JPEG", "WEBP"])
def test_it_keeps_the_three_kinds_of_picture(signed_in, kind):
    answer = post(signed_in, picture_bytes(kind), f"art.{kind.lower()}")
    artwork = Artwork.objects.get()
    assert answer["Location"] == reverse("artwork-measured", args=[artwork.pk])
    assert (artwork.width_px, artwork.height_px) == (240, 120)
    assert artwork.height_mm == 12
    with artwork.picture.open("rb") as kept:
        assert Image.open(kept).format == "PNG"


def test_it_turns_a_picture_upright_and_drops_where_it_was_taken(signed_in):
    post(signed_in, sideways_jpeg_with_place(), "photo.jpg")
    artwork = Artwork.objects.get()
    assert (artwork.width_px, artwork.height_px) == (30, 60)
    with artwork.picture.open("rb") as opened:
        kept = Image.open(opened)
        assert not dict(kept.getexif())
        assert "exif" not in kept.info


def test_it_names_svg_drawings_where_it_asks_for_pictures_and_refuses_files(signed_in):
    assert "or as an SVG drawing" in signed_in.get(reverse("artwork-list")).content.decode()
    answer = post(signed_in, b"hello", "art.txt").content.decode()
    assert "neither a PNG, JPEG or WEBP picture nor an SVG drawing" in answer


@pytest.mark.parametrize(
    "data",
    [b"", SVG, EPS, b"<!doctype html><p>art", b"hello", picture_bytes()[:400]],
    ids=["empty", "svg", "eps", "html", "text", "truncated"],
)
def test_it_rejects_what_is_not_a_whole_picture(signed_in, data):
    answer = post(signed_in, data)
    assert list(answer.context["form"].errors) == ["picture"]
    assert 'value="Roundel"' in answer.content.decode()
    assert not Artwork.objects.exists()


@pytest.mark.parametrize("name", ["art.png", "art.JPG", "art.webp"])
def test_it_refuses_a_drawing_that_goes_by_a_picture_s_name(signed_in, name):
    drawn = (
        b'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 2 1"><path d="M0 0h2v1H0z"/></svg>'
    )
    answer = post(signed_in, drawn, name)
    assert "let its name end in .svg" in answer.context["form"].errors["picture"][0]
    assert post(signed_in, drawn, "art.svg").status_code == 302


def test_it_names_files_itself(signed_in):
    post(signed_in, picture_bytes(), "../../evil.png")
    name = Artwork.objects.get().picture.name
    assert name.startswith("artwork/")
    assert "evil" not in name


@pytest.mark.parametrize("number", [1, 30])
def test_it_lists_artwork_with_the_same_queries_for_any_number(
    signed_in, django_assert_num_queries, number
):
    for count in range(number):
        make_artwork(name=f"Drawing {count}")
    with django_assert_num_queries(4):
        answer = signed_in.get(reverse("artwork-list"))
    assert f"Drawing {number - 1}" in answer.content.decode()


def test_it_shows_where_artwork_is_used(signed_in, django_assert_num_queries):
    artwork = make_artwork()
    make_decals(5, artwork=artwork, place="Cowl")
    with django_assert_num_queries(6):
        answer = signed_in.get(artwork.get_absolute_url())
    assert "Cowl 5 of 5" in answer.content.decode()


def test_it_warns_of_art_too_coarse_for_its_size(signed_in):
    # 240 px at 24 mm are 254 dpi; 300 dpi are kept up to 20.32 mm.
    page = signed_in.get(make_artwork().get_absolute_url()).content.decode()
    assert "Under 300 dpi" in page
    assert "20.3\N{NO-BREAK SPACE}mm is the widest" in page


def test_it_changes_name_and_size(signed_in):
    artwork = make_artwork()
    url = reverse("artwork-change", args=[artwork.pk])
    signed_in.post(url, {"name": "Badge", "width_mm": "18.5"})
    artwork.refresh_from_db()
    assert (artwork.name, float(artwork.width_mm)) == ("Badge", 18.5)
    answer = signed_in.post(url, {"name": "Badge", "width_mm": "0"})
    assert "width_mm" in answer.context["form"].errors


@pytest.mark.parametrize("which", ["artwork-picture", "artwork-preview"])
def test_it_gives_out_pictures_to_signed_in_people_only(client, signed_in, which):
    url = reverse(which, args=[make_artwork().pk])
    answer = signed_in.get(url)
    assert b"".join(answer.streaming_content)[:8] == b"\x89PNG\r\n\x1a\n"
    assert answer["Content-Type"] == "image/png"
    client.logout()
    assert client.get(url).status_code == 302


def test_it_requires_a_maker_to_add(client, onlooker):
    client.force_login(onlooker)
    assert post(client, picture_bytes()).status_code == 403
