"""The print file of a sheet: art at its exact place and size, nothing scaled. Lengths in mm."""

from __future__ import annotations

from io import BytesIO

from PIL import Image
from reportlab.lib.utils import ImageReader
from reportlab.pdfgen.canvas import Canvas

from decaljobs.craft.film.freeplace import QR_SIDE
from decaljobs.craft.layout.place import Ring
from decaljobs.craft.paper.printfile import CROSS, PrintPiece, PrintSheet
from decaljobs.craft.units import POINTS_PER_MM, Paper
from decaljobs.pdf.letters import one_line
from decaljobs.pdf.page import RULER, TRUE_SIZE, draw_ruler, new_canvas
from decaljobs.pdf.pen import INK, SOFT, STRONG, TEXT, TINY, Pen, Stroke
from decaljobs.pdf.qr import draw_qr

#: Lines that the knife follows and that the eye hardly sees afterwards, mm.
GUIDE = Stroke(SOFT, 0.09)
TICK, TICK_OFF = 0.9, 0.3
#: Clear of the ticks and guides of pieces that lie at the edge, mm.
CLEAR_OF = 1.3
SMALL_PRINT = TINY.sized(6)
RULER_HEIGHT = 1.6
#: Edge below which nothing is written, mm.
WRITABLE = 4.2
#: The largest picture drawn; all artwork is below (the same bound as for pictures taken in).
MOST_PIXELS = 100_000_000


def print_file_pdf(sheet: PrintSheet) -> bytes:
    """One page of the sheet's size with every piece at its place, corrected for the printer.

    The same sheet makes the same bytes: the file carries no date but the one in its words.
    """
    paper = Paper(sheet.code, sheet.width, sheet.height)
    target = BytesIO()
    canvas = _canvas(target, paper, f"Sheet {sheet.code}")
    pen = Pen(canvas, paper)
    _correct(canvas, sheet)
    pictures: dict[bytes, ImageReader] = {}
    for piece in sheet.pieces:
        _draw_piece(pen, piece, pictures, ticks=sheet.ticks)
    _draw_edge(pen, sheet)
    if sheet.qr is not None:
        draw_qr(pen, sheet.address, *sheet.qr, QR_SIDE)
    canvas.showPage()
    canvas.save()
    return target.getvalue()


def cross_pdf(paper: Paper, *, code: str, said: str) -> bytes:
    """A cross with arms of 100 mm, to be printed at 100 % and measured with a steel rule."""
    target = BytesIO()
    canvas = _canvas(target, paper, f"Cross for {code}")
    pen = Pen(canvas, paper)
    middle_x, middle_y = paper.width_mm / 2, paper.height_mm / 2
    half = CROSS / 2
    stroke = Stroke(INK, 0.15)
    pen.line(middle_x - half, middle_y, middle_x + half, middle_y, stroke)
    pen.line(middle_x, middle_y - half, middle_x, middle_y + half, stroke)
    for end in (-half, half):
        pen.line(middle_x + end, middle_y - 5, middle_x + end, middle_y + 5, stroke)
        pen.line(middle_x - 5, middle_y + end, middle_x + 5, middle_y + end, stroke)
    room = paper.width_mm - 30
    top = middle_y - half - 30
    pen.text(15, top, one_line(code, STRONG, room), STRONG)
    lines = (
        "Print at 100 %, on the film and with the settings of your markings.",
        "Measure both arms between the middles of their end strokes, to 0.1 mm.",
        said,
    )
    pen.lines(15, top + 6, [one_line(line, TEXT, room) for line in lines], TEXT)
    canvas.showPage()
    canvas.save()
    return target.getvalue()


def _canvas(target: BytesIO, paper: Paper, title: str) -> Canvas:
    canvas = new_canvas(target, paper, title)
    # ISO 32000-1, 12.2: the print dialogue starts at actual size.
    canvas.setViewerPreference("PrintScaling", "None")
    return canvas


def _correct(canvas: Canvas, sheet: PrintSheet) -> None:
    """Stretch the drawing about the middle of the page, where it moves the edges least."""
    middle_x = sheet.width / 2 * POINTS_PER_MM
    middle_y = sheet.height / 2 * POINTS_PER_MM
    canvas.translate(middle_x * (1 - sheet.x_factor), middle_y * (1 - sheet.y_factor))
    canvas.scale(sheet.x_factor, sheet.y_factor)


def _draw_piece(
    pen: Pen, piece: PrintPiece, pictures: dict[bytes, ImageReader], *, ticks: bool
) -> None:
    """In the picture's own frame: its foot on the x axis, its left side on the y axis."""
    canvas = pen.canvas
    wide, high = piece.upright
    canvas.saveState()
    canvas.translate(*_own_corner(pen, piece))
    canvas.rotate(piece.degrees)
    if piece.show_art:
        _draw_art(canvas, piece, pictures)
    own = Pen(canvas, Paper("piece", wide, high))
    for ring in piece.lines:
        _draw_ring(own, ring)
    if ticks and piece.ticks:
        _draw_ticks(own, wide, high)
    canvas.restoreState()


def _own_corner(pen: Pen, piece: PrintPiece) -> tuple[float, float]:
    """Where the lower left corner of the picture lies once it is turned, points."""
    x, y = piece.x, pen.paper.height_mm - piece.y - piece.height
    if piece.degrees in (90, 180):
        x += piece.width
    if piece.degrees in (180, 270):
        y += piece.height
    return x * POINTS_PER_MM, y * POINTS_PER_MM


def _draw_art(canvas: Canvas, piece: PrintPiece, pictures: dict[bytes, ImageReader]) -> None:
    wide, high = piece.upright
    canvas.saveState()
    if piece.clip:
        path = canvas.beginPath()
        for ring in piece.clip:
            for number, (x, y) in enumerate(ring):
                point = (x * POINTS_PER_MM, (high - y) * POINTS_PER_MM)
                (path.lineTo if number else path.moveTo)(*point)
            path.close()
        canvas.clipPath(path, stroke=0, fill=0, fillMode=0)
    if piece.art not in pictures:
        pictures[piece.art] = _opened(piece.art)
    size = (wide * POINTS_PER_MM, high * POINTS_PER_MM)
    canvas.drawImage(pictures[piece.art], 0, 0, *size, mask="auto")
    canvas.restoreState()


def _opened(art: bytes) -> ImageReader:
    """The picture with all its pixels, in plain red, green and blue."""
    with Image.open(BytesIO(art), formats=["PNG"]) as picture:
        if picture.width * picture.height > MOST_PIXELS:
            raise ValueError("This picture has more pixels than can be printed.")
        clear = "A" in picture.getbands() or "transparency" in picture.info
        return ImageReader(picture.convert("RGBA" if clear else "RGB"))


def _draw_ring(pen: Pen, ring: Ring) -> None:
    for (x1, y1), (x2, y2) in zip(ring, ring[1:], strict=False):
        pen.line(x1, y1, x2, y2, GUIDE)


def _draw_ticks(pen: Pen, wide: float, high: float) -> None:
    """Two short strokes off each corner, outside the piece."""
    near, far = TICK_OFF, TICK_OFF + TICK
    for x, out_x in ((0.0, -1), (wide, 1)):
        for y, out_y in ((0.0, -1), (high, 1)):
            pen.line(x + out_x * near, y, x + out_x * far, y, GUIDE)
            pen.line(x, y + out_y * near, x, y + out_y * far, GUIDE)


def _draw_edge(pen: Pen, sheet: PrintSheet) -> None:
    """The code, the date and a ruler in the clear edge, where that is wide enough."""
    if sheet.margin < WRITABLE:
        return
    room = sheet.width - 2 * sheet.margin
    top = sheet.margin - SMALL_PRINT.line_mm - CLEAR_OF
    said = one_line(f"{sheet.code} · {sheet.said}", SMALL_PRINT, room)
    pen.text(sheet.margin, top, said, SMALL_PRINT)
    foot = sheet.height - sheet.margin + CLEAR_OF
    if room >= RULER:
        draw_ruler(pen, sheet.margin, foot, height=RULER_HEIGHT, between=RULER_HEIGHT / 2)
    if room >= RULER + 30:
        pen.text(sheet.margin + RULER + 2, foot - 0.4, TRUE_SIZE, SMALL_PRINT)
