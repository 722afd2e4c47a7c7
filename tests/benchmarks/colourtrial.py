"""How near trials by eye come to the paint, on made-up printers, paints and eyes.

    python -m tests.benchmarks.colourtrial --printers 50 --paints 30

Trials by photo: tests.benchmarks.colourphotos.
"""

import argparse
import sys
from collections.abc import Callable, Iterator
from dataclasses import replace

import numpy as np

from decaljobs.craft.colour import ciede2000
from decaljobs.craft.colourtrial import first_round, forecast, next_round
from decaljobs.craft.trial.eye import EyeAnswer
from decaljobs.craft.trial.records import Prediction, PrintSettings, Round
from tests.benchmarks.colourworld import (
    Maker,
    Printer,
    closest,
    make_film,
    make_printer,
    paint_beyond,
    paint_within,
    plain_steps,
)
from tests.benchmarks.figures import Figure, tell

PAPER = PrintSettings("made-up printer")
FILM = PrintSettings("made-up printer", material="film")
Answer = Callable[[Round, Printer, np.ndarray, np.random.Generator], Round]
Course = list[tuple[float, Prediction]]
Wanted = tuple[float | None, float | None]  # at least, and aimed at


def by_eye(one: Round, printer: Printer, paint: np.ndarray, rng: np.random.Generator) -> Round:
    maker = Maker()
    seen = printer.prints(np.array(one.colours, dtype=float), rng)
    picks = maker.best_three(seen, paint, rng)
    off = maker.words(seen[picks[0]], paint, rng)
    return replace(one, eye=EyeAnswer(tuple(pick + 1 for pick in picks), off))


def run_trial(
    printer: Printer, paint: np.ndarray, answers: list[Answer], rng: np.random.Generator
) -> list[tuple[float, Prediction]]:
    """How far off the predicted best prints after each round, and the forecast made."""
    rounds: list[Round] = []
    course = []
    one = first_round(Maker().first_guess(paint, rng), PAPER)
    for answer in answers:
        rounds.append(answer(one, printer, paint, rng))
        ahead = forecast(rounds)
        off = float(ciede2000(printer.lab(np.array(ahead.rgb)), paint))
        course.append((off, ahead))
        one = next_round(rounds, PAPER)
    return course


def worlds(
    printers: int, paints: int, most: int | None = None, seed: int = 0
) -> Iterator[tuple[Printer, np.ndarray, np.random.Generator]]:
    """Printers with paints they can match, in a mixed order; so many at most.

    seed: another one makes other printers and paints, all through these benchmarks.
    """
    order = np.random.default_rng(20).permutation(printers * paints)
    for place in order[:most]:
        first, second = divmod(int(place), paints)
        rng = np.random.default_rng([21, first, second, seed])
        printer = make_printer(np.random.default_rng([21, first, 0, seed]))
        yield printer, paint_within(printer, rng), rng


def say(label: str, off: list[float] | np.ndarray) -> None:
    values = np.asarray(off)
    print(
        f"{label:44s} n {len(values):5d}  median {np.median(values):5.2f}  "
        f"within 2 {100 * (values <= 2).mean():5.1f} %  "
        f"nine of ten within {np.quantile(values, 0.9):5.2f}",
        flush=True,
    )


def measure(label: str, answers: list[Answer], printers: int, paints: int, seed: int) -> None:
    made = worlds(printers, paints, seed=seed)
    courses = [run_trial(*world[:2], answers, world[2]) for world in made]
    say_courses(label, courses)
    tell_last(label, courses, median=(1.3, 0.9), within=(90, 97))


def say_courses(label: str, courses: list[Course]) -> None:
    for number in range(len(courses[0])):
        say(f"{label}, after round {number + 1}", [course[number][0] for course in courses])
    last = [course[-1] for course in courses]
    expected = [ahead.expected for _, ahead in last]
    wrong = np.mean([ahead.edge for _, ahead in last])
    print(f"    expected {np.median(expected):.2f} (median); a limit told wrongly {wrong:.1%}")
    told = [off for off, ahead in last if ahead.found]
    if told:
        print(
            f"    told to be found: {len(told)}, of these within 2 {np.mean(np.less(told, 2)):.1%}"
        )


def tell_last(label: str, courses: list[Course], *, median: Wanted, within: Wanted) -> None:
    """How far off the last round's answers are, against what is wanted at least and aimed at."""
    off = [course[-1][0] for course in courses]
    said = f"{label}, after {len(courses[0])} rounds, {len(off)} trials"
    tell(Figure(f"{said}: median", float(np.median(off)), "CIEDE2000", *median))
    near = 100 * float(np.less_equal(off, 2).mean())
    tell(Figure(f"{said}: within CIEDE2000 2", near, "%", *within, more=True))


def measure_plain(printers: int, paints: int, seed: int) -> None:
    """One patch set a round by fixed steps: what trials are compared with."""
    made = worlds(printers, paints, seed=seed)
    off = [plain_steps(*world[:2], Maker(), world[2]) for world in made]
    say("plain trial and error, after 3 rounds", off)
    near = 100 * float(np.less_equal(off, 2).mean())
    tell(Figure("plain trial and error instead, within CIEDE2000 2", near, "%"))


def measure_film(printers: int, paints: int, seed: int) -> None:
    """Two paper rounds by eye, then two film strips by eye."""
    before, after = [], {1: [], 2: []}
    for printer, paint, rng in worlds(printers, paints, seed=seed):
        film = make_film(printer, rng)
        if closest(film, paint)[0] > 0.5:
            continue
        rounds: list[Round] = []
        one = first_round(Maker().first_guess(paint, rng), PAPER)
        for _ in range(3):
            rounds.append(by_eye(one, printer, paint, rng))
            one = next_round(rounds, PAPER)
        before.append(_off(film, rounds, paint))
        for strip in after:
            rounds.append(by_eye(next_round(rounds, FILM), film, paint, rng))
            after[strip].append(_off(film, rounds, paint))
    say("the paper's winner printed on film", before)
    for strip, off in after.items():
        say(f"after film strip {strip}, by eye", off)


def _off(printer: Printer, rounds: list[Round], paint: np.ndarray) -> float:
    return float(ciede2000(printer.lab(np.array(forecast(rounds).rgb)), paint))


def measure_beyond(
    label: str, answers: list[Answer], printers: int, paints: int, most: int, seed: int
) -> None:
    """Paints that the printer cannot reach: is it said, and how well is the rest known?"""
    told, misjudged, extra = [], [], []
    for done in range(min(most, printers * paints)):
        rng = np.random.default_rng([22, done, seed])
        printer = make_printer(np.random.default_rng([21, done % printers, 0, seed]))
        paint, limit = paint_beyond(printer, rng)
        off, ahead = run_trial(printer, paint, answers, rng)[-1]
        told.append(ahead.edge)
        extra.append(off - limit)
        if ahead.limit is not None:
            misjudged.append(abs(ahead.limit - limit))
    said = f"{label}, limit told, {len(told)} trials"
    tell(Figure(said, 100 * float(np.mean(told)), "%", 90, 98, more=True))
    known = f"misjudged by {np.median(misjudged):.2f} (median)" if misjudged else "not measured"
    print(
        f"{label:44s} n {len(told):5d}  told {100 * np.mean(told):5.1f} %  limit {known}  "
        f"worse than the limit by {np.median(extra):.2f}",
        flush=True,
    )


def main(words: list[str]) -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--printers", type=int, default=50)
    parser.add_argument("--paints", type=int, default=30)
    parser.add_argument("--seed", type=int, default=0, help="of another made-up world")
    asked = parser.parse_args(words)
    size, seed = (asked.printers, asked.paints), asked.seed
    measure_plain(*size, seed)
    measure("by eye", [by_eye] * 3, *size, seed)
    measure_film(*size, seed)
    measure_beyond("out of gamut, by eye, 3 rounds", [by_eye] * 3, *size, size[0] * size[1], seed)


if __name__ == "__main__":
    main(sys.argv[1:])
