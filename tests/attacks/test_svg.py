"""Drawings that reach outside themselves or grow without bound are refused with a sentence."""

import base64
import io
import time

import pytest
from PIL import Image

from decaljobs.craft.art.svgfile import looks_like_svg
from decaljobs.craft.artwork import measure
from decaljobs.craft.pictures import PictureError
from decaljobs.services.artwork import svg_reading
from decaljobs.services.artwork.svg_checking import (
    NO_SIZE,
    NOT_SVG,
    REFERS_OUT,
    TEXT_FOUND,
    TOO_LARGE,
    TOO_MUCH,
    at_size,
    checked,
)
from decaljobs.services.artwork.svg_reading import NOT_DRAWN, TOO_MANY_PIXELS, read_svg

NAMES = 'xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink"'


def svg(inside: str, root: str = 'viewBox="0 0 24 24"') -> bytes:
    return f"<svg {NAMES} {root}>{inside}</svg>".encode()


def refusal(data: bytes, **size: float) -> str:
    begun = time.process_time()
    with pytest.raises(PictureError) as caught:
        read_svg(data, **(size or {"width_mm": 20}))
    assert time.process_time() - begun < 10
    return str(caught.value)


def test_it_draws_a_harmless_drawing_to_scale():
    """Eccentric discs of 10 and 9 mm, 0.3 mm apart: the band is 0.7 mm at its narrowest."""
    drawing = svg(
        '<title>Roundel</title><style>.w{fill:#fff}</style><defs><circle id="c" r="9"/></defs>'
        '<circle cx="12" cy="12" r="10"/>'
        '<use xlink:href="#c" class="w" transform="translate(12.3 12)"/>'
    )
    assert looks_like_svg(drawing)
    found = measure(read_svg(drawing, width_mm=20), width_mm=20)
    assert found.dpi == pytest.approx(1200, rel=0.002)
    assert found.band.min_mm == pytest.approx(0.7, abs=0.005)


def test_it_draws_at_its_own_size_when_told_the_dpi():
    drawing = svg('<rect width="10" height="5"/>', 'width="10mm" height="5mm" viewBox="0 0 10 5"')
    assert read_svg(drawing, dpi=254).size == (100, 50)


@pytest.mark.parametrize(
    "inside",
    [
        '<image href="/etc/passwd" width="9" height="9"/>',
        '<image xlink:href="/etc/passwd" width="9" height="9"/>',
        '<image href="file:///etc/passwd" width="9" height="9"/>',
        '<image href="../art.png" width="9" height="9"/>',
        '<image href="http://pictures.example/a.png" width="9" height="9"/>',
        '<image href="//pictures.example/a.png" width="9" height="9"/>',
        '<image href="data:image/svg+xml;base64,PHN2Zy8+" width="9" height="9"/>',
        '<use href="other.svg#part"/>',
        '<rect width="9" height="9" fill="url(http://pictures.example/a.svg#p)"/>',
        "<rect width='9' height='9' style='fill:url( \"file:///etc/passwd\" )'/>",
        '<rect width="9" height="9" style="fill:u\\72l(http://pictures.example/a)"/>',
        "<style>@import url(http://pictures.example/a.css);</style>",
        "<style>@import 'a.css';</style>",
        "<style>rect{fill:ur/**/l(http://pictures.example/a)}</style>",
        "<style>@font-face{src:url(/etc/passwd)}</style>",
    ],
)
def test_it_refuses_references_to_the_outside(inside: str):
    assert refusal(svg(inside)) == REFERS_OUT


@pytest.mark.parametrize(
    "inside",
    [
        "<script>alert(1)</script>",
        "<foreignObject/>",
        "<filter id='f'/>",
        "<animate/>",
        "<feImage href='/etc/passwd'/>",
    ],
)
def test_it_refuses_what_is_more_than_a_drawing(inside: str):
    assert "cannot be drawn safely" in refusal(svg(inside))


def test_it_refuses_entities():
    outside = b'<!DOCTYPE svg [<!ENTITY a SYSTEM "file:///etc/passwd">]>'
    assert refusal(outside + svg("<title>&a;</title>")) == NOT_SVG
    laughs = "".join(f'<!ENTITY a{i} "{f"&a{i - 1};" * 10}">' for i in range(1, 12))
    bomb = f'<!DOCTYPE svg [<!ENTITY a0 "ha">{laughs}]>'.encode()
    assert refusal(bomb + svg("<title>&a11;</title>")) == NOT_SVG


def test_it_bears_with_a_plain_document_type():
    kind = b'<!DOCTYPE svg PUBLIC "-//W3C//DTD SVG 1.1//EN" "http://nowhere.example/svg11.dtd">'
    assert checked(kind + svg('<rect width="9" height="9"/>')).tag.endswith("svg")


def test_it_refuses_parts_that_multiply_without_end():
    doubling = '<g id="a0"><rect width="1" height="1"/></g>' + "".join(
        f'<g id="a{i}">' + f'<use href="#a{i - 1}"/>' * 10 + "</g>" for i in range(1, 12)
    )
    assert refusal(svg(doubling)) == TOO_MUCH
    masks = "".join(
        f'<mask id="m{i}">' + f'<rect mask="url(#m{i - 1})" width="9" height="9"/>' * 10 + "</mask>"
        for i in range(1, 12)
    )
    assert refusal(svg(masks)) == TOO_MUCH
    assert refusal(svg('<g id="a"><use href="#a"/></g>')) == TOO_MUCH


def test_it_refuses_nesting_without_end():
    assert refusal(svg("<g>" * 20_000 + "</g>" * 20_000)) == TOO_LARGE


def test_it_refuses_text_with_advice():
    assert refusal(svg('<text y="9">Kev</text>')) == TEXT_FOUND
    assert "outlines" in TEXT_FOUND


@pytest.mark.parametrize("data", [b"<svg", b"<html/>", b"\x89PNG", b"", b"<svg/>"])
def test_it_refuses_what_is_no_svg(data: bytes):
    assert refusal(data) == NOT_SVG


def test_it_asks_for_a_size():
    assert refusal(svg('<rect width="9" height="9"/>', "")) == NO_SIZE
    assert refusal(svg("<rect/>", 'width="NaN" height="-3"')) == NO_SIZE


def test_it_draws_a_canvas_of_200_000_pixels_at_print_size_only():
    huge = svg(
        '<rect x="50000" y="50000" width="100000" height="100000"/>',
        'width="200000" height="200000"',
    )
    picture = read_svg(huge, width_mm=10)
    assert picture.width == pytest.approx(2 * 10 / 25.4 * 1200, abs=3)
    assert refusal(huge, dpi=96) == TOO_MANY_PIXELS
    long = svg('<rect width="200000" height="900"/>', 'width="200000" height="900"')
    assert max(read_svg(long, width_mm=1000).size) <= 20_000


def test_it_re_encodes_embedded_pictures():
    def embedded(data: bytes) -> bytes:
        code = base64.b64encode(data).decode()
        return svg(f'<image href="data:image/jpeg;base64,{code}" width="9" height="9"/>')

    out = io.BytesIO()
    Image.new("RGB", (8, 8), (200, 0, 0)).save(out, "JPEG", comment=b"secret")
    text = at_size(checked(embedded(out.getvalue())), 24, 24)
    assert "data:image/png;base64," in text
    assert base64.b64encode(b"secret").decode()[:6] not in text
    assert "not a PNG, JPEG or WEBP" in refusal(embedded(b"GIF89a" + bytes(30)))


def test_it_drops_what_editors_add():
    text = at_size(
        checked(
            svg(
                '<metadata><x:a xmlns:x="urn:x" href="/etc/passwd"/></metadata>'
                '<rect onclick="alert(1)" xmlns:x="urn:x" x:label="secret" width="9" height="9"/>'
            )
        ),
        24,
        24,
    )
    assert "rect" in text
    for gone in ("passwd", "onclick", "secret", "metadata"):
        assert gone not in text


def test_it_gives_up_on_a_drawing_that_takes_too_long(monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setattr(svg_reading, "TIMEOUT_SECONDS", 0.01)
    assert refusal(svg('<rect width="9" height="9"/>')) == NOT_DRAWN


def test_the_worker_cannot_open_files_even_if_asked():
    """Past the check, a path in the drawing still shows nothing: the doors are closed."""
    pytest.importorskip("resource", reason="the system cannot limit open files")
    picture = svg_reading._png(
        svg(f'<image href="{__file__}" width="9" height="9"/><rect width="3" height="3"/>').decode()
    )
    assert picture.startswith(b"\x89PNG")
    dot = Image.open(io.BytesIO(picture)).convert("RGBA")
    assert dot.getpixel((1, 1)) == (0, 0, 0, 255)
    assert dot.getpixel((6, 6))[3] == 0
