"""All benchmarks, one after the other, and one table of what they reached.

    python -m tests.benchmarks                    # all of them: over an hour
    python -m tests.benchmarks drying bench       # some of them
    python -m tests.benchmarks --table            # run none, only put the table anew

What each reached last is kept in tests/benchmarks/reached.json, with the day and the machine, and
put into README.md between the two marks.
"""

from __future__ import annotations

import os
import platform
import subprocess
import sys
from argparse import ArgumentParser
from datetime import date
from pathlib import Path

from tests.benchmarks.figures import Run, collected, read_runs, table, write_runs
from tests.checkout import TOP

REACHED = Path(__file__).with_name("reached.json")
BEGIN, END = "<!-- figures -->", "<!-- end of figures -->"
DATA = "../shared/data"  # the public instances, which are not the project's own

BENCHMARKS = {
    "drying": "drying",
    "rooms": "rooms",
    "artwork": "measure",
    "clean-edge": "cleanchance",
    "public-layout": f"strip {DATA}/strip --seconds 1 --clock cpu",
    "decal-layout": "strip --decals --seconds 1 --clock cpu",
    "straight-cuts": "strip --decals --straight-cuts --seconds 1 --clock cpu",
    "offcuts": "offcuts --seconds 1",
    "straight-offcuts": "offcuts --seconds 1 --straight-cuts",
    "squeeze": "squeeze --seconds 40",
    "small-plans": "benchplan small",
    "five-projects": "benchplan five",
    "twenty-projects": "benchplan twenty",
    "hundred-projects": "benchplan hundred",
    "one-machine": f"weighted_tardiness {DATA}/wt40/instances.txt {DATA}/wt40/optima.txt",
    # A made-up world that nothing was tuned on.
    "colour-by-eye": "colourtrial --seed 7",
    "colour-by-photo": "colourphotos --photos 1500 --glare 600 --seed 7",
    "bench-page": "bench",
    "plan-page": "planpage",
    "records-page": "records",
    "load": "load",
}


def main() -> int:
    """The command line; 1 if a benchmark broke or fell short."""
    asked = ArgumentParser(description=__doc__.splitlines()[0])
    asked.add_argument("names", nargs="*", metavar="NAME", help=", ".join(BENCHMARKS))
    asked.add_argument("--table", action="store_true", help="run nothing; put the table anew")
    options = asked.parse_args()
    if unknown := set(options.names) - set(BENCHMARKS):
        asked.error(f"no benchmark is called {', '.join(sorted(unknown))}")
    runs = read_runs(REACHED)
    broken = []
    for name in [] if options.table else options.names or BENCHMARKS:
        run = measured(name)
        if run is None:
            broken.append(name)
            continue
        runs[name] = run
        write_runs(REACHED, {known: runs[known] for known in BENCHMARKS if known in runs})
    print(table(runs))
    put_into_readme(runs)
    short = [one.what for run in runs.values() for one in run.figures if one.verdict == "SHORT"]
    for what, which in (("broken", broken), ("short", short)):
        if which:
            print(f"{what}: {'; '.join(which)}")
    return 1 if broken or short else 0


def measured(name: str) -> Run | None:
    """One benchmark in a process of its own, its lines passed on; None if it broke."""
    words = BENCHMARKS[name].split()
    print(f"\n== {name}: {' '.join(words)}", flush=True)
    lines = []
    with (
        subprocess.Popen(  # noqa: S603
            [sys.executable, "-m", f"tests.benchmarks.{words[0]}", *words[1:]],
            cwd=TOP,
            stdout=subprocess.PIPE,
            text=True,
        ) as process
    ):
        for line in process.stdout:
            print(line, end="", flush=True)
            lines.append(line)
    figures = tuple(collected(lines))
    if not figures:
        return None
    return Run(date.today().isoformat(), machine(), figures)


def machine() -> str:
    """The processor, its cores and the Python: what the figures depend on."""
    return f"{os.cpu_count()} cores {platform.machine()}, Python {platform.python_version()}"


def put_into_readme(runs: dict[str, Run]) -> None:
    """The table between the marks in README.md."""
    readme = TOP / "README.md"
    text = readme.read_text(encoding="utf-8")
    before, rest = text.split(BEGIN, 1)
    after = rest.split(END, 1)[1]
    readme.write_text(f"{before}{BEGIN}\n\n{table(runs)}\n\n{END}{after}", encoding="utf-8")


if __name__ == "__main__":
    raise SystemExit(main())
