"""Pictures made to do harm, or no pictures at all, are refused with one plain sentence."""

import io
import random
import struct
import time
import zlib

import pytest
from PIL import Image

from decaljobs.craft.pictures import (
    DAMAGED,
    EMPTY,
    NOT_A_PICTURE,
    TOO_LARGE,
    PictureError,
    read_picture,
)


def chunk(kind: bytes, data: bytes) -> bytes:
    return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))


def png_of_zeros(width: int, height: int) -> bytes:
    """A PNG of so many pixels whose packed data has 0.4 MB, far fewer than it unpacks to."""
    squeeze = zlib.compressobj(1)
    data = b""
    while len(data) < 400_000:
        data += squeeze.compress(bytes(1_000_000))
    header = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    body = chunk(b"IHDR", header) + chunk(b"IDAT", data + squeeze.flush())
    return b"\x89PNG\r\n\x1a\n" + body + chunk(b"IEND", b"")


def saved(kind: str, size: tuple[int, int] = (60, 40)) -> bytes:
    out = io.BytesIO()
    Image.effect_noise(size, 90).convert("RGB").save(out, kind)
    return out.getvalue()


def refusal(data: bytes) -> str:
    with pytest.raises(PictureError) as caught:
        read_picture(data)
    return str(caught.value)


@pytest.mark.parametrize(
    "size", [(30_000, 30_000), (60_000, 60_000), (12_000, 9_000), (6_325, 6_325), (20_001, 10)]
)
def test_it_refuses_too_many_pixels_before_decoding(size: tuple[int, int]):
    bomb = png_of_zeros(*size)
    begun = time.process_time()
    assert refusal(bomb) == TOO_LARGE
    assert time.process_time() - begun < 0.5


def test_it_refuses_169_megapixels_in_164_kilobytes():
    """All of it one colour: a whole PNG, which packs a thousandfold."""
    packed = zlib.compress(bytes(13_000 * (13_000 + 1)), 9)
    header = chunk(b"IHDR", struct.pack(">IIBBBBB", 13_000, 13_000, 8, 0, 0, 0, 0))
    bomb = b"\x89PNG\r\n\x1a\n" + header + chunk(b"IDAT", packed) + chunk(b"IEND", b"")
    assert 160_000 < len(bomb) < 170_000
    with pytest.warns(Image.DecompressionBombWarning):  # a good picture otherwise
        assert Image.open(io.BytesIO(bomb)).size == (13_000, 13_000)
    begun = time.process_time()
    assert refusal(bomb) == TOO_LARGE
    assert time.process_time() - begun < 0.5


def test_it_refuses_a_large_canvas_in_each_kind_of_webp_header():
    def riff(kind: bytes, data: bytes) -> bytes:
        body = b"WEBP" + kind + struct.pack("<I", len(data)) + data
        return b"RIFF" + struct.pack("<I", len(body)) + body

    wide = (16_000 - 1).to_bytes(3, "little")
    assert refusal(riff(b"VP8X", bytes(4) + wide + wide + bytes(8))) == TOO_LARGE
    bits = (16_000 - 1) | (16_000 - 1) << 14
    assert refusal(riff(b"VP8L", b"\x2f" + struct.pack("<I", bits) + bytes(8))) == TOO_LARGE
    frame = b"\x00\x00\x00\x9d\x01\x2a" + struct.pack("<HH", 16_000, 16_000)
    assert refusal(riff(b"VP8 ", frame + bytes(8))) == TOO_LARGE


@pytest.mark.parametrize(
    "data",
    [
        b"%!PS-Adobe-3.0 EPSF-3.0\n%%BoundingBox: 0 0 9 9\n",
        b'<svg xmlns="http://www.w3.org/2000/svg"/>',
        b"<html><script>alert(1)</script></html>",
        b"GIF89a" + bytes(40),
        b"BM" + bytes(60),
        b"II*\x00" + bytes(40),
        b"\x00\x00\x00\x0cjP  \r\n\x87\n",
        b"just text",
        b"\x89PNG\r\n\x1a\n",
    ],
)
def test_it_refuses_what_is_no_png_jpeg_or_webp(data: bytes):
    assert refusal(data) == NOT_A_PICTURE


def test_it_refuses_an_empty_file():
    assert refusal(b"") == EMPTY


@pytest.mark.parametrize("kind", ["PNG", "JPEG", "WEBP"])
def test_it_refuses_a_picture_cut_short(kind: str):
    data = saved(kind)
    assert refusal(data[: len(data) // 2]) in (DAMAGED, NOT_A_PICTURE)


def test_it_refuses_a_jpeg_with_thousands_of_scans():
    data = saved("JPEG")
    scans = data[:-2] + b"\xff\xda\x00\x08\x01\x01\x00\x00\x3f\x00" * 3000 + b"\xff\xd9"
    assert refusal(scans) == DAMAGED


def test_it_refuses_a_text_chunk_that_unpacks_to_megabytes():
    plain = saved("PNG")
    packed = zlib.compress(bytes(200_000_000), 9)
    bomb = plain[:33] + chunk(b"zTXt", b"a\x00\x00" + packed) + plain[33:]
    begun = time.process_time()
    try:
        read = read_picture(bomb)
    except PictureError:
        pass
    else:
        assert read.info == {}
    assert time.process_time() - begun < 1


def test_it_answers_any_damage_with_a_picture_or_a_sentence():
    chance = random.Random(7)
    files = [saved(kind, (20, 15)) for kind in ("PNG", "JPEG", "WEBP")]
    outcomes = set()
    for _ in range(600):
        data = bytearray(chance.choice(files))
        for _ in range(chance.choice((1, 2, 8))):
            data[chance.randrange(len(data))] = chance.randrange(256)
        if chance.random() < 0.2:
            del data[chance.randrange(len(data)) :]
        try:
            outcomes.add(read_picture(bytes(data)).mode)
        except PictureError as error:
            outcomes.add(str(error))
    assert {"RGB", DAMAGED, NOT_A_PICTURE} <= outcomes
