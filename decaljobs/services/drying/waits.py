"""The waits that steps begin, by the rules in force."""

from __future__ import annotations

from collections.abc import Iterable

from decaljobs.craft.stages import Build, Stage
from decaljobs.craft.waits import Leg, WaitKind, after_step
from decaljobs.models import WaitRule


def rules_of(kinds: Iterable[WaitKind]) -> dict[WaitKind, WaitRule]:
    """The rules in force for these kinds (one query)."""
    rules = WaitRule.objects.filter(kind__in=[kind.value for kind in kinds])
    return {WaitKind(rule.kind): rule for rule in rules}


def legs_after(
    build: Build, stage: Stage, *, overcoat: bool, rules: dict[WaitKind, WaitRule]
) -> list[Leg]:
    """The waits that begin when a decal reaches the stage, under the given rules."""
    return [
        Leg(to=to, kind=kind, terms=rules[kind].terms)
        for to, kind in after_step(build, stage, overcoat=overcoat)
    ]


def single_leg(to: str, kind: WaitKind) -> Leg:
    """One wait under the rule in force (one query)."""
    return Leg(to=to, kind=kind, terms=rules_of([kind])[kind].terms)
