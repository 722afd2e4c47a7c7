"""Trials answered by made-up phone photos: how near they come, and what glare does to them.

    python -m tests.benchmarks.colourphotos --printers 50 --paints 30 --photos 1500 --glare 600
    python -m tests.benchmarks.colourphotos --photos 60 --glare 0

A photo takes about a quarter of a second to draw and read, so --photos says with how many trials
it is done, spread over printers and paints; 1500 take some twenty minutes of one processor.
"""

import argparse
import sys
import time
from collections import Counter
from copy import deepcopy
from dataclasses import replace

import numpy as np

from decaljobs.craft.colour import ciede2000
from decaljobs.craft.colourtrial import (
    OUTSIDE,
    first_round,
    forecast,
    next_round,
    photo_answer,
    sheet_of,
)
from decaljobs.craft.photo.load import PhotoRefused, load_photo
from decaljobs.craft.trial.photo import DOUBTFUL, PhotoReading, read_photo
from decaljobs.craft.trial.records import Prediction, Round
from decaljobs.craft.trial.sheet import TrialSheet
from tests.benchmarks.colourcamera import (
    Camera,
    Scene,
    another_shot,
    lay_out,
    make_camera,
    make_glare,
    photograph,
    with_glare,
)
from tests.benchmarks.colourtrial import (
    PAPER,
    Course,
    by_eye,
    measure_beyond,
    say_courses,
    tell_last,
    worlds,
)
from tests.benchmarks.colourworld import Maker, Printer, make_printer, paint_within
from tests.benchmarks.figures import Figure, tell

MOST_RETAKES = 3
WRONG = 2.0  # CIEDE2000 between the answers with and without glare


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
                reading = _read(photograph(scene, sheet, camera, rng), sheet)
            except PhotoRefused:
                self.refused += 1
                continue
            return replace(one, photo=photo_answer(reading))
        return by_eye(one, printer, paint, rng)


def measure_photos(metamerism: float, printers: int, paints: int, most: int, seed: int) -> None:
    """Two rounds by photo, and a third both by eye and by photo."""
    print(f"the camera sees the paint off by {metamerism} (one spread) on each CIELAB axis:")
    shot = ByPhoto(metamerism)
    with_eye: list[Course] = []
    photos_only: list[Course] = []
    for printer, paint, rng in worlds(printers, paints, most, seed):
        rounds: list[Round] = []
        course: Course = []
        one = first_round(Maker().first_guess(paint, rng), PAPER)
        for _ in range(2):
            rounds.append(shot(one, printer, paint, rng))
            course.append(_standing(rounds, printer, paint))
            one = next_round(rounds, PAPER)
        for answer, courses in ((by_eye, with_eye), (shot, photos_only)):
            third = answer(one, printer, paint, deepcopy(rng))
            courses.append([*course, _standing([*rounds, third], printer, paint)])
        if len(with_eye) % 250 == 0:
            _say_both(with_eye, photos_only)
    if len(with_eye) % 250:
        _say_both(with_eye, photos_only)
    tell_last("photo, photo, eye", with_eye, median=(None, None), within=(90, 96))
    tell_last("photos only", photos_only, median=(1.5, 1.2), within=(80, 90))
    print(f"    photos refused: {shot.refused} of {shot.taken}", flush=True)
    measure_beyond(
        "out of gamut, photo, photo, eye", [shot, shot, by_eye], printers, paints, most // 5, seed
    )


def _say_both(with_eye: list[Course], photos_only: list[Course]) -> None:
    say_courses("photo, photo, eye", with_eye)
    say_courses("photos only", photos_only)


def _standing(rounds: list[Round], printer: Printer, paint: np.ndarray) -> tuple[float, Prediction]:
    ahead = forecast(rounds)
    return float(ciede2000(printer.lab(np.array(ahead.rgb)), paint)), ahead


def measure_glare(most: int, seed: int) -> None:
    """Photos with a reflection on patches or paint, or burnt out: refused, doubted, or right?"""
    calm, told = Counter(), Counter()
    silent: list[tuple[float, float]] = []
    for done in range(most):
        rng = np.random.default_rng([23, done, seed])
        printer = make_printer(rng)
        paint = paint_within(printer, rng)
        one = first_round(Maker().first_guess(paint, rng), PAPER)
        sheet = sheet_of(1, one)
        camera = make_camera(rng)
        plain = lay_out(sheet, printer, paint, rng, camera)
        clean = _try(one, plain, sheet, camera, rng)
        calm[_verdict(clean)] += 1
        if clean is None:
            continue
        spoilt = _spoilt(one, plain, sheet, camera, rng, done)
        moved = float(ciede2000(clean.lab, spoilt.lab)) if spoilt else 0.0
        told[f"{_verdict(spoilt)}, {'wrong' if moved > WRONG else 'right'}"] += 1
        if moved > WRONG and _verdict(spoilt) == "taken":
            silent.append((moved, float(ciede2000(printer.lab(np.array(spoilt.rgb)), paint))))
    print(f"photos without glare: {dict(calm)}")
    print(f"the same with glare, or burnt out (wrong is moved by over {WRONG:g}): {dict(told)}")
    for moved, off in silent:
        print(f"    silently moved by {moved:.2f}, and then {off:.2f} off the paint", flush=True)
    _tell_silent(silent, told.total())
    for verdict in ("refused", "doubted"):
        share = 100 * calm[verdict] / calm.total()
        tell(Figure(f"{verdict} of {calm.total()} good photos", share, "%"))


def _tell_silent(silent: list[tuple[float, float]], photos: int) -> None:
    """Answers given without a word of doubt: moved by the spoiling, and wrong by it."""
    wrong = [off for _, off in silent if off > WRONG]
    said = f"of {photos} spoilt photos"
    tell(Figure(f"{said}, answers silently moved by over CIEDE2000 {WRONG:g}", len(silent)))
    tell(Figure(f"{said}, these over {WRONG:g} off the paint: silently wrong", len(wrong), "", 0))


def _verdict(ahead: Prediction | None) -> str:
    if ahead is None:
        return "refused"
    return "doubted" if {DOUBTFUL, OUTSIDE} & set(ahead.remarks) else "taken"


def _spoilt(
    one: Round,
    plain: Scene,
    sheet: TrialSheet,
    camera: Camera,
    rng: np.random.Generator,
    done: int,
) -> Prediction | None:
    """A photo of the scene burnt out, or with a reflection on the paint or on the patches."""
    if done % 4 == 0:
        return _try(one, plain, sheet, replace(camera, exposure=rng.uniform(0.9, 1.5)), rng)
    patch = sheet.layout.patches[int(rng.integers(len(sheet.layout.patches)))]
    glare = make_glare(patch if done % 4 == 1 else sheet.layout.paint, rng)
    return _try(one, with_glare(plain, glare), sheet, camera, rng)


def _try(
    one: Round, scene: Scene, sheet: TrialSheet, camera: Camera, rng: np.random.Generator
) -> Prediction | None:
    try:
        reading = _read(photograph(scene, sheet, camera, rng), sheet)
    except PhotoRefused:
        return None
    return forecast([replace(one, photo=photo_answer(reading))])


def _read(data: bytes, sheet: TrialSheet) -> PhotoReading:
    return read_photo(load_photo(data), sheet)


def measure_sizes(most: int) -> None:
    """The same shots small, as everywhere here, and at 12 megapixels: do they say the same?"""
    errors: dict[int, list[float]] = {960: [], 4000: []}
    for done in range(most):
        for width, kept in errors.items():
            rng = np.random.default_rng([24, done])
            printer = make_printer(rng)
            paint = paint_within(printer, rng)
            one = first_round(Maker().first_guess(paint, rng), PAPER)
            sheet = sheet_of(1, one)
            camera = make_camera(rng, width=width, height=width * 3 // 4)
            scene = lay_out(sheet, printer, paint, rng, camera)
            try:
                reading = _read(photograph(scene, sheet, camera, rng), sheet)
            except PhotoRefused:
                kept.append(float("nan"))
                continue
            truth = printer.lab(np.array(one.colours, dtype=float)) - paint
            near = reading.apart < 10
            kept.append(float(np.median(np.linalg.norm(reading.differences - truth, axis=1)[near])))
    for width, kept in errors.items():
        print(
            f"photos {width} pixels wide: {np.isnan(kept).sum()} of {most} refused, patches near "
            f"the paint off by {np.nanmedian(kept):.2f} (median), {np.nanmax(kept):.2f} (worst)"
        )


def measure_speed() -> None:
    """One photo of 12 megapixels, from bytes to differences."""
    rng = np.random.default_rng(14)
    printer = make_printer(rng)
    paint = paint_within(printer, rng)
    sheet = sheet_of(1, first_round(Maker().first_guess(paint, rng), PAPER))
    camera = make_camera(rng, width=4000, height=3000, turn=0.05)
    data = photograph(lay_out(sheet, printer, paint, rng, camera), sheet, camera, rng)
    taken = []
    for _ in range(5):
        start = time.process_time()
        _read(data, sheet)
        taken.append(time.process_time() - start)
    print(f"one photo of 12 megapixels: {min(taken):.2f} s of processor (best of 5)")
    tell(Figure("one photo of 12 megapixels, worst of 5", max(taken), "s of processor", 2, 1))


def main(words: list[str]) -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--printers", type=int, default=50)
    parser.add_argument("--paints", type=int, default=30)
    parser.add_argument("--photos", type=int, default=60, help="trials done with photos")
    parser.add_argument("--glare", type=int, default=60, help="photos with a reflection")
    parser.add_argument("--metamerism", type=float, default=0.5, help="CIELAB units an axis")
    parser.add_argument("--sizes", type=int, default=10, help="shots drawn small and large")
    parser.add_argument("--seed", type=int, default=0, help="of another made-up world")
    asked = parser.parse_args(words)
    if asked.photos:
        measure_photos(asked.metamerism, asked.printers, asked.paints, asked.photos, asked.seed)
    if asked.glare:
        measure_glare(asked.glare, asked.seed)
    if asked.sizes:
        measure_sizes(asked.sizes)
        measure_speed()


if __name__ == "__main__":
    main(sys.argv[1:])
