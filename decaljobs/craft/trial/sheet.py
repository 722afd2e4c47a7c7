"""Where everything stands on a trial sheet: patches, marks, ramp, paint place and code, in mm.

All places are counted from the upper left corner of the frame that the corner marks span, x to
the right and y down. The same figures draw the paper and find the patches in a photo.
"""

import binascii
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

from decaljobs.craft.colour import Colour
from decaljobs.craft.trial.rounds import FILM_PATCHES, PAPER_PATCHES

# Lengths in mm, chosen for this sheet.
FRAME_WIDTH = 180.0
MARK = 9.0
MARK_HOLE = 4.5
ORIENTATION_X = 14.0
PATCH = 12.0
PITCH_X = 15.5
PITCH_Y = 17.0
GRID_X = 4.0
GRID_Y = 13.0
COLUMNS = 8
RAMP_STEP = 12.4
RAMP_SIZE = 9.0
QR_SIZE = 26.0
DOT_PITCH = 4.0
DOT = 1.2
CODE_CELL = 3.8
CODE_HEIGHT = 5.0
CODE_X = 14.0
INK = 4.6
INKS_ABOVE = (25.5, 128.0)

# Grey file values of the ramp, sRGB 0 to 255.
RAMP = (0, 36, 73, 109, 146, 182, 219)

TRIAL_BITS, ROUND_BITS = 18, 6
CODE_BITS = 40


@dataclass(frozen=True)
class Box:
    """A rectangle on the sheet, mm from the frame's upper left corner."""

    x: float
    y: float
    width: float
    height: float

    @property
    def centre(self) -> tuple[float, float]:
        """Its middle, mm from the frame's upper left corner."""
        return self.x + self.width / 2, self.y + self.height / 2

    def shrunk(self, share: float) -> "Box":
        """The middle of the box, so many times as wide and high."""
        left = self.x + self.width * (1 - share) / 2
        top = self.y + self.height * (1 - share) / 2
        return Box(left, top, self.width * share, self.height * share)


@dataclass(frozen=True)
class SheetCode:
    """Which sheet this is: trial 1 to 262143 and round 1 to 63.

    Raises ValueError outside that range.

    >>> str(SheetCode(12, 2))
    'T12 R2'
    """

    trial: int
    round: int

    def __post_init__(self) -> None:
        if not 1 <= self.trial < 1 << TRIAL_BITS:
            raise ValueError(f"a trial's number lies from 1 to {(1 << TRIAL_BITS) - 1}")
        if not 1 <= self.round < 1 << ROUND_BITS:
            raise ValueError(f"a round's number lies from 1 to {(1 << ROUND_BITS) - 1}")

    def __str__(self) -> str:
        return f"T{self.trial} R{self.round}"


@dataclass(frozen=True)
class SheetPlaces:
    """The places of one kind of sheet, mm.

    Bare paper is at papers (outlined), gaps (beside the patches, one more a row than patches) and
    rims (round the paint place); full ink at inks (beside the paint place, two far from it), for
    mirrored light shows on black before it shows on anything else.
    """

    height: float
    patches: tuple[Box, ...]
    ramp: tuple[Box, ...]
    papers: tuple[Box, ...]
    gaps: tuple[Box, ...]
    rims: tuple[Box, ...]
    inks: tuple[Box, ...]
    paint: Box
    qr: Box

    @property
    def corners(self) -> tuple[Box, Box, Box, Box]:
        """Corner marks: upper left, upper right, lower right, lower left."""
        right, low = FRAME_WIDTH - MARK, self.height - MARK
        places = ((0.0, 0.0), (right, 0.0), (right, low), (0.0, low))
        one, two, three, four = (Box(x, y, MARK, MARK) for x, y in places)
        return one, two, three, four

    @property
    def orientation(self) -> Box:
        """The fifth mark, beside the upper left one."""
        return Box(ORIENTATION_X, 0.0, MARK, MARK)

    @property
    def code_cells(self) -> tuple[Box, ...]:
        """The 40 cells of the code strip, from the left."""
        top = self.height - MARK / 2 - CODE_HEIGHT / 2
        return tuple(
            Box(CODE_X + CODE_CELL * place, top, CODE_CELL, CODE_HEIGHT)
            for place in range(CODE_BITS)
        )

    @cached_property
    def dots(self) -> tuple[tuple[float, float], ...]:
        """Middles of the grey dots of the paint place: seen where no paint covers them."""
        columns, rows = self.dot_grid
        return tuple(
            (self.paint.x + DOT_PITCH * (column + 0.5), self.paint.y + DOT_PITCH * (row + 0.5))
            for row in range(rows)
            for column in range(columns)
        )

    @property
    def dot_grid(self) -> tuple[int, int]:
        """Columns and rows of dots."""
        return int(self.paint.width // DOT_PITCH), int(self.paint.height // DOT_PITCH)


@dataclass(frozen=True)
class TrialSheet:
    """One round as it is printed: its code, its colours (patch 1 first) and its layout.

    Raises ValueError unless there is a colour for each patch.
    """

    code: SheetCode
    colours: tuple[Colour, ...]
    layout: SheetPlaces

    def __post_init__(self) -> None:
        if len(self.colours) != len(self.layout.patches):
            raise ValueError(
                f"this sheet has {len(self.layout.patches)} patches, not {len(self.colours)}"
            )

    @property
    def bits(self) -> tuple[int, ...]:
        """The 40 cells of the code, 1 is inked: number, its check, a check of the colours."""
        number = self.code.trial << ROUND_BITS | self.code.round
        inked = number << 16 | _check(number.to_bytes(3, "big")) << 8 | _check(_flat(self.colours))
        return tuple(inked >> (CODE_BITS - 1 - place) & 1 for place in range(CODE_BITS))


def paper_sheet(code: SheetCode, colours: Sequence[Colour]) -> TrialSheet:
    """A round on paper: 40 patches on half a page, 180 x 120 mm.

    Raises ValueError unless there are 40 colours.

    >>> sheet = paper_sheet(SheetCode(12, 2), [(120, 120, 120)] * 40)
    >>> sheet.layout.height, sheet.layout.patches[0]
    (120.0, Box(x=4.0, y=13.0, width=12.0, height=12.0))
    """
    return TrialSheet(code, tuple(colours), PAPER_LAYOUT)


def film_sheet(code: SheetCode, colours: Sequence[Colour]) -> TrialSheet:
    """A strip on film: 24 patches, 180 x 86 mm. Raises ValueError unless there are 24 colours.

    >>> film_sheet(SheetCode(12, 3), [(120, 120, 120)] * 24).layout.height
    86.0
    >>> film_sheet(SheetCode(12, 3), [(120, 120, 120)] * 40)
    Traceback (most recent call last):
    ValueError: this sheet has 24 patches, not 40
    """
    return TrialSheet(code, tuple(colours), FILM_LAYOUT)


def code_of_bits(bits: Sequence[int]) -> SheetCode | None:
    """The sheet code that 40 cells (1 is inked) hold, or None where its check fails.

    >>> bits = film_sheet(SheetCode(12, 3), [(120, 120, 120)] * 24).bits
    >>> str(code_of_bits(bits)), code_of_bits((1 - bits[0], *bits[1:]))
    ('T12 R3', None)
    """
    inked = 0
    for bit in bits:
        inked = inked << 1 | int(bit)
    number, check = inked >> 16, inked >> 8 & 0xFF
    if _check(number.to_bytes(3, "big")) != check:
        return None
    trial, round_number = number >> ROUND_BITS, number & ((1 << ROUND_BITS) - 1)
    return SheetCode(trial, round_number) if trial and round_number else None


def _check(data: bytes) -> int:
    """Eight bits of the CRC of ITU-T V.41 that the standard library has."""
    return binascii.crc_hqx(data, 0x1D0F) & 0xFF


def _flat(colours: Sequence[Colour]) -> bytes:
    return bytes(value for colour in colours for value in colour)


def _grid(rows: int) -> tuple[Box, ...]:
    return tuple(
        Box(GRID_X + PITCH_X * column, GRID_Y + PITCH_Y * row, PATCH, PATCH)
        for row in range(rows)
        for column in range(COLUMNS)
    )


def _gaps(rows: int) -> tuple[Box, ...]:
    """Bare paper between the columns, and before the first and after the last."""
    spare = PITCH_X - PATCH
    return tuple(
        Box(
            GRID_X + PITCH_X * column - spare / 2 - 0.6,
            GRID_Y + PITCH_Y * row + 2.0,
            1.2,
            PATCH - 4.0,
        )
        for row in range(rows)
        for column in range(COLUMNS + 1)
    )


def _ramp_row(top: float) -> list[Box]:
    return [
        Box(GRID_X + RAMP_STEP * place, top, RAMP_SIZE, RAMP_SIZE) for place in range(len(RAMP) + 3)
    ]


def _beside(paint: Box, steps: int) -> tuple[Box, ...]:
    """Bare paper left and right of the paint place and above and below it."""
    down = [paint.y + paint.height * (place + 0.5) / steps for place in range(steps)]
    across = [paint.x + paint.width * (place + 0.5) / steps for place in range(steps)]
    sides = [Box(x - 0.6, y - 1.5, 1.2, 3.0) for y in down for x in _either_side(paint)]
    ends = [Box(x - 1.5, paint.y + paint.height + 1.6, 3.0, 1.2) for x in across]
    return tuple(sides + ends)


def _inks(paint: Box) -> tuple[Box, ...]:
    """Black squares between the rims on either side of the paint place, and two at the top."""
    # The lowest keeps clear of the corner mark below.
    down = (0.0, paint.height / 3, paint.height * 2 / 3, paint.height - 1.9)
    sides = (paint.x - 1.0 - INK, paint.x + paint.width + 1.0)
    return (
        *(Box(x, paint.y + middle - INK / 2, INK, INK) for middle in down for x in sides),
        *(Box(x, (MARK - INK) / 2, INK, INK) for x in INKS_ABOVE),
    )


def _either_side(paint: Box) -> tuple[float, float]:
    return paint.x - 2.5, paint.x + paint.width + 2.5


def _layout(rows: int, height: float, paint: Box, qr: Box, more: tuple[float, ...]) -> SheetPlaces:
    row = _ramp_row(GRID_Y + PITCH_Y * rows + 1.0)
    bare = [row[0], row[4], row[9], *(Box(x, row[0].y, RAMP_SIZE, RAMP_SIZE) for x in more)]
    return SheetPlaces(
        height=height,
        patches=_grid(rows),
        ramp=(*row[1:4], *row[5:9]),
        papers=tuple(bare),
        gaps=_gaps(rows),
        rims=_beside(paint, 3),
        inks=_inks(paint),
        paint=paint,
        qr=qr,
    )


PAPER_LAYOUT = _layout(
    rows=PAPER_PATCHES // COLUMNS,
    height=120.0,
    paint=Box(134.0, 50.0, 40.0, 44.0),
    qr=Box(141.0, 13.5, QR_SIZE, QR_SIZE),
    more=(136.0, 158.0),
)
FILM_LAYOUT = _layout(
    rows=FILM_PATCHES // COLUMNS,
    height=86.0,
    paint=Box(136.0, 37.0, 36.0, 36.0),
    qr=Box(138.0, 2.0, QR_SIZE, QR_SIZE),
    more=(),
)
