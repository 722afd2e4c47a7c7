"""Photos made ready to be kept: upright, small enough, and silent about where they were taken."""

import io

import pytest
from PIL import Image, ImageCms

from decaljobs.craft.photo.keptphoto import HEIC, LONGEST_SIDE, SMALL_SIDE, ready_photo
from decaljobs.craft.pictures import TOO_LARGE, PictureError
from tests.attacks.test_pictures import png_of_zeros

RED, BLUE = (200, 30, 30), (30, 30, 200)
# EXIF 2.32, table 4: what lies at the visual top left corner of the stored picture's rows and
# columns, as the corner of the stored picture (x, y as 0 or 1) that is shown top left.
SHOWN_TOP_LEFT = {
    1: (0, 0),
    2: (1, 0),
    3: (1, 1),
    4: (0, 1),
    5: (0, 0),
    6: (0, 1),
    7: (1, 1),
    8: (1, 0),
}


def camera_photo(orientation: int = 1, size=(800, 400), kind: str = "JPEG", **more) -> bytes:
    """A blue photo with one red corner stored where this orientation shows it top left."""
    image = Image.new("RGB", size, BLUE)
    x, y = SHOWN_TOP_LEFT[orientation]
    wide, high = size[0] // 4, size[1] // 4
    image.paste(
        RED,
        (x * (size[0] - wide), y * (size[1] - high))
        + (x * (size[0] - wide) + wide, y * (size[1] - high) + high),
    )
    exif = Image.Exif()
    exif[0x0112] = orientation
    exif[0x010F], exif[0x0110] = "Secret camera maker", "Secret model"
    gps = exif.get_ifd(0x8825)
    gps[1], gps[2] = "N", (54.0, 12.0, 33.0)
    gps[3], gps[4] = "W", (1.0, 22.0, 11.0)
    out = io.BytesIO()
    image.save(out, kind, exif=exif, quality=95, comment=b"Secret words", **more)
    return out.getvalue()


def opened(data: bytes) -> Image.Image:
    return Image.open(io.BytesIO(data))


@pytest.mark.parametrize("orientation", SHOWN_TOP_LEFT)
def test_it_turns_a_photo_upright(orientation):
    ready = ready_photo(camera_photo(orientation))
    upright = (400, 800) if orientation >= 5 else (800, 400)
    assert (ready.width_px, ready.height_px) == opened(ready.picture).size == upright
    for data in (ready.picture, ready.small):
        picture = opened(data)
        red, _, blue = picture.getpixel((picture.width // 10, picture.height // 10))
        assert red > 150 > 80 > blue
        red, _, blue = picture.getpixel((picture.width * 9 // 10, picture.height * 9 // 10))
        assert blue > 150 > 80 > red


@pytest.mark.parametrize("kind", ["JPEG", "WEBP"])
def test_nothing_is_left_of_what_the_camera_noted(kind):
    profile = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    sent = camera_photo(6, kind=kind, icc_profile=profile)
    assert b"Secret" in sent
    assert opened(sent).getexif().get_ifd(0x8825)
    ready = ready_photo(sent)
    for data in (ready.picture, ready.small):
        for mark in (b"Secret", b"Exif", b"GPS", b"ICC_PROFILE", b"http://ns.adobe.com"):
            assert mark not in data
        assert not opened(data).getexif()
        # Of the JFIF segment nothing speaks but of the file's form.
        assert set(opened(data).info) <= {"jfif", "jfif_version", "jfif_unit", "jfif_density"}


def test_a_large_photo_is_made_smaller_and_a_small_one_kept():
    ready = ready_photo(camera_photo(size=(4000, 3000)))
    assert (ready.width_px, ready.height_px) == (LONGEST_SIDE, 1500)
    assert opened(ready.small).size == (SMALL_SIDE, 360)
    assert ready_photo(camera_photo(size=(90, 60))).width_px == 90


def test_what_is_see_through_lies_on_white():
    out = io.BytesIO()
    Image.new("RGBA", (60, 40), (0, 0, 0, 0)).save(out, "PNG")
    assert min(opened(ready_photo(out.getvalue()).picture).getpixel((30, 20))) > 250


def test_it_names_what_a_telephone_may_send_instead():
    with pytest.raises(PictureError) as told:
        ready_photo(b"\x00\x00\x00\x18ftypheic" + bytes(400))
    assert str(told.value) == HEIC


def test_it_refuses_too_many_pixels_before_decoding():
    with pytest.raises(PictureError) as told:
        ready_photo(png_of_zeros(20_001, 10))
    assert str(told.value) == TOO_LARGE
