"""How near trials come to the paint, on made-up printers, paints, eyes and phone photos.

    python -m tests.benchmarks.colourtrial --printers 50 --paints 30
    python -m tests.benchmarks.colourtrial --printers 5 --paints 4 --photos 20

By eye every printer and paint is tried; photos are drawn one by one, which takes about two
seconds each, so --photos says how many trials are done with them.
"""

import argparse
import sys
import time
from collections.abc import Callable, Iterator
from dataclasses import replace

import numpy as np

from decaljobs.craft.colour import ciede2000
from decaljobs.craft.colourtrial import (
    first_round,
    forecast,
    next_round,
    photo_answer,
    sheet_of,
)
from decaljobs.craft.photoload import PhotoRefused, load_photo
from decaljobs.craft.trialeye import EyeAnswer
from decaljobs.craft.trialphoto import read_photo
from decaljobs.craft.trialrecords import Forecast, PrintSettings, Round
from tests.benchmarks.colourcamera import (
    Camera,
    another_shot,
    lay_out,
    make_camera,
    photograph,
    with_glare,
)
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

PAPER = PrintSettings("made-up printer")
FILM = PrintSettings("made-up printer", material="film")
MOST_RETAKES = 3
Answer = Callable[[Round, Printer, np.ndarray, np.random.Generator], Round]


def by_eye(one: Round, printer: Printer, paint: np.ndarray, rng: np.random.Generator) -> Round:
    maker = Maker()
    seen = printer.prints(np.array(one.colours, dtype=float), rng)
    picks = maker.best_three(seen, paint, rng)
    off = maker.words(seen[picks[0]], paint, rng)
    return replace(one, eye=EyeAnswer(tuple(pick + 1 for pick in picks), off))


class ByPhoto:
    """Answers of one phone: a photo, taken again if refused, and then by eye."""

    def __init__(self, metamerism: float) -> None:
        self.metamerism = metamerism
        self.phone: Camera | None = None
        self.taken = self.refused = 0

    def __call__(
        self, one: Round, printer: Printer, paint: np.ndarray, rng: np.random.Generator
    ) -> Round:
        if one.number == 1 or self.phone is None:
            self.phone = make_camera(rng, self.metamerism)
        sheet = sheet_of(1, one)
        for _ in range(MOST_RETAKES):
            camera = another_shot(self.phone, rng)
            self.taken += 1
            scene = lay_out(sheet, printer, paint, rng, camera)
            try:
                reading = read_photo(load_photo(photograph(scene, sheet, camera, rng)), sheet)
            except PhotoRefused:
                self.refused += 1
                continue
            return replace(one, photo=photo_answer(reading))
        return by_eye(one, printer, paint, rng)


def run_trial(
    printer: Printer, paint: np.ndarray, answers: list[Answer], rng: np.random.Generator
) -> list[tuple[float, Forecast]]:
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


def worlds(printers: int, paints: int) -> Iterator[tuple[Printer, np.ndarray, np.random.Generator]]:
    for first in range(printers):
        printer = make_printer(np.random.default_rng([21, first]))
        for second in range(paints):
            rng = np.random.default_rng([21, first, second])
            yield printer, paint_within(printer, rng), rng


def say(label: str, off: list[float] | np.ndarray) -> None:
    values = np.asarray(off)
    print(
        f"{label:44s} n {len(values):5d}  median {np.median(values):5.2f}  "
        f"within 2 {100 * (values <= 2).mean():5.1f} %  "
        f"nine of ten within {np.quantile(values, 0.9):5.2f}",
        flush=True,
    )


def measure(label: str, answers: list[Answer], printers: int, paints: int, most: int) -> None:
    courses = []
    for done, (printer, paint, rng) in enumerate(worlds(printers, paints)):
        if done == most:
            break
        courses.append(run_trial(printer, paint, answers, rng))
    for number in range(len(answers)):
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


def measure_plain(printers: int, paints: int) -> None:
    say(
        "plain trial and error, after 3 rounds",
        [plain_steps(*world[:2], Maker(), world[2]) for world in worlds(printers, paints)],
    )


def measure_film(printers: int, paints: int) -> None:
    """Two paper rounds by eye, then two film strips by eye."""
    before, after = [], {1: [], 2: []}
    for printer, paint, rng in worlds(printers, paints):
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
    label: str, answers: list[Answer], printers: int, paints: int, most: int
) -> None:
    """Paints that the printer cannot reach: is it said, and how well is the rest known?"""
    told, misjudged, extra = [], [], []
    for done in range(min(most, printers * paints)):
        rng = np.random.default_rng([22, done])
        printer = make_printer(np.random.default_rng([21, done % printers]))
        paint, limit = paint_beyond(printer, rng)
        off, ahead = run_trial(printer, paint, answers, rng)[-1]
        told.append(ahead.edge)
        extra.append(off - limit)
        if ahead.limit is not None:
            misjudged.append(abs(ahead.limit - limit))
    known = f"misjudged by {np.median(misjudged):.2f} (median)" if misjudged else "not measured"
    print(
        f"{label:44s} n {len(told):5d}  told {100 * np.mean(told):5.1f} %  limit {known}  "
        f"worse than the limit by {np.median(extra):.2f}",
        flush=True,
    )


def measure_glare(most: int) -> None:
    """Photos with a reflection on patches or paint, or burnt out: refused, or still right?"""
    refused, silent, right = 0, [], 0
    for done in range(most):
        rng = np.random.default_rng([23, done])
        printer = make_printer(rng)
        paint = paint_within(printer, rng)
        one = first_round(Maker().first_guess(paint, rng), PAPER)
        sheet = sheet_of(1, one)
        camera = make_camera(rng, exposure=1.3) if done % 4 == 0 else make_camera(rng)
        plain = lay_out(sheet, printer, paint, rng, camera)
        spoilt = plain if done % 4 == 0 else _glare(plain, sheet, done, rng)
        try:
            clean = read_photo(_clean(plain, sheet, camera, rng), sheet)
            reading = read_photo(load_photo(photograph(spoilt, sheet, camera, rng)), sheet)
        except PhotoRefused:
            refused += 1
            continue
        calm = forecast([replace(one, photo=photo_answer(clean))]).lab
        ahead = forecast([replace(one, photo=photo_answer(reading))]).lab
        moved = float(ciede2000(calm, ahead))
        right += moved <= 2
        if moved > 2:
            silent.append(moved)
    worst = f", worst {max(silent):.1f}" if silent else ""
    print(
        f"glare or clipping: {most} photos, refused {refused}, answer unmoved (under 2) {right}, "
        f"silently wrong {len(silent)}{worst}",
        flush=True,
    )


def _clean(scene: object, sheet: object, camera: object, rng: np.random.Generator) -> object:
    calm = replace(camera, exposure=min(camera.exposure, 0.8))
    return load_photo(photograph(scene, sheet, calm, rng))


def _glare(scene: object, sheet: object, done: int, rng: np.random.Generator) -> object:
    layout = sheet.layout
    boxes = [layout.paint, layout.patches[9], layout.patches[20]]
    x, y = boxes[done % 4 - 1].centre
    place = (x + rng.normal(0, 6), y + rng.normal(0, 6))
    return with_glare(scene, sheet, place, rng.uniform(5, 40), float(np.exp(rng.uniform(-3.5, 0))))


def measure_speed() -> None:
    """One photo of 12 megapixels, from bytes to differences."""
    rng = np.random.default_rng(14)
    printer = make_printer(rng)
    paint = paint_within(printer, rng)
    sheet = sheet_of(1, first_round(Maker().first_guess(paint, rng), PAPER))
    camera = make_camera(rng, width=4000, height=3000, blur=1.5, turn=0.05)
    data = photograph(lay_out(sheet, printer, paint, rng, camera), sheet, camera, rng)
    taken = []
    for _ in range(5):
        start = time.perf_counter()
        read_photo(load_photo(data), sheet)
        taken.append(time.perf_counter() - start)
    print(f"one photo of 12 megapixels: {min(taken):.2f} s (best of 5), {max(taken):.2f} s (worst)")


def main(words: list[str]) -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--printers", type=int, default=50)
    parser.add_argument("--paints", type=int, default=30)
    parser.add_argument("--photos", type=int, default=60, help="trials done with photos")
    asked = parser.parse_args(words)
    size = asked.printers, asked.paints
    measure_plain(*size)
    measure("by eye", [by_eye] * 3, *size, most=size[0] * size[1])
    measure_film(*size)
    measure_beyond("out of gamut, by eye, 3 rounds", [by_eye] * 3, *size, most=300)
    if asked.photos:
        for metamerism in (0.5, 1.0):
            measure_photos(metamerism, *size, most=asked.photos)
        measure_glare(asked.photos)
        measure_speed()


def measure_photos(metamerism: float, printers: int, paints: int, most: int) -> None:
    print(f"the camera sees the paint off by {metamerism} (one spread) on each CIELAB axis:")
    shot = ByPhoto(metamerism)
    measure("photo, photo, eye", [shot, shot, by_eye], printers, paints, most)
    measure("photos only", [shot] * 3, printers, paints, most)
    measure_beyond("out of gamut, photo, photo", [shot] * 2, printers, paints, most)
    print(f"    photos refused: {shot.refused} of {shot.taken}")


if __name__ == "__main__":
    main(sys.argv[1:])
