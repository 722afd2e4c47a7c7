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
import time
from contextlib import suppress
from pathlib import Path

from decaljobs.craft.benchplan import make_plan
from decaljobs.craft.plan.tasks import Plan, PlanInput

WORKER = Path(__file__).with_name("search_worker.py")
#: Searches at most, on as many processors; and the seconds below which one is enough, since a
#: process takes some tenths of one to begin (choices).
MOST_SEARCHES, WORTH_MORE = 4, 1.0
#: Seconds that are waited for a plan that does not come in time.
PATIENCE = 5.0
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
    until = time.time() + seconds
    others = [_Search(plan_input, start_from, seed, until) for seed in range(2, many + 1)]
    try:
        plans = [
            make_plan(plan_input, seconds=seconds, iterations=iterations, start_from=start_from)
        ]
        plans += filter(None, [other.plan(until + PATIENCE) for other in others])
    finally:
        for other in others:
            other.end()
    return min(plans, key=lambda plan: plan.objective)


class _Search:
    """A search in a process of its own, until a moment of ``time.time``."""

    def __init__(
        self, plan_input: PlanInput, start_from: Plan | None, seed: int, until: float
    ) -> None:
        self.process = subprocess.Popen(  # noqa: S603 (our own file, by its full path)
            [sys.executable, "-I", str(WORKER)],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
        )
        asked = {"plan_input": plan_input, "start_from": start_from, "seed": seed}
        told, self.process.stdin = self.process.stdin, None
        if told is not None:
            # It reads all that it is asked before it writes, so that neither waits for the other.
            with suppress(BrokenPipeError), told:
                pickle.dump((asked, until), told)

    def plan(self, until: float) -> Plan | None:
        """What it found, or None if it broke off or has not answered by then."""
        with suppress(subprocess.TimeoutExpired):
            answer, _ = self.process.communicate(timeout=max(0.0, until - time.time()))
            if self.process.returncode == 0:
                plan: Plan = pickle.loads(answer)  # noqa: S301 - our own process wrote it
                return plan
        log.warning("a search for a plan in a process of its own broke off")
        return None

    def end(self) -> None:
        with self.process:  # closes what it wrote into, and waits until it is gone
            self.process.kill()
