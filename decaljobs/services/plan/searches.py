"""Searches for a plan side by side: one in this process, the others in processes of their own.

Each begins with a seed of its own, and the best plan of all counts: what one search misses by bad
luck another may find.
"""

from __future__ import annotations

import logging
import os
import pickle  # noqa: S403 - it goes between our own processes only
import subprocess  # noqa: S404 - the worker is ours
import sys
from contextlib import suppress
from pathlib import Path

from decaljobs.craft.benchplan import make_plan
from decaljobs.craft.plan.tasks import Plan, PlanInput

WORKER = Path(__file__).with_name("search_worker.py")
#: Searches at most, on as many processors; and the seconds below which one is enough (choices).
MOST_SEARCHES, WORTH_MORE = 4, 1.0
#: Seconds that a process takes to begin, about, and that are waited for one that is not in time.
BEGINNING, PATIENCE = 0.3, 5.0
log = logging.getLogger(__name__)


def searched(
    plan_input: PlanInput,
    *,
    seconds: float,
    iterations: int | None = None,
    start_from: Plan | None = None,
    most: int = MOST_SEARCHES,
) -> Plan:
    """The best plan that ``most`` searches find in so many seconds of wall time.

    The other arguments are those of ``make_plan``. There is a single search where ``iterations``
    are counted, where the time is short, and where there is one processor.
    """
    many = min(most, os.cpu_count() or 1)
    if iterations is not None or seconds < WORTH_MORE:
        many = 1
    others: list[_Search] = []
    try:
        with suppress(OSError):  # where no more processes can begin, those that did are enough
            for seed in range(2, many + 1):
                others.append(_Search(plan_input, start_from, seed, seconds - BEGINNING))
        plans = [
            make_plan(plan_input, seconds=seconds, iterations=iterations, start_from=start_from)
        ]
        plans += filter(None, [other.plan() for other in others])
    finally:
        for other in others:
            other.end()
    return min(plans, key=lambda plan: plan.objective)


class _Search:
    """A search of so many seconds in a process of its own."""

    def __init__(
        self, plan_input: PlanInput, start_from: Plan | None, seed: int, seconds: float
    ) -> None:
        self.process = subprocess.Popen(  # noqa: S603 (our own file, by its full path)
            [sys.executable, "-I", str(WORKER)],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
        )
        asked = {
            "plan_input": plan_input,
            "start_from": start_from,
            "seed": seed,
            "seconds": max(0.0, seconds),
        }
        told, self.process.stdin = self.process.stdin, None
        if told is not None:
            # It reads all that it is asked before it writes, so that neither waits for the other.
            with suppress(BrokenPipeError), told:
                pickle.dump(asked, told)

    def plan(self) -> Plan | None:
        """What it found, or None if it broke off or does not answer soon."""
        with suppress(subprocess.TimeoutExpired):
            answer, _ = self.process.communicate(timeout=PATIENCE)
            if self.process.returncode == 0:
                plan: Plan = pickle.loads(answer)  # noqa: S301 - our own process wrote it
                return plan
        log.warning("a search for a plan in a process of its own broke off")
        return None

    def end(self) -> None:
        with self.process:  # closes what it wrote into, and waits until it is gone
            self.process.kill()
