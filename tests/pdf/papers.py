"""Cards to print and ways of reading a PDF back, shared by the tests of paper."""

from __future__ import annotations

from io import BytesIO

import numpy as np
import pypdfium2
from PIL import Image, ImageFilter

from decaljobs.craft.drawings.section import section
from decaljobs.craft.paper.jobcard import CardDecal, CardRow, JobCard

POINTS_PER_MM = 72 / 25.4
RED = (255, 0, 0)
ROWS = (
    CardRow("Printed", done="Thu 22 Oct 21:40"),
    CardRow("Sealed", done="Fri 23 Oct 08:10", reason="the last coat was touch dry"),
    CardRow(
        "Base applied",
        not_before="Sat 24 Oct 09:40",
        materials=("new blade", "setting fluid"),
        caution="The blade is sharp: cut away from the hand that holds.",
        how=("Cut through the film only.", "Soak, slide, place."),
    ),
    CardRow("Clear applied", caution="No fluid beneath."),
)


def art(width_mm: float, height_mm: float, colour=RED, dpi: int = 600) -> bytes:
    """A rectangle of one colour as a PNG file."""
    size = (round(width_mm / 25.4 * dpi), round(height_mm / 25.4 * dpi))
    file = BytesIO()
    Image.new("RGB", size, colour).save(file, "PNG")
    return file.getvalue()


def decal(place: str = "Left side", width_mm: float = 24.0, height_mm: float = 10.0, **changes):
    given = {
        "number": 1,
        "of": 1,
        "build": "laminated (base + clear)",
        "stage": "sealed",
        "section": section("laminated", "sealed", width=170, height=66, labelled=True),
        "art": art(min(width_mm, 200), min(height_mm, 200)),
        "pieces": ("base: sheet W-07", "clear: sheet C-03"),
        "good_copies": (("base", 2), ("clear", 0)),
        "rows": ROWS,
    } | changes
    return CardDecal(place, width_mm=width_mm, height_mm=height_mm, **given)


def card(*decals: CardDecal, **changes) -> JobCard:
    given = {
        "project": "Tram 14, Gannet Point line",
        "code": "TRAM-14",
        "scale": "1:45",
        "body_colour": "#23472f",
        "finish": "satin",
        "address": "http://192.168.178.20:8000/projects/TRAM-14/",
        "printed_at": "Thu 22 Oct 2026, 21:55",
        "zone": "Europe/London",
        "due": "Fri 13 November 2026",
        "customer": "the Wednesday bench",
        "notes": "Rivets along the waist rail.",
        "decals": decals,
    } | changes
    return JobCard(**given)


def read(pdf: bytes) -> pypdfium2.PdfDocument:
    return pypdfium2.PdfDocument(pdf)


def text(pdf: bytes) -> str:
    """The text of all pages, one printed line a line."""
    pages = (page.get_textpage().get_text_bounded() for page in read(pdf))
    return "\n".join(pages).replace("\r\n", "\n")


def words(pdf: bytes) -> str:
    """The text with every line break taken for a space."""
    return " ".join(text(pdf).split())


def picture(pdf: bytes, page: int = 0, dpi: int = 600) -> np.ndarray:
    """A page as printed, rows of RGB values."""
    image = read(pdf)[page].render(scale=dpi / 72).to_pil().convert("RGB")
    return np.asarray(image)


def scan(pdf: bytes, *, blur: float, turn: float) -> Image.Image:
    """The first page as a scan at 150 dpi shows it: blurred (px) and laid askew (degrees)."""
    page = Image.fromarray(picture(pdf, dpi=150)).convert("L")
    turned = page.rotate(turn, Image.Resampling.BICUBIC, expand=True, fillcolor=255)
    return turned.filter(ImageFilter.GaussianBlur(blur))


def size_of(mask: np.ndarray, dpi: int = 600) -> tuple[float, float]:
    """The width and height in mm of the smallest rectangle round the marked pixels."""
    rows, columns = np.nonzero(mask)
    assert rows.size, "nothing of that colour is on the page"
    wide, high = np.ptp(columns) + 1, np.ptp(rows) + 1
    return wide / dpi * 25.4, high / dpi * 25.4


def reddish(page: np.ndarray) -> np.ndarray:
    """Pixels more than half covered by red art on the green body."""
    red, green, blue = (page[..., band] for band in range(3))
    return (red > 145) & (green < 60) & (blue < 40)


def boxes(page: pypdfium2.PdfPage) -> list[tuple[float, float, float, float]]:
    """The rectangles of the page's text: left, foot, right, top in points."""
    reader = page.get_textpage()
    return [reader.get_rect(number) for number in range(reader.count_rects())]
