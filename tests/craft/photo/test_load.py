import io

import numpy as np
import pytest
from PIL import Image, ImageCms

from decaljobs.craft.photo.found_marks import found_picture
from decaljobs.craft.photo.load import LEAST_SIDE, PhotoRefused, load_photo

ORIENTATION = 0x0112  # EXIF tag: CIPA DC-008


def quarters() -> Image.Image:
    """An upright picture: red, green over blue, white."""
    pixels = np.zeros((600, 800, 3), dtype=np.uint8)
    pixels[:300, :400], pixels[:300, 400:] = (200, 30, 30), (30, 200, 30)
    pixels[300:, :400], pixels[300:, 400:] = (30, 30, 200), (240, 240, 240)
    return Image.fromarray(pixels)


def saved(image: Image.Image, form: str = "PNG", **more) -> bytes:
    kept = io.BytesIO()
    image.save(kept, form, **more)
    return kept.getvalue()


def colours(pixels: np.ndarray) -> list[tuple[int, ...]]:
    rows, columns = pixels.shape[:2]
    return [
        tuple(int(value) for value in pixels[rows * y // 4, columns * x // 4])
        for y in (1, 3)
        for x in (1, 3)
    ]


def swapped_profile() -> bytes:
    """sRGB's own profile with the red and green primaries changed over (ICC.1 tag table)."""
    plain = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    return (
        plain.replace(b"rXYZ", b"tmp0", 1).replace(b"gXYZ", b"rXYZ", 1).replace(b"tmp0", b"gXYZ", 1)
    )


# What a camera stores for an upright picture: EXIF orientation and the turn that undoes it.
@pytest.mark.parametrize(
    ("value", "stored"),
    [
        (1, None),
        (3, Image.Transpose.ROTATE_180),
        (6, Image.Transpose.ROTATE_90),
        (8, Image.Transpose.ROTATE_270),
    ],
)
def test_it_turns_a_photo_upright(value, stored):
    image = quarters() if stored is None else quarters().transpose(stored)
    exif = Image.Exif()
    exif[ORIENTATION] = value
    photo = load_photo(saved(image, "JPEG", exif=exif, quality=95))
    assert photo.pixels.shape == (600, 800, 3)
    assert np.abs(np.array(colours(photo.pixels)) - colours(np.asarray(quarters()))).max() <= 4


def test_it_turns_a_photo_upright_whatever_else_its_exif_holds():
    """A number that the file says is a word: writing such EXIF anew fails, reading it need not."""
    exif = Image.Exif()
    exif[ORIENTATION], exif[0x010E] = 6, "Tug Heron"
    data = saved(quarters().transpose(Image.Transpose.ROTATE_90), "JPEG", exif=exif)
    word, number = b"\x01\x0e\x00\x02", b"\x01\x07\x00\x02"
    assert data.count(word) == 1
    assert load_photo(data.replace(word, number)).pixels.shape == (600, 800, 3)


def test_it_honours_an_embedded_profile():
    photo = load_photo(saved(quarters(), icc_profile=swapped_profile()))
    red, green = np.array(colours(photo.pixels)[0]), np.array(colours(photo.pixels)[1])
    assert np.abs(red - (30, 200, 30)).max() <= 6
    assert np.abs(green - (200, 30, 30)).max() <= 6
    assert photo.remarks == ()


def test_it_says_that_a_profile_is_broken_and_takes_srgb():
    photo = load_photo(saved(quarters(), icc_profile=b"nonsense" * 40))
    assert colours(photo.pixels) == colours(np.asarray(quarters()))
    assert photo.remarks == ("the photo's colour profile is broken; sRGB was taken",)


@pytest.mark.parametrize(
    ("mode", "form"), [("RGBA", "PNG"), ("CMYK", "TIFF"), ("L", "PNG"), ("P", "PNG")]
)
def test_it_takes_pictures_of_other_kinds_in_their_colours(mode, form):
    image = quarters().quantize(8) if mode == "P" else quarters().convert(mode)
    photo = load_photo(saved(image, form))
    seen = quarters().convert("L").convert("RGB") if mode == "L" else quarters()
    assert photo.pixels.shape == (600, 800, 3)
    assert colours(photo.pixels) == colours(np.asarray(seen))


@pytest.mark.parametrize("form", ["TIFF", "PNG"])
def test_it_takes_greys_of_sixteen_bits_for_what_they_are(form):
    # 16 bits hold 257 times the value of 8: 255 · 257 is 65,535.
    grey = np.asarray(quarters().convert("L"))
    photo = load_photo(saved(Image.fromarray(grey.astype(np.uint16) * 257), form))
    assert np.array_equal(photo.pixels, np.repeat(grey[..., None], 3, axis=2))


def test_it_reduces_a_large_jpeg_while_decoding():
    photo = load_photo(saved(Image.new("RGB", (4000, 3000), (90, 90, 90)), "JPEG"))
    assert max(photo.pixels.shape) == 2000


@pytest.mark.parametrize("brand", [b"heic", b"heix", b"mif1"])
def test_it_asks_for_jpeg_instead_of_heic(brand):
    data = b"\x00\x00\x00\x18ftyp" + brand + b"\x00" * 400
    with pytest.raises(PhotoRefused, match="convert it to JPEG"):
        load_photo(data)


@pytest.mark.parametrize("data", [b"", b"not a photo", b"%PDF-1.7 ...", b"GIF89a" + b"\x00" * 60])
def test_it_refuses_what_is_no_photo(data):
    with pytest.raises(PhotoRefused, match="no JPEG, PNG, WebP or TIFF"):
        load_photo(data)


def test_it_refuses_a_photo_cut_short():
    data = saved(quarters(), "JPEG")
    with pytest.raises(PhotoRefused, match="broken or cut short"):
        load_photo(data[: len(data) // 2])


@pytest.mark.parametrize(("width", "height"), [(10000, 9000), (20000, 15000)])
def test_it_refuses_90_megapixels_and_more_without_decoding_them(width, height):
    data = saved(Image.new("1", (width, height)))
    with pytest.raises(PhotoRefused, match="too large; at most 60 megapixels"):
        load_photo(data)


def test_it_refuses_a_large_canvas_before_room_is_made_for_it():
    """Pillow's WEBP reader makes it on opening; here the header alone is there (RFC 9649)."""
    sides = (9_999).to_bytes(3, "little") * 2
    data = b"RIFF" + bytes(4) + b"WEBPVP8X" + (10).to_bytes(4, "little") + bytes(4) + sides
    with pytest.raises(PhotoRefused, match="too large; at most 60 megapixels"):
        load_photo(data + bytes(20))


def test_it_refuses_a_photo_that_is_too_small():
    with pytest.raises(PhotoRefused, match=f"needs {LEAST_SIDE}"):
        load_photo(saved(Image.new("RGB", (LEAST_SIDE - 1, 300))))


def test_it_shows_where_marks_were_found():
    photo = load_photo(saved(Image.new("RGB", (1800, 1200), (128, 128, 128))))
    picture = Image.open(io.BytesIO(found_picture(photo, [(400.0, 600.0)])))
    assert picture.size == (900, 600)
    pixels = np.asarray(picture).astype(int)
    changed = np.argwhere(np.abs(pixels - 128).max(axis=2) > 60)
    middle = (changed.min(axis=0) + changed.max(axis=0)) / 2
    assert np.abs(middle - (300, 205)).max() < 15
