"""Searches for one plan, asked for on standard input and written to standard output.

Run by itself in a process of its own (see searches.py), never imported by the program.
"""

import pickle  # noqa: S403 - only searches.py speaks with it
import sys
from pathlib import Path


def main() -> None:
    # By its path, for the process knows no other.
    sys.path.insert(0, str(Path(__file__).parents[3]))
    from decaljobs.craft.benchplan import make_plan

    asked = pickle.load(sys.stdin.buffer)  # noqa: S301 - our own process wrote it
    pickle.dump(make_plan(**asked), sys.stdout.buffer)


if __name__ == "__main__":
    main()
