"""QR codes on paper and page: ISO/IEC 18004, error correction level M. Lengths in mm."""

from __future__ import annotations

from functools import lru_cache

from reportlab.graphics.barcode.qrencoder import QR8bitByte, QRCode, QRErrorCorrectLevel

from decaljobs.craft.film.freeplace import QR_SIDE
from decaljobs.pdf.pen import Pen

#: White round the symbol, in modules: ISO/IEC 18004, 6.3.8.
QUIET_MODULES = 4
BLACK = "#000000"


@lru_cache(maxsize=64)
def modules(text: str) -> tuple[tuple[bool, ...], ...]:
    """The rows of dark (True) and light modules of a text's symbol, without quiet zone."""
    code = QRCode(None, QRErrorCorrectLevel.M)
    code.addData(QR8bitByte(text))
    code.make()
    return tuple(tuple(bool(module) for module in row) for row in code.modules)


def draw_qr(pen: Pen, text: str, x: float, top: float, size: float) -> None:
    """Draw the symbol size mm square; the caller leaves four modules of white round it.

    Raises ValueError below 25 mm.
    """
    if size < QR_SIDE:
        raise ValueError(f"A QR code on paper is at least {QR_SIDE:.0f} mm.")
    rows = modules(text)
    module = size / len(rows)
    for number, row in enumerate(rows):
        for start, length in _runs(row):
            pen.rect(x + start * module, top + number * module, length * module, module, fill=BLACK)


def qr_svg(text: str, name: str) -> str:
    """The symbol as an SVG picture with its quiet zone; colours come by the classes.

    name: what somebody is told who cannot see it; no markup.
    """
    rows = modules(text)
    side = len(rows) + 2 * QUIET_MODULES
    path = "".join(
        f"M{start + QUIET_MODULES} {number + QUIET_MODULES}h{length}v1h-{length}z"
        for number, row in enumerate(rows)
        for start, length in _runs(row)
    )
    return (
        f'<svg class="qr" viewBox="0 0 {side} {side}" role="img" aria-label="{name}">'
        f'<rect class="qr-paper" width="{side}" height="{side}"/>'
        f'<path class="qr-ink" shape-rendering="crispEdges" d="{path}"/></svg>'
    )


def _runs(row: tuple[bool, ...]) -> list[tuple[int, int]]:
    """Neighbouring dark modules as one: start and length."""
    runs: list[tuple[int, int]] = []
    for place, dark in enumerate(row):
        if dark and runs and sum(runs[-1]) == place:
            runs[-1] = (runs[-1][0], runs[-1][1] + 1)
        elif dark:
            runs.append((place, 1))
    return runs
