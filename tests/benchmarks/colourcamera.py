"""Made-up phone photos of trial sheets: the sheet is drawn, lit, seen askew, and kept as JPEG.

The camera has its own white balance, exposure, colour crosstalk, tone curve, lens distortion,
blur and noise; the light falls off in a way that is not quite quadratic; the paint is a glossy
part laid askew on its place, and the camera sees it a little off (metamerism).
"""

import io
from dataclasses import dataclass, replace

import numpy as np
from PIL import Image
from scipy import ndimage

from decaljobs.craft.colour import linear_from_lab, linear_to_srgb
from decaljobs.craft.photomarks import project, solve_perspective
from decaljobs.craft.trialsheet import DOT, FRAME_WIDTH, MARK_HOLE, RAMP, Box, TrialSheet
from tests.benchmarks.colourworld import Printer

SCALE = 6  # pixels of the drawing per mm
MARGIN = 14.0  # bare paper round the frame, mm
DESK = 30.0  # what is drawn of the desk, mm


@dataclass(frozen=True)
class Camera:
    """A phone camera and the way a photo is taken with it."""

    width: int = 1600
    height: int = 1200
    gains: tuple[float, float, float] = (1.0, 1.0, 1.0)
    leak: float = 0.05
    exposure: float = 0.75  # linear value of white paper
    contrast: float = 0.0  # strength of an S-curve on the encoded values
    distortion: float = 0.0  # of the radius at the picture's corner
    blur: float = 0.8  # pixels
    noise: float = 0.006
    quality: int = 88
    tilt: float = 0.08
    turn: float = 0.1  # radians
    fill: float = 0.85  # share of the picture's width that the sheet takes
    fall: tuple[float, float] = (0.12, 0.05)  # of the light across and down
    ripple: float = 0.01
    shift: tuple[float, float, float] = (0.0, 0.0, 0.0)  # metamerism: CIELAB of the paint as seen
    haze: float = 0.002  # light mirrored evenly by the paint


def make_camera(rng: np.random.Generator, metamerism: float = 0.5, **fixed: object) -> Camera:
    """A phone and its first shot; metamerism in CIELAB units per axis."""
    phone = Camera(
        leak=rng.uniform(0.0, 0.1),
        contrast=rng.uniform(-0.05, 0.15),
        distortion=rng.uniform(-0.004, 0.004),
        shift=tuple(rng.normal(0, metamerism, 3)),
        haze=rng.uniform(0.0, 0.004),
    )
    return replace(another_shot(phone, rng), **fixed)


def another_shot(phone: Camera, rng: np.random.Generator) -> Camera:
    """The same phone and paint in another light and from another side."""
    return replace(
        phone,
        gains=tuple(rng.uniform(0.8, 1.0, 3)),
        exposure=rng.uniform(0.5, 0.85),
        blur=rng.uniform(0.5, 1.4),
        noise=rng.uniform(0.003, 0.01),
        quality=int(rng.integers(80, 95)),
        tilt=rng.uniform(0.0, 0.15),
        turn=rng.normal(0, 0.12) + np.pi * int(rng.random() < 0.2),
        fill=rng.uniform(0.72, 0.88),
        fall=tuple(rng.uniform(-0.2, 0.2, 2)),
        ripple=rng.uniform(0.0, 0.015),
    )


@dataclass(frozen=True)
class Scene:
    """What lies before the camera: linear light, and a layer of mirrored light on top."""

    light: np.ndarray
    mirrored: np.ndarray


def lay_out(
    sheet: TrialSheet,
    printer: Printer,
    paint: np.ndarray | None,
    rng: np.random.Generator,
    camera: Camera,
    part: tuple[float, float] = (34.0, 30.0),
) -> Scene:
    """A printed sheet on a desk with a painted part of so many mm on its place."""
    height = int(SCALE * (sheet.layout.height + 2 * (MARGIN + DESK)))
    width = int(SCALE * (FRAME_WIDTH + 2 * (MARGIN + DESK)))
    light = np.empty((height, width, 3), dtype=np.float32)
    light[:] = rng.uniform(0.03, 0.5, 3)
    mirrored = np.zeros((height, width, 1), dtype=np.float32)
    bare = printer.light(np.full(3, 255.0))
    whole = Box(-MARGIN, -MARGIN, FRAME_WIDTH + 2 * MARGIN, sheet.layout.height + 2 * MARGIN)
    _fill(light, whole, bare)
    _draw_sheet(light, sheet, printer, rng)
    if paint is not None:
        colour = np.clip(linear_from_lab(paint + np.array(camera.shift)), 0.0, 1.0)
        _lay_part(light, mirrored, sheet.layout.paint, part, colour, camera, rng)
    return Scene(light, mirrored)


def photograph(scene: Scene, sheet: TrialSheet, camera: Camera, rng: np.random.Generator) -> bytes:
    """A JPEG of the scene."""
    places = _view(sheet, camera)
    height, width = camera.height, camera.width
    seen = np.stack([_look(scene.light[..., layer], places) for layer in range(3)], axis=-1)
    lit = seen * _light(places, sheet, camera)[..., None]
    lit += _look(scene.mirrored[..., 0], places)[..., None]
    leak = np.full((3, 3), camera.leak / 2)
    np.fill_diagonal(leak, 1 - camera.leak)
    raw = (lit * np.array(camera.gains)) @ leak.T
    raw = (raw * camera.exposure / 0.88).reshape(height, width, 3)
    raw = ndimage.gaussian_filter(raw, (camera.blur, camera.blur, 0))
    raw += (
        rng.standard_normal(raw.shape, dtype=np.float32)
        * camera.noise
        * np.sqrt(np.maximum(raw, 0.01))
    )
    encoded = linear_to_srgb(np.clip(raw, 0, 1)) / 255
    # A smooth S that leaves black, middle and white where they are.
    encoded -= camera.contrast * np.sin(2 * np.pi * encoded) / (2 * np.pi)
    picture = np.clip(np.rint(encoded * 255), 0, 255).astype(np.uint8)
    kept = io.BytesIO()
    Image.fromarray(picture).save(kept, "JPEG", quality=camera.quality)
    return kept.getvalue()


def with_glare(
    scene: Scene, sheet: TrialSheet, place: tuple[float, float], reach: float, strength: float
) -> Scene:
    """The scene with a round soft reflection at a place of the sheet, mm.

    The painted part is glossy; paper and print mirror less than half as much.
    """
    rows = np.arange(scene.mirrored.shape[0], dtype=np.float32)[:, None]
    columns = np.arange(scene.mirrored.shape[1], dtype=np.float32)[None]
    away = ((columns - _pixel(place[0])) ** 2 + (rows - _pixel(place[1])) ** 2) / (
        SCALE * reach
    ) ** 2
    light = (0.4 * strength * np.exp(-away))[..., None]
    box = sheet.layout.paint
    light[
        _pixel(box.y) : _pixel(box.y + box.height), _pixel(box.x) : _pixel(box.x + box.width)
    ] *= 2.5
    return Scene(scene.light, scene.mirrored + light)


def _pixel(mm: float) -> int:
    return int(round(SCALE * (mm + MARGIN + DESK)))


def _fill(light: np.ndarray, box: Box, colour: np.ndarray) -> None:
    left, top = _pixel(box.x), _pixel(box.y)
    right, low = _pixel(box.x + box.width), _pixel(box.y + box.height)
    light[top:low, left:right] = colour


def _disc(light: np.ndarray, place: tuple[float, float], size: float, colour: np.ndarray) -> None:
    x, y, reach = _pixel(place[0]), _pixel(place[1]), int(SCALE * size / 2) + 1
    rows, columns = np.indices((2 * reach + 1, 2 * reach + 1)) - reach
    inside = np.hypot(rows, columns) <= SCALE * size / 2
    light[y - reach : y + reach + 1, x - reach : x + reach + 1][inside] = colour


def _draw_sheet(
    light: np.ndarray, sheet: TrialSheet, printer: Printer, rng: np.random.Generator
) -> None:
    layout = sheet.layout
    bare, ink = printer.light(np.full(3, 255.0)), printer.light(np.zeros(3))
    for box in (*layout.corners, layout.orientation):
        _fill(light, box, ink)
        _disc(light, box.centre, MARK_HOLE, bare)
    printed = printer.prints(np.array(sheet.colours, dtype=float), rng)
    for box, lab in zip(layout.patches, printed, strict=True):
        _fill(light, box, np.clip(linear_from_lab(lab), 0, 1))
        _fill(light, Box(box.x + 4, box.y + 12.8, 1.2, 2.6), ink)
        _fill(light, Box(box.x + 6, box.y + 12.8, 1.8, 2.6), ink)
    for box, grey in zip(layout.ramp, RAMP, strict=True):
        _fill(light, box, printer.light(np.full(3, float(grey))))
    for bit, box in zip(sheet.bits, layout.code_cells, strict=True):
        if bit:
            _fill(light, box, ink)
    for dot in layout.dots:
        _disc(light, dot, DOT, printer.light(np.full(3, 90.0)))
    _draw_noise_boxes(light, layout.qr, ink, rng)


def _draw_noise_boxes(
    light: np.ndarray, box: Box, ink: np.ndarray, rng: np.random.Generator
) -> None:
    """Something like a QR code: random modules with the three square rings."""
    size = box.width / 25
    for row in range(25):
        for column in range(25):
            if rng.random() < 0.5:
                place = Box(box.x + column * size, box.y + row * size, size, size)
                _fill(light, place, ink)
    for x, y in ((0, 0), (18, 0), (0, 18)):
        corner = Box(box.x + x * size, box.y + y * size, 7 * size, 7 * size)
        _fill(light, corner, ink)
        _fill(light, corner.shrunk(5 / 7), np.full(3, 0.9))
        _fill(light, corner.shrunk(3 / 7), ink)


def _lay_part(
    light: np.ndarray,
    mirrored: np.ndarray,
    place: Box,
    part: tuple[float, float],
    colour: np.ndarray,
    camera: Camera,
    rng: np.random.Generator,
) -> None:
    turn = rng.normal(0, 0.12)
    middle = np.array(place.centre) + rng.normal(0, 1.5, 2)
    top, left = _pixel(place.y - 8), _pixel(place.x - 8)
    low, right = _pixel(place.y + place.height + 8), _pixel(place.x + place.width + 8)
    rows, columns = np.indices((low - top, right - left)).astype(float)
    x = (columns + left) / SCALE - MARGIN - DESK - middle[0]
    y = (rows + top) / SCALE - MARGIN - DESK - middle[1]
    across = np.cos(turn) * x + np.sin(turn) * y
    down = -np.sin(turn) * x + np.cos(turn) * y
    aside = np.maximum(np.abs(across) - part[0] / 2, np.abs(down) - part[1] / 2)
    area = light[top:low, left:right]
    area *= (1 - 0.35 * np.exp(-np.maximum(aside, 0) / 0.8))[..., None]
    inside = aside <= 0
    area[inside] = colour
    sheen = camera.haze * (1 + 0.5 * across / part[0])
    mirrored[top:low, left:right, 0][inside] += sheen[inside]


def _view(sheet: TrialSheet, camera: Camera) -> np.ndarray:
    """For each picture pixel the place on the sheet, mm (pixels, 2)."""
    w, h = FRAME_WIDTH, sheet.layout.height
    corners = np.array([[0, 0], [w, 0], [w, h], [0, h]])
    span = camera.fill * camera.width / w
    centred = (corners - [w / 2, h / 2]) * span
    centred[:2] *= 1 - camera.tilt
    centred[1:3, 1] *= 1 - camera.tilt / 2
    cos, sin = np.cos(camera.turn), np.sin(camera.turn)
    turned = centred @ np.array([[cos, sin], [-sin, cos]])
    turned += [camera.width / 2, camera.height / 2]
    back = solve_perspective(turned, corners)
    y, x = np.indices((camera.height, camera.width), dtype=np.float64)
    dx, dy = x - camera.width / 2, y - camera.height / 2
    radius = (dx**2 + dy**2) / ((camera.width / 2) ** 2 + (camera.height / 2) ** 2)
    bend = 1 + camera.distortion * radius
    pixels = np.stack(
        [camera.width / 2 + dx * bend, camera.height / 2 + dy * bend], axis=-1
    ).reshape(-1, 2)
    return project(back, pixels)


def _look(layer: np.ndarray, places: np.ndarray) -> np.ndarray:
    rows = SCALE * (places[:, 1] + MARGIN + DESK) - 0.5
    columns = SCALE * (places[:, 0] + MARGIN + DESK) - 0.5
    return ndimage.map_coordinates(layer, (rows, columns), order=1, mode="nearest")


def _light(places: np.ndarray, sheet: TrialSheet, camera: Camera) -> np.ndarray:
    x = places[:, 0] / FRAME_WIDTH - 0.5
    y = places[:, 1] / sheet.layout.height - 0.5
    smooth = (1 + camera.fall[0] * x + camera.fall[1] * y) / (1 + 0.15 * (x**2 + y**2))
    return smooth * (1 + camera.ripple * np.sin(6 * x + 2) * np.cos(5 * y))
