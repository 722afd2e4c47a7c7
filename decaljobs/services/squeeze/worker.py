"""Nests outlines read from standard input, and writes every better nesting as a line of JSON.

Run by itself in a process of its own (see lanes.py), never imported by the program: the
library may panic, and may run far beyond its time.
"""

import json
import sys
import threading
import time

LOOK_EVERY = 0.2


def main() -> None:
    import spyrrow

    job = json.load(sys.stdin)
    items = [
        spyrrow.Item(str(number), [tuple(point) for point in outline], copies, degrees)
        for number, (outline, copies, degrees) in enumerate(job["items"])
    ]
    strip = spyrrow.StripPackingInstance("strip", job["width"], items)
    explore = max(1, round(job["seconds"] * job["explore"]))
    config = spyrrow.StripPackingConfig(
        total_computation_time=None,
        exploration_time=explore,
        compression_time=max(1, round(job["seconds"]) - explore),
        num_workers=1,
        seed=job["seed"],
    )
    queue = spyrrow.ProgressQueue()
    solving = threading.Thread(target=strip.solve, args=(config, queue), daemon=True)
    solving.start()
    while solving.is_alive():
        time.sleep(LOOK_EVERY)
        tell(queue.drain())
    tell(queue.drain())


def tell(reports: list) -> None:
    """Write the last of the nestings that hold; those on the way still overlap."""
    from spyrrow import ReportType

    holding = ReportType.ExplFeas, ReportType.CmprFeas, ReportType.Final
    whole = [nesting for kind, nesting in reports if kind in holding]
    if not whole:
        return
    placed = [[int(item.id), item.rotation, *item.translation] for item in whole[-1].placed_items]
    print(json.dumps({"length": whole[-1].width, "placed": placed}), flush=True)


if __name__ == "__main__":
    main()
