"""All that the printed sheet of a colour trial's round says. Lengths in mm."""

from __future__ import annotations

from dataclasses import dataclass

from decaljobs.craft.trial.rounds import FILM_PATCHES
from decaljobs.craft.trial.sheet import TrialSheet

#: Bytes of an address that a QR code of 26 mm still carries in modules of 0.6 mm; version 6,
#: level M: ISO/IEC 18004, table 7.
LONGEST_ADDRESS = 106


@dataclass(frozen=True)
class RoundPaper:
    """One round for printing: its sheet, the trial's name, settings in words and an address.

    address: what the QR code holds, for opening the round on a phone. Raises ValueError for an
    empty address or one of more than 106 bytes.

    >>> from decaljobs.craft.trial.sheet import SheetCode, paper_sheet
    >>> sheet = paper_sheet(SheetCode(12, 2), [(grey, grey, grey) for grey in range(40)])
    >>> RoundPaper(sheet, "Signal grey", "desk printer, plain paper", "T12 R2").title
    'Signal grey, round 2'
    """

    sheet: TrialSheet
    name: str
    settings: str
    address: str
    printed_at: str = ""

    def __post_init__(self) -> None:
        length = len(self.address.encode())
        if not 1 <= length <= LONGEST_ADDRESS:
            raise ValueError(f"an address has from 1 to {LONGEST_ADDRESS} bytes, not {length}")

    @property
    def title(self) -> str:
        """The heading of the sheet."""
        return f"{self.name}, round {self.sheet.code.round}"

    @property
    def on_film(self) -> bool:
        """Whether this is the short strip for film."""
        return len(self.sheet.colours) == FILM_PATCHES
