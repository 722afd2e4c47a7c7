"""What the paper slip says that goes with a sheet of film."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class SheetSlip:
    """A sheet's code, the address of its page, facts about it, and what lies on it.

    pieces: the words for each marking, and how many good copies of it are left (0 or more).
    """

    code: str
    address: str
    written: str
    facts: tuple[str, ...]
    pieces: tuple[tuple[str, int], ...]
