"""Why a piece was spoiled, in the trade's words."""

from __future__ import annotations

from enum import StrEnum


class Cause(StrEnum):
    """What went wrong with a piece.

    >>> Cause.CUT_OUTSIDE.words
    'cut outside the outline'
    """

    CUT_OUTSIDE = "cut_outside"
    SLIPPED = "slipped"
    SILVERING = "silvering"
    TORN = "torn"
    BLED = "bled"
    SCRATCHED = "scratched"
    WRONG_COLOUR = "wrong_colour"
    LOST = "lost"
    OTHER = "other"

    @property
    def words(self) -> str:
        """As it is said at the bench."""
        return _WORDS[self]


_WORDS = {
    Cause.CUT_OUTSIDE: "cut outside the outline",
    Cause.SLIPPED: "slipped while it was laid",
    Cause.SILVERING: "bubbles or silvering",
    Cause.TORN: "torn",
    Cause.BLED: "ink bled",
    Cause.SCRATCHED: "scratched",
    Cause.WRONG_COLOUR: "wrong colour",
    Cause.LOST: "lost",
    Cause.OTHER: "something else",
}
