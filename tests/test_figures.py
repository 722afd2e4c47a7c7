"""The figures that benchmarks tell, and the README's table of them."""

import pytest

from tests.benchmarks.__main__ import BEGIN, BENCHMARKS, END, REACHED
from tests.benchmarks.figures import Figure, Run, collected, read_runs, table, tell, write_runs
from tests.checkout import TOP

FOLDER = TOP / "tests" / "benchmarks"
CUT = Figure("cut off the middle", 0.004, "mm", 0.02, 0.005)


def test_it_collects_what_was_told_and_nothing_else(capsys):
    print("some line of a benchmark")
    tell(CUT)
    assert collected(capsys.readouterr().out.splitlines()) == [CUT]


@pytest.mark.parametrize(
    ("reached", "more", "verdict"),
    [
        (0.5, False, "aim met"),
        (1.0, False, "aim met"),
        (1.5, False, "met"),
        (2.1, False, "SHORT"),
        (2.0, True, "met"),
        (1.9, True, "met"),
        (0.9, True, "SHORT"),
        (float("nan"), True, "SHORT"),
    ],
)
def test_it_holds_a_figure_against_what_is_wanted(reached, more, verdict):
    wanted = (1.0, 2.5) if more else (2.0, 1.0)
    assert Figure("some figure", reached, "", *wanted, more=more).verdict == verdict


def test_it_does_not_judge_a_figure_that_nothing_is_wanted_of():
    assert Figure("plain trial and error", 10.0).verdict == ""


def test_it_keeps_runs(tmp_path):
    runs = {"cuts": Run("2026-03-02", "2 cores", (CUT,))}
    write_runs(tmp_path / "reached.json", runs)
    assert read_runs(tmp_path / "reached.json") == runs
    assert read_runs(tmp_path / "none.json") == {}


def test_it_writes_a_table():
    last = table({"cuts": Run("2026-03-02", "2 cores", (CUT,))}).splitlines()[-1]
    assert last == "| cut off the middle | 0.004 mm | ≤ 0.02 | ≤ 0.005 | aim met |"


def test_it_shows_in_the_readme_what_was_reached_last():
    readme = (TOP / "README.md").read_text(encoding="utf-8")
    shown = readme.split(BEGIN)[1].split(END)[0].strip()
    assert shown == table(read_runs(REACHED))


def test_it_runs_every_benchmark_that_tells_a_figure():
    telling = {path.stem for path in FOLDER.glob("*.py") if "tell(Figure(" in path.read_text()}
    assert telling == {words.split()[0] for words in BENCHMARKS.values()}
