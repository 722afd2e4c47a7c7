"""What touch tests propose in place of the reference hours of the wait rules."""

from __future__ import annotations

from dataclasses import dataclass

from decaljobs.craft.waiting.touch_tests import Proposal
from decaljobs.models import WaitRule
from decaljobs.services.bench.touch import proposal_for

#: A figure this close to the rule's own is the same, h.
SAME = 0.05


@dataclass(frozen=True)
class WaitProposal:
    """A rule, and the reference hours that fingers propose for it."""

    rule: WaitRule
    proposal: Proposal


def wait_proposals() -> list[WaitProposal]:
    """The rules for which touch tests propose another figure (two queries a rule)."""
    found = [(rule, proposal_for(rule)) for rule in WaitRule.objects.all()]
    return [
        WaitProposal(rule, proposal)
        for rule, proposal in found
        if proposal is not None and abs(proposal.hours - rule.reference_hours) > SAME
    ]
