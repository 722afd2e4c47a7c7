"""Where a piece lies on its sheet. Lengths in mm from the sheet's top left corner, y downwards."""

from __future__ import annotations

from dataclasses import dataclass

#: Corners of a closed line, mm.
Ring = tuple[tuple[float, float], ...]
#: How a piece may lie: by so many degrees turned anticlockwise.
QUARTERS = (0, 90, 180, 270)


@dataclass(frozen=True)
class Place:
    """Where a piece lies: its top left corner and its sides as it lies, mm, and its turn.

    degrees: 0, 90, 180 or 270, anticlockwise as it is seen on the sheet.
    """

    x: float
    y: float
    width: float
    height: float
    degrees: int = 0

    @property
    def right(self) -> float:
        """Its right edge, mm from the left edge of the sheet.

        >>> Place(6, 10, 20, 8).right
        26
        """
        return self.x + self.width

    @property
    def foot(self) -> float:
        """Its lower edge, mm from the top edge of the sheet.

        >>> Place(6, 10, 20, 8).foot
        18
        """
        return self.y + self.height

    @property
    def upright(self) -> tuple[float, float]:
        """Width and height of the picture before it is turned, mm.

        >>> Place(6, 10, 20, 8, degrees=270).upright
        (8, 20)
        """
        return upright(self.width, self.height, self.degrees)

    @property
    def start(self) -> tuple[float, float]:
        """Where the picture's own top left corner has come to lie, mm from the sheet's.

        >>> [Place(6, 10, 20, 8, degrees).start for degrees in QUARTERS]
        [(6, 10), (6, 18), (26, 18), (26, 10)]
        """
        return (
            self.x if self.degrees in (0, 90) else self.right,
            self.y if self.degrees in (0, 270) else self.foot,
        )


def upright(width: float, height: float, degrees: int) -> tuple[float, float]:
    """Width and height, mm, of a picture that takes width × height where it lies turned.

    >>> upright(20, 8, 90)
    (8, 20)
    """
    return (height, width) if degrees in (90, 270) else (width, height)
