"""SVG from outside, kept only if it can reach nothing outside itself."""

from __future__ import annotations

import base64
import binascii
import re
from collections.abc import Iterator
from xml.etree.ElementTree import (  # noqa: S405 - only for its types; parsing is defusedxml's
    Element,
    ParseError,
    register_namespace,
    tostring,
)

from defusedxml.common import DefusedXmlException
from defusedxml.ElementTree import fromstring

from decaljobs.craft.pictures import PictureError, read_picture, to_png
from decaljobs.craft.units import INCH

SVG = "http://www.w3.org/2000/svg"
XLINK = "http://www.w3.org/1999/xlink"
HREFS = ("href", f"{{{XLINK}}}href")

MAX_BYTES = 8_000_000
MAX_DEPTH = 100
# elements, each use and each reference counted as often as it is drawn
MAX_DRAWN = 200_000

DRAWN = frozenset(
    """svg g defs symbol use path rect circle ellipse line polyline polygon linearGradient
    radialGradient stop clipPath mask pattern marker image style a""".split()  # noqa: SIM905
)
SILENT = {"title", "desc", "metadata", "view"}
TEXT = {"text", "tspan", "textPath", "tref", "font", "glyph"}

NOT_SVG = "This file is not an SVG drawing that can be read."
TOO_LARGE = "This SVG is too large or too deeply nested."
TEXT_FOUND = "This SVG holds text; convert the text to outlines and save it again."
REFERS_OUT = "This SVG refers to something outside itself; embed it and save it again."
TOO_MUCH = "This SVG repeats its parts too often to be drawn."
NO_SIZE = "This SVG has neither a size nor a view box."

LENGTH = re.compile(r"\s*([0-9]*\.?[0-9]+(?:[eE][+-]?[0-9]+)?)\s*(px|mm|cm|in|pt|pc|q|Q)?\s*")
# CSS Values and Units Level 4: 96 px to the inch
PX = {
    "px": 1.0,
    "in": 96.0,
    "mm": 96 / INCH,
    "cm": 960 / INCH,
    "pt": 96 / 72,
    "pc": 16.0,
    "q": 24 / INCH,
}
URL = re.compile(r"url\s*\(\s*(['\"]?)(.*?)\1\s*\)", re.IGNORECASE | re.DOTALL)
COMMENT = re.compile(r"/\*.*?(\*/|$)", re.DOTALL)
PICTURE = re.compile(r"data:image/(?:png|jpe?g|webp);base64,", re.IGNORECASE)


def checked(data: bytes) -> Element:
    """The drawing with only what draws, references and styles all within itself.

    Raises PictureError with a sentence for the maker.
    """
    if len(data) > MAX_BYTES:
        raise PictureError(TOO_LARGE)
    try:
        # a document type is common and harmless; entities in it are neither
        root = fromstring(data, forbid_dtd=False, forbid_entities=True, forbid_external=True)
    except (ParseError, DefusedXmlException, ValueError, LookupError) as error:
        raise PictureError(NOT_SVG) from error
    if root.tag != f"{{{SVG}}}svg":
        raise PictureError(NOT_SVG)
    _refuse_depth(root)
    waiting = [root]
    while waiting:
        element = waiting.pop()
        _clean(element)
        waiting.extend(element)
    _refuse_bombs(root)
    return root


def natural_size(root: Element) -> tuple[float, float]:
    """Width and height of the drawing in CSS px, 96 to the inch."""
    box = _view_box(root)
    width, height = _length(root.get("width")), _length(root.get("height"))
    if box is None and (width is None or height is None):
        raise PictureError(NO_SIZE)
    if box is not None:
        if width is None and height is None:
            width, height = box[2], box[3]
        width = width if width is not None else (height or 0) * box[2] / box[3]
        height = height if height is not None else width * box[3] / box[2]
    if not width or not height:
        raise PictureError(NO_SIZE)
    return width, height


def at_size(root: Element, width_px: int, height_px: int) -> str:
    """The drawing as text, to come out exactly so many pixels large."""
    width, height = natural_size(root)
    if _view_box(root) is None:
        root.set("viewBox", f"0 0 {width:g} {height:g}")
    sized = Element(root.tag, {**root.attrib, "width": str(width_px), "height": str(height_px)})
    sized.extend(root)
    register_namespace("", SVG)
    register_namespace("xlink", XLINK)
    return tostring(sized, encoding="unicode")


def _refuse_depth(root: Element) -> None:
    level, depth = [root], 0
    while level:
        depth += 1
        if depth > MAX_DEPTH:
            raise PictureError(TOO_LARGE)
        level = [child for element in level for child in element]


def _clean(element: Element) -> None:
    """Refuse what reaches out; drop what does not draw."""
    for child in list(element):
        name = _svg_name(child)
        if name in TEXT:
            raise PictureError(TEXT_FOUND)
        if name is None or name in SILENT:
            element.remove(child)
        elif name not in DRAWN:
            raise PictureError(f"This SVG uses ‘{name[:40]}’, which cannot be drawn safely.")
    if _svg_name(element) == "style":
        _refuse_style(element.text or "")
    for key, value in list(element.attrib.items()):
        if key in HREFS:
            element.set(key, _safe_reference(element, value))
        elif key.startswith("{") or key.lower().startswith("on"):
            del element.attrib[key]
        else:
            _refuse_style(value)


def _svg_name(element: Element) -> str | None:
    """The element's name within SVG, None for those of editors and for comments."""
    if not isinstance(element.tag, str) or not element.tag.startswith(f"{{{SVG}}}"):
        return None
    return element.tag.removeprefix(f"{{{SVG}}}")


def _refuse_style(text: str) -> None:
    # a backslash could spell url or @import in a way that is not seen here
    if "@" in text or "\\" in text:
        raise PictureError(REFERS_OUT)
    # with and without comments, since readers differ in whether these part a word
    for style in (text, COMMENT.sub("", text)):
        targets = [target for _, target in URL.findall(style)]
        if len(targets) != len(re.findall(r"url\s*\(", style, re.IGNORECASE)):
            raise PictureError(REFERS_OUT)
        if not all(target.strip().startswith("#") for target in targets):
            raise PictureError(REFERS_OUT)


def _safe_reference(element: Element, target: str) -> str:
    target = target.strip()
    if target.startswith("#"):
        return target
    match = PICTURE.match(target)
    if _svg_name(element) == "a":
        return "#"
    if _svg_name(element) != "image" or match is None:
        raise PictureError(REFERS_OUT)
    try:
        data = base64.b64decode(re.sub(r"\s", "", target[match.end() :]), validate=True)
    except (binascii.Error, ValueError) as error:
        raise PictureError(REFERS_OUT) from error
    # our own re-encoding, so that no decoder but ours meets the stranger's bytes
    return "data:image/png;base64," + base64.b64encode(to_png(read_picture(data))).decode()


def _refuse_bombs(root: Element) -> None:
    """Count what is drawn, each reference as often as it is followed; refuse circles."""
    named = {element.get("id"): element for element in root.iter() if element.get("id")}
    styled = sum(len(URL.findall(element.text or "")) for element in root.iter(f"{{{SVG}}}style"))
    known: dict[int, int] = {}

    def count(element: Element, open_: frozenset[int]) -> int:
        key = id(element)
        if key in open_ or len(open_) > 2 * MAX_DEPTH:
            raise PictureError(TOO_MUCH)
        if key not in known:
            inner = open_ | {key}
            total = 1 + styled + sum(count(child, inner) for child in element)
            total += sum(count(named[ref], inner) for ref in _references(element) if ref in named)
            if total > MAX_DRAWN:
                raise PictureError(TOO_MUCH)
            known[key] = total
        return known[key]

    count(root, frozenset())


def _references(element: Element) -> Iterator[str]:
    for key, value in element.attrib.items():
        if key in HREFS:
            yield value.removeprefix("#")
        else:
            for _, target in URL.findall(value):
                yield target.strip().removeprefix("#")


def _view_box(root: Element) -> tuple[float, float, float, float] | None:
    parts = re.split(r"[\s,]+", (root.get("viewBox") or "").strip())
    try:
        left, top, width, height = (float(part) for part in parts)
    except ValueError:
        return None
    # written so that a value that is not a number fails too
    return (left, top, width, height) if 0 < width < 1e9 and 0 < height < 1e9 else None


def _length(text: str | None) -> float | None:
    match = LENGTH.fullmatch(text or "")
    if match is None:
        return None
    value = float(match[1]) * PX[(match[2] or "px").lower()]
    return value if 0 < value < 1e9 else None
