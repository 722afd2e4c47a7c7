"""What a quote tells a customer."""

from __future__ import annotations

from dataclasses import dataclass

from decaljobs.craft.stores.cost import Cost


@dataclass(frozen=True)
class Quote:
    """A project's expected cost, for whom, of when, and for which decals."""

    code: str
    name: str
    customer: str
    date: str
    decals: tuple[str, ...]
    cost: Cost
