"""Made-up photos of round sheets, small enough for tests."""

from dataclasses import replace
from functools import lru_cache

import numpy as np

from decaljobs.craft.colour import lab_from_srgb
from decaljobs.craft.colourtrial import first_round, sheet_of
from decaljobs.craft.photo.load import load_photo
from decaljobs.craft.trial.photo import PhotoReading, read_photo
from decaljobs.craft.trial.records import PrintSettings, Round
from decaljobs.craft.trial.sheet import TrialSheet
from tests.benchmarks.colourcamera import Camera, Scene, lay_out, photograph
from tests.benchmarks.colourworld import Printer, make_printer

PAPER = PrintSettings("desk printer")
START = (120, 132, 96)
PAINT = np.array([48.0, -8.0, 20.0])
CAMERA = Camera(width=1280, height=960, gains=(0.9, 1.0, 0.8), noise=0.004, haze=0.001)


@lru_cache(maxsize=1)
def the_round() -> Round:
    return first_round(START, PAPER)


@lru_cache(maxsize=1)
def the_printer() -> Printer:
    return make_printer(np.random.default_rng(8))


@lru_cache(maxsize=1)
def the_scene() -> Scene:
    rng = np.random.default_rng(9)
    return lay_out(sheet_of(12, the_round()), the_printer(), PAINT, rng, CAMERA)


def a_scene(paint: np.ndarray | None = PAINT, **more: object) -> Scene:
    rng = np.random.default_rng(9)
    return lay_out(sheet_of(12, the_round()), the_printer(), paint, rng, CAMERA, **more)


def a_photo(scene: Scene | None = None, **changes: object) -> bytes:
    sheet = sheet_of(12, the_round())
    camera = replace(CAMERA, **changes)
    return photograph(scene or the_scene(), sheet, camera, np.random.default_rng(10))


def photo_of(sheet: TrialSheet, **changes: object) -> bytes:
    """A photo of any round's sheet with the paint on its place."""
    camera = replace(CAMERA, **changes)
    rng = np.random.default_rng(11)
    scene = lay_out(sheet, the_printer(), PAINT, rng, camera)
    return photograph(scene, sheet, camera, rng)


def a_reading(data: bytes) -> PhotoReading:
    return read_photo(load_photo(data), sheet_of(12, the_round()))


def true_differences() -> np.ndarray:
    """CIELAB of the patches as this printer prints them, less the paint's."""
    return the_printer().lab(np.array(the_round().colours, dtype=float)) - PAINT


def start_lab() -> np.ndarray:
    return lab_from_srgb(START)
