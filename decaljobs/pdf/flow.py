"""Blocks one below the other, and their division into pages. Heights in mm."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace

from decaljobs.pdf.pen import Pen


@dataclass(frozen=True)
class Block:
    """Something of a height that draws itself from a top downwards.

    with_next: never the last thing on a page. gap: white space before it, which
    falls away at the top of a page. again: what is said at the top of a page
    that begins with this block.
    """

    height: float
    draw: Callable[[Pen, float], None]
    with_next: bool = False
    gap: float = 0.0
    again: Block | None = None


def kept_whole(blocks: Sequence[Block], room: float) -> Iterator[Block]:
    """The blocks so that no page parts them, where a page of that room can hold them all."""
    whole = _height([*blocks], first=True) <= room
    for block in blocks[:-1]:
        yield replace(block, with_next=True) if whole else block
    yield from blocks[-1:]


def paginate(blocks: Sequence[Block], room: float) -> list[list[Block]]:
    """The blocks divided into pages of a room, mm; at least one page.

    Raises ValueError for a block that no page can hold.
    """
    pages: list[list[Block]] = [[]]
    used = 0.0
    for chain in _chains(blocks, room):
        needed = _height(chain, first=not pages[-1])
        if pages[-1] and used + needed > room:
            pages.append([])
            used = 0.0
            needed = _height(chain, first=True)
        if needed > room:
            raise ValueError(f"A block of {needed:.0f} mm does not fit in {room:.0f} mm.")
        if not pages[-1] and chain[0].again:
            pages[-1].append(chain[0].again)
        pages[-1] += chain
        used += needed
    return pages


def draw_page(pen: Pen, page: Sequence[Block], top: float) -> None:
    """Draw the blocks of one page from a top downwards."""
    for number, block in enumerate(page):
        top += block.gap if number else 0.0
        block.draw(pen, top)
        top += block.height


def _chains(blocks: Sequence[Block], room: float) -> list[list[Block]]:
    """Blocks that stay together; a chain that no page could hold is let go of."""
    chains: list[list[Block]] = [[]]
    for block in blocks:
        if chains[-1] and not chains[-1][-1].with_next:
            chains.append([])
        if chains[-1] and _height([*chains[-1], block], first=True) > room:
            chains.append([])
        chains[-1].append(block)
    return [chain for chain in chains if chain]


def _height(chain: Sequence[Block], *, first: bool) -> float:
    gaps = sum(block.gap for block in chain) - (chain[0].gap if first else 0.0)
    again = chain[0].again
    repeated = again.height + chain[0].gap if first and again else 0.0
    return sum(block.height for block in chain) + gaps + repeated
