"""Pictures as their makers save them come in as upright, bare sRGB."""

import io

import numpy as np
import pytest
from PIL import Image, ImageCms

from decaljobs.craft.pictures import (
    BROKEN_PROFILE,
    FIRST_FRAME,
    PictureError,
    read_picture,
    read_with_notes,
    thumbnail,
    to_png,
    visible_box,
)

RED, WHITE = (200, 30, 20), (255, 255, 255)
# EXIF 2.32: what a camera has done to the upright picture when it writes each orientation
TURNED = {
    1: None,
    2: Image.Transpose.FLIP_LEFT_RIGHT,
    3: Image.Transpose.ROTATE_180,
    4: Image.Transpose.FLIP_TOP_BOTTOM,
    5: Image.Transpose.TRANSPOSE,
    6: Image.Transpose.ROTATE_90,
    7: Image.Transpose.TRANSVERSE,
    8: Image.Transpose.ROTATE_270,
}


def saved(image: Image.Image, kind: str = "PNG", **options: object) -> bytes:
    out = io.BytesIO()
    image.save(out, kind, **options)
    return out.getvalue()


def flag() -> Image.Image:
    """White, with a red corner at the top left."""
    image = Image.new("RGB", (30, 20), WHITE)
    image.paste(RED, (0, 0, 10, 5))
    return image


@pytest.mark.parametrize("orientation", TURNED)
def test_it_turns_pictures_upright(orientation: int):
    exif = Image.Exif()
    exif[0x0112] = orientation
    way = TURNED[orientation]
    stored = flag() if way is None else flag().transpose(way)
    read = read_picture(saved(stored, exif=exif))
    assert read.size == (30, 20)
    assert read.getpixel((4, 2)) == RED
    assert read.getpixel((25, 15)) == WHITE


@pytest.mark.parametrize(
    ("kind", "mode", "tolerance"),
    [
        ("PNG", "RGB", 0),
        ("PNG", "P", 0),
        ("JPEG", "RGB", 6),
        ("JPEG", "CMYK", 6),
        ("WEBP", "RGB", 8),
    ],
)
def test_it_reads_each_way_of_saving_the_same_colours(kind: str, mode: str, tolerance: int):
    stored = flag().quantize(4) if mode == "P" else flag().convert(mode)
    read = read_picture(saved(stored, kind, quality=95))
    assert read.mode == "RGB"
    seen = np.array([read.getpixel((2, 1)), read.getpixel((25, 15))], int)
    assert np.abs(seen - [RED, WHITE]).max() <= tolerance


def test_it_reads_sixteen_bits_and_grey_with_alpha():
    ramp = np.linspace(0, 65535, 256).astype(np.uint16)[None].repeat(4, 0)
    read = read_picture(saved(Image.fromarray(ramp)))
    assert read.mode == "RGB"
    assert np.array_equal(np.asarray(read)[0, :, 1], np.arange(256))
    grey = Image.new("LA", (4, 4), (90, 128))
    assert read_picture(saved(grey)).getpixel((1, 1)) == (90, 90, 90, 128)


def test_it_keeps_a_palette_s_transparent_colour():
    image = flag().quantize(4)
    clear = image.getpixel((25, 15))
    read = read_picture(saved(image, transparency=clear))
    assert read.mode == "RGBA"
    assert read.getpixel((25, 15))[3] == 0
    assert read.getpixel((4, 2)) == (*RED, 255)


def test_it_takes_an_alpha_that_hides_nothing_as_paper():
    assert read_picture(saved(flag().convert("RGBA"))).mode == "RGB"


def test_it_follows_an_embedded_profile():
    """An sRGB red seen through a profile with its green primary moved is another sRGB red."""
    plain = saved(flag())
    lab = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    assert read_picture(saved(flag(), icc_profile=lab)).getpixel((4, 2)) == RED
    swapped = bytearray(lab)
    tags = {bytes(lab[i : i + 4]): i for i in range(132, 132 + 12 * lab[131], 12)}
    red, green = (tags[name] + 4 for name in (b"rXYZ", b"gXYZ"))
    swapped[red : red + 8], swapped[green : green + 8] = (
        lab[green : green + 8],
        lab[red : red + 8],
    )
    read = read_with_notes(saved(flag(), icc_profile=bytes(swapped)))
    r, g, _ = read.image.getpixel((4, 2))
    assert g > r, "a profile whose red is green turns the red green"
    assert read.notes == ()
    assert read_picture(plain).getpixel((4, 2)) == RED


def test_it_says_that_a_broken_profile_was_passed_over():
    read = read_with_notes(saved(flag(), icc_profile=b"no profile at all"))
    assert read.notes == (BROKEN_PROFILE,)
    assert read.image.getpixel((4, 2)) == RED


def test_it_takes_the_first_frame_of_an_animation_and_says_so():
    second = Image.new("RGB", (30, 20), (0, 0, 255))
    data = saved(flag(), "PNG", save_all=True, append_images=[second], duration=100)
    read = read_with_notes(data)
    assert read.notes == (FIRST_FRAME,)
    assert read.image.getpixel((4, 2)) == RED


def test_it_carries_no_metadata_on():
    exif = Image.Exif()
    exif[0x010E] = "where I live"
    data = saved(flag(), "JPEG", exif=exif, comment=b"secret", dpi=(300, 300))
    assert b"where I live" in data
    assert b"secret" in data
    read = read_picture(data)
    again = to_png(read)
    assert read.info == {}
    assert dict(read.getexif()) == {}
    assert b"where I live" not in again
    assert b"secret" not in again
    kinds = {again[i + 4 : i + 8] for i in range(8, len(again)) if again[i + 4 : i + 8].isalpha()}
    assert not kinds & {b"eXIf", b"tEXt", b"iTXt", b"zTXt", b"iCCP", b"pHYs"}


def test_it_re_encodes_pixel_for_pixel():
    image = Image.effect_noise((40, 30), 80).convert("RGBA")
    image.putalpha(Image.linear_gradient("L").resize((40, 30)))
    assert np.array_equal(np.asarray(read_picture(to_png(image))), np.asarray(image))


def test_it_makes_thumbnails_that_fit_and_never_grow():
    assert thumbnail(Image.new("RGB", (900, 300)), 300).size == (300, 100)
    assert thumbnail(Image.new("RGB", (90, 30)), 300).size == (90, 30)
    with pytest.raises(ValueError, match="1 px or more"):
        thumbnail(Image.new("RGB", (9, 9)), 0)


def test_it_finds_the_visible_part_on_paper_and_on_nothing():
    paper = Image.new("RGB", (100, 80), WHITE)
    paper.paste(RED, (20, 10, 70, 60))
    assert visible_box(paper) == (20, 10, 70, 60)
    clear = Image.new("RGBA", (100, 80))
    clear.paste((*WHITE, 255), (20, 10, 70, 60))
    assert visible_box(clear) == (20, 10, 70, 60)


def test_it_counts_half_covered_edge_pixels_by_half():
    image = Image.new("RGBA", (100, 80))
    image.paste((0, 0, 0, 255), (20, 10, 70, 60))
    image.paste((0, 0, 0, 128), (19, 10, 20, 60))
    assert visible_box(image).left == pytest.approx(19.5, abs=0.01)


def test_it_leaves_specks_out_of_the_visible_part_by_their_printed_size():
    image = Image.new("RGBA", (400, 400))
    image.paste((0, 0, 0, 255), (100, 100, 300, 300))
    image.paste((0, 0, 0, 255), (10, 10, 13, 13))
    # 200 px are 20 mm, so the speck has 0.3 mm × 0.3 mm and counts; at 10 mm it does not
    assert visible_box(image, width_mm=10).left == 100
    assert visible_box(image, width_mm=40).left == 10
    assert visible_box(image).left == 10


def test_it_refuses_to_call_a_blank_picture_visible():
    with pytest.raises(PictureError, match="blank"):
        visible_box(Image.new("RGB", (50, 50), WHITE))
    with pytest.raises(PictureError, match="blank"):
        visible_box(Image.new("RGBA", (50, 50)))
