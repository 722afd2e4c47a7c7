"""Nests outlines read from standard input, and writes every better nesting as a line of JSON.

Run by itself in a process of its own (see lanes.py), never imported by the program: the
library may panic, and may run far beyond its time. Where outlines are convex, what it nests in a
part of the time is made shorter in the rest.
"""

import json
import sys
import threading
import time
from pathlib import Path

LOOK_EVERY = 0.2


def main() -> None:
    job = json.load(sys.stdin)
    until = time.monotonic() + job["seconds"]
    nesting = nested(job, job["seconds"] * job["nesting"])
    if nesting and job["nesting"] < 1:
        # By its path, for the process knows no other; here, for the nesting is not to wait for it.
        sys.path.insert(0, str(Path(__file__).parents[3]))
        from decaljobs.services.squeeze.shortening import shortened

        shortened(job, nesting, over=lambda: time.monotonic() >= until, better=write)


def nested(job: dict, seconds: float) -> dict | None:
    """What the library found in about that time, or soon after it began."""
    import spyrrow

    items = [
        spyrrow.Item(str(number), [tuple(point) for point in outline], copies, degrees)
        for number, (outline, copies, degrees, _) in enumerate(job["items"])
    ]
    strip = spyrrow.StripPackingInstance("strip", job["width"], items)
    explore = max(1, round(seconds * job["explore"]))
    config = spyrrow.StripPackingConfig(
        total_computation_time=None,
        exploration_time=explore,
        compression_time=max(1, round(seconds) - explore),
        num_workers=1,
        seed=job["seed"],
    )
    queue = spyrrow.ProgressQueue()
    solving = threading.Thread(target=strip.solve, args=(config, queue), daemon=True)
    solving.start()
    until, found = time.monotonic() + seconds, None
    while solving.is_alive() and not (found and time.monotonic() >= until):
        time.sleep(LOOK_EVERY)
        found = tell(queue.drain()) or found
    return tell(queue.drain()) or found


def tell(reports: list) -> dict | None:
    """Write the last of the nestings that hold; those on the way still overlap."""
    from spyrrow import ReportType

    holding = ReportType.ExplFeas, ReportType.CmprFeas, ReportType.Final
    whole = [nesting for kind, nesting in reports if kind in holding]
    if not whole:
        return None
    placed = [[int(item.id), item.rotation, *item.translation] for item in whole[-1].placed_items]
    nesting = {"length": whole[-1].width, "placed": placed}
    write(nesting)
    return nesting


def write(nesting: dict) -> None:
    print(json.dumps(nesting), flush=True)


if __name__ == "__main__":
    main()
