"""Lays decals out on film: offcuts first, then whole sheets; or on one endless strip. mm.

The first layout is there at once, better ones follow until the time given is over. One layout
serves the white and the clear film, so that both prints have every piece at the same place.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from decaljobs.craft.layout.beam import ENDLESS
from decaljobs.craft.layout.firstlayout import Fill
from decaljobs.craft.layout.job import Batch, Job
from decaljobs.craft.layout.model import (
    Layout,
    LayoutError,
    Offcut,
    Piece,
    Sheet,
    StripLayout,
    check_fits,
    check_gap,
    check_side,
    checked_pieces,
    gapped_area,
    usable,
)
from decaljobs.craft.layout.search import StripSearch
from decaljobs.craft.layout.sheetfilling import SheetFiller, Wishes

#: Longest search, s (a limit against slips; nothing is gained after minutes).
MOST_SECONDS = 600


def lay_out(
    pieces: Sequence[Piece], sheet: Sheet, *, offcuts: Sequence[Offcut] = (), **wishes: Any
) -> Layout:
    """The best layout, mm, found in the time given; offcuts are filled before a sheet opens.

    pieces: 1 to 10,000 copies; wishes: gap (0 to 20 mm), seconds or iterations, seed,
    straight_cuts, together and clock, see `Wishes`. Equal seed and iterations give an equal
    layout. Raises LayoutError with a sentence for what cannot be laid out.

    >>> layout = lay_out([Piece("roundel", 20, 20, copies=4)], Sheet(60, 80), iterations=1)
    >>> sheet = layout.sheets[0]
    >>> [(placed.x, placed.y) for placed in sheet.placements]
    [(0.0, 0.0), (23.0, 0.0), (0.0, 23.0), (23.0, 23.0)]
    >>> sheet.offcut
    Rest(x=0.0, y=46.0, width=60.0, height=34.0)
    """
    return list(improve(pieces, sheet, offcuts=offcuts, **wishes))[-1]


def improve(
    pieces: Sequence[Piece], sheet: Sheet, *, offcuts: Sequence[Offcut] = (), **wishes: Any
) -> Iterator[Layout]:
    """As `lay_out`, but every layout on the way, mm: the first at once, each with less film.

    Raises LayoutError at once, not with the first layout.

    >>> pieces = [Piece("tail", 30, 12, copies=5), Piece("roundel", 20, 20, copies=3)]
    >>> films = [layout.film_mm2 for layout in improve(pieces, Sheet(100, 150), iterations=3)]
    >>> films == sorted(films, reverse=True)
    True
    """
    asked = _asked(wishes)
    pieces = checked_pieces(pieces)
    width, height = usable(sheet)
    check_gap(asked.gap, min(width, height))
    for offcut in offcuts:
        check_side(offcut.width, f"The width of offcut ‘{offcut.name}’")
        check_side(offcut.height, f"The height of offcut ‘{offcut.name}’")
    check_fits(pieces, width, height, "the sheet")
    return SheetFiller(sheet, offcuts, asked).improved(pieces)


def lay_out_strip(pieces: Sequence[Piece], width: float, **wishes: Any) -> StripLayout:
    """The shortest layout found on an endless strip `width` mm wide; the rest as in `lay_out`.

    >>> lay_out_strip([Piece("bar", 30, 10, copies=3)], 30, gap=2, iterations=1).length
    34.0
    """
    return list(improve_strip(pieces, width, **wishes))[-1]


def improve_strip(pieces: Sequence[Piece], width: float, **wishes: Any) -> Iterator[StripLayout]:
    """As `lay_out_strip`, but every layout on the way, mm, each shorter than the last.

    Raises LayoutError at once, as `improve`.

    >>> pieces = [Piece("tail", 30, 12, copies=5), Piece("roundel", 20, 20, copies=3)]
    >>> lengths = [layout.length for layout in improve_strip(pieces, 60, iterations=3)]
    >>> lengths == sorted(set(lengths), reverse=True)
    True
    """
    asked = _asked(wishes)
    pieces = checked_pieces(pieces)
    check_side(width, "The strip's width")
    check_gap(asked.gap, width)
    check_fits(pieces, width, None, "the strip")
    job = Job(pieces, asked.gap, asked.together)
    batch = job.batch(job.grains(width), ENDLESS, False, range(len(job.kinds)))
    if batch is None:  # cannot be: every piece was checked against the strip
        raise LayoutError("No piece fits the strip.")
    search = StripSearch(
        batch.stock,
        ENDLESS,
        asked.limit(),
        seed=asked.seed,
        straight=asked.straight_cuts,
        together=asked.together,
    )
    return (_strip_layout(batch, fill, width) for fill in search.improved())


def _strip_layout(batch: Batch, fill: Fill, width: float) -> StripLayout:
    gap = batch.job.gap_mm
    placements = batch.placements(fill)
    length = batch.job.mm(fill.top) - gap
    used = (width + gap) * (length + gap)
    return StripLayout(length, placements, gapped_area(placements, gap) / used, width * length)


def _asked(wishes: dict[str, Any]) -> Wishes:
    asked = Wishes(**wishes)
    if not 0 <= asked.seconds <= MOST_SECONDS:
        raise LayoutError(f"{asked.seconds} seconds: 0 to {MOST_SECONDS} can be given.")
    if asked.iterations is not None and asked.iterations < 0:
        raise LayoutError(f"{asked.iterations} iterations: 0 or more can be given.")
    return asked
