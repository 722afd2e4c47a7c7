"""Made-up phone photos of trial sheets: the sheet is drawn, lit, seen askew, and kept as JPEG.

The camera has its own white balance, exposure, colour crosstalk, tone curve, lens distortion,
blur and noise; the light falls off in a way that is not quite quadratic; the paint is a glossy
part laid askew on its place, and the camera sees it a little off (metamerism).
"""

import io
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np
from PIL import Image
from scipy import ndimage

from decaljobs.craft.colour import linear_from_lab, linear_to_srgb
from decaljobs.craft.photo.marks import solve_perspective
from decaljobs.craft.trial.sheet import DOT, FRAME_WIDTH, MARK_HOLE, RAMP, Box, TrialSheet
from tests.benchmarks.colourworld import Printer

SCALE = 4  # pixels of the drawing per mm, about as many as the photo has
MARGIN = 14.0  # bare paper round the frame, mm
DESK = 30.0  # what is drawn of the desk, mm
TILE = 80  # pixels: within a tile the view is taken as bilinear
CORNERS = ((0, 0), (0, 1), (1, 1), (1, 0))  # of a tile, in the order that Pillow takes them
PAPER_GLOSS = 0.4  # of what the painted part mirrors
LAMP_STEP = 20  # pixels
REFERENCE_WIDTH = 1600  # pixels: the picture for which blur and noise of a camera are given
_SRGB = linear_to_srgb(np.linspace(0.0, 1.0, 65536)) / 255


@dataclass(frozen=True)
class Camera:
    """A phone camera and the way a photo is taken with it."""

    width: int = 960
    height: int = 720
    gains: tuple[float, float, float] = (1.0, 1.0, 1.0)
    leak: float = 0.05
    exposure: float = 0.75  # linear value of white paper
    contrast: float = 0.0  # strength of an S-curve on the encoded values
    distortion: float = 0.0  # of the radius at the picture's corner
    blur: float = 0.8  # pixels of a picture 1,600 wide
    noise: float = 0.006  # of white, likewise
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
    """What lies before the camera: linear light, a layer of mirrored light on top, and how much
    of a lamp's light is mirrored where (a glossy part all of it, paper and print less than half).
    """

    light: np.ndarray
    mirrored: np.ndarray
    gloss: np.ndarray


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
    gloss = np.full((height, width, 1), PAPER_GLOSS, dtype=np.float32)
    bare = printer.light(np.full(3, 255.0))
    whole = Box(-MARGIN, -MARGIN, FRAME_WIDTH + 2 * MARGIN, sheet.layout.height + 2 * MARGIN)
    fill(light, whole, bare)
    _draw_sheet(light, sheet, printer, rng)
    if paint is not None:
        colour = np.clip(linear_from_lab(paint + np.array(camera.shift)), 0.0, 1.0)
        _lay_part(light, mirrored, gloss, sheet.layout.paint, part, colour, camera, rng)
    return Scene(light, mirrored, gloss)


def photograph(scene: Scene, sheet: TrialSheet, camera: Camera, rng: np.random.Generator) -> bytes:
    """A JPEG of the scene.

    Blur and noise are those of a picture REFERENCE_WIDTH wide: a smaller picture of the same shot
    is sharper and calmer pixel by pixel, as if the large one had been made smaller.
    """
    share = camera.width / REFERENCE_WIDTH
    *lit, mirrored = _look(scene, sheet, camera)
    lamp = _light(sheet, camera)
    leak = np.full((3, 3), camera.leak / 2)
    np.fill_diagonal(leak, 1 - camera.leak)
    leak *= np.array(camera.gains) * camera.exposure / 0.88
    seen = np.stack([layer * lamp + mirrored for layer in lit]).reshape(3, -1)
    raw = (leak.astype(np.float32) @ seen).reshape(3, camera.height, camera.width)
    picture = np.empty((camera.height, camera.width, 3), dtype=np.uint8)
    tones = _tones(camera)
    for layer, seen in enumerate(raw):
        soft = ndimage.gaussian_filter(seen, camera.blur * share, truncate=3.0)
        noise = rng.standard_normal(soft.shape, dtype=np.float32)
        noise *= np.sqrt(np.maximum(soft, 0.01))
        noise *= np.float32(camera.noise * share)
        steps = (soft + noise) * np.float32(len(_SRGB) - 1)
        picture[..., layer] = tones[np.clip(steps, 0, len(_SRGB) - 1).astype(np.uint16)]
    kept = io.BytesIO()
    Image.fromarray(picture).save(kept, "JPEG", quality=camera.quality)
    return kept.getvalue()


def _tones(camera: Camera) -> np.ndarray:
    """What the camera writes, 0 to 255, for linear light in 65536 steps from 0 to 1."""
    # A smooth S that leaves black, middle and white where they are.
    bent = _SRGB - camera.contrast * np.sin(2 * np.pi * _SRGB) / (2 * np.pi)
    return np.clip(np.rint(bent * 255), 0, 255).astype(np.uint8)


@dataclass(frozen=True)
class Glare:
    """A light mirrored on the sheet: its middle (mm), reach (mm), strength and shape.

    length: how many times as long as wide; edge: 2 for a soft round light, more for a lamp or a
    window with a clear edge; turn in radians.
    """

    place: tuple[float, float]
    reach: float
    strength: float
    length: float = 1.0
    edge: float = 2.0
    turn: float = 0.0


def make_glare(box: Box, rng: np.random.Generator) -> Glare:
    """A reflection on or near a box: faint to strong, small to wide, a lamp or a window."""
    x, y = box.centre
    return Glare(
        place=(x + rng.normal(0, 8), y + rng.normal(0, 8)),
        reach=float(np.exp(rng.uniform(np.log(5), np.log(40)))),
        strength=float(np.exp(rng.uniform(-3.5, 0))),
        length=rng.choice([1.0, 1.0, rng.uniform(1.5, 5)]),
        edge=rng.choice([2.0, 2.0, rng.uniform(3, 8)]),
        turn=rng.uniform(0, np.pi),
    )


def with_glare(scene: Scene, glare: Glare) -> Scene:
    """The scene with a reflection."""
    rows = np.arange(scene.mirrored.shape[0], dtype=np.float32)[:, None] - _pixel(glare.place[1])
    columns = np.arange(scene.mirrored.shape[1], dtype=np.float32)[None] - _pixel(glare.place[0])
    cos, sin = np.float32(np.cos(glare.turn)), np.float32(np.sin(glare.turn))
    along, aside = cos * columns + sin * rows, cos * rows - sin * columns
    away = np.hypot(along / glare.length, aside) / (SCALE * glare.reach)
    light = (glare.strength * np.exp(-(away**glare.edge)))[..., None]
    return replace(scene, mirrored=scene.mirrored + light * scene.gloss)


def _pixel(mm: float) -> int:
    return int(round(SCALE * (mm + MARGIN + DESK)))


def fill(light: np.ndarray, box: Box, colour: np.ndarray) -> None:
    """Paint a box of the drawing in one linear light, in place."""
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
        fill(light, box, ink)
        _disc(light, box.centre, MARK_HOLE, bare)
    printed = printer.prints(np.array(sheet.colours, dtype=float), rng)
    for box, lab in zip(layout.patches, printed, strict=True):
        fill(light, box, np.clip(linear_from_lab(lab), 0, 1))
        fill(light, Box(box.x + 4, box.y + 12.8, 1.2, 2.6), ink)
        fill(light, Box(box.x + 6, box.y + 12.8, 1.8, 2.6), ink)
    for box, grey in zip(layout.ramp, RAMP, strict=True):
        fill(light, box, printer.light(np.full(3, float(grey))))
    _draw_inks(light, sheet, printer, rng)
    for dot in layout.dots:
        _disc(light, dot, DOT, printer.light(np.full(3, 90.0)))
    _draw_noise_boxes(light, layout.qr, ink, rng)


def _draw_inks(
    light: np.ndarray, sheet: TrialSheet, printer: Printer, rng: np.random.Generator
) -> None:
    """Code strip and black squares, which come out of the printer as scattered as patches do."""
    cells = zip(sheet.bits, sheet.layout.code_cells, strict=True)
    boxes = [*sheet.layout.inks, *(box for bit, box in cells if bit)]
    # A generator of its own: everything else of a made-up world stays as it was.
    printed = printer.prints(np.zeros((len(boxes), 3)), rng.spawn(1)[0])
    for box, lab in zip(boxes, printed, strict=True):
        fill(light, box, np.clip(linear_from_lab(lab), 0, 1))


def _draw_noise_boxes(
    light: np.ndarray, box: Box, ink: np.ndarray, rng: np.random.Generator
) -> None:
    """Something like a QR code: random modules with the three square rings."""
    size = box.width / 25
    for row in range(25):
        for column in range(25):
            if rng.random() < 0.5:
                place = Box(box.x + column * size, box.y + row * size, size, size)
                fill(light, place, ink)
    for x, y in ((0, 0), (18, 0), (0, 18)):
        corner = Box(box.x + x * size, box.y + y * size, 7 * size, 7 * size)
        fill(light, corner, ink)
        fill(light, corner.shrunk(5 / 7), np.full(3, 0.9))
        fill(light, corner.shrunk(3 / 7), ink)


def _lay_part(
    light: np.ndarray,
    mirrored: np.ndarray,
    gloss: np.ndarray,
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
    gloss[top:low, left:right, 0][inside] = 1.0


def _view(sheet: TrialSheet, camera: Camera, across: np.ndarray, down: np.ndarray) -> np.ndarray:
    """The places on the sheet, mm (2, n), that picture columns and rows (n,) see."""
    w, h = FRAME_WIDTH, sheet.layout.height
    corners = np.array([[0, 0], [w, 0], [w, h], [0, h]])
    span = camera.fill * camera.width / w
    centred = (corners - [w / 2, h / 2]) * span
    centred[:2] *= 1 - camera.tilt
    centred[1:3, 1] *= 1 - camera.tilt / 2
    cos, sin = np.cos(camera.turn), np.sin(camera.turn)
    turned = centred @ np.array([[cos, sin], [-sin, cos]])
    back = solve_perspective(turned, corners).astype(np.float32)
    dx = (across - camera.width / 2).astype(np.float32)
    dy = (down - camera.height / 2).astype(np.float32)
    radius = (dx**2 + dy**2) / ((camera.width / 2) ** 2 + (camera.height / 2) ** 2)
    bend = 1 + np.float32(camera.distortion) * radius
    right, low, depth = back @ np.stack([dx * bend, dy * bend, np.ones_like(dx)])
    return np.stack([right / depth, low / depth])


def _look(scene: Scene, sheet: TrialSheet, camera: Camera) -> np.ndarray:
    """The scene's layers as the camera's pixels see them, (4, rows, columns)."""
    across = [*range(0, camera.width, TILE), camera.width]
    down = [*range(0, camera.height, TILE), camera.height]
    grid = np.stack(np.meshgrid(across, down), axis=-1).astype(float)
    places = _view(sheet, camera, *grid.reshape(-1, 2).T)
    drawn = (SCALE * (places + MARGIN + DESK)).T.reshape(grid.shape)
    mesh = [
        (
            (left, top, right, low),
            tuple(float(value) for x, y in CORNERS for value in drawn[row + y, column + x]),
        )
        for row, (top, low) in enumerate(pairwise(down))
        for column, (left, right) in enumerate(pairwise(across))
    ]
    layers = [*np.moveaxis(scene.light, -1, 0), scene.mirrored[..., 0]]
    size, way, fine = (
        (camera.width, camera.height),
        Image.Transform.MESH,
        Image.Resampling.BILINEAR,
    )
    pictures = [Image.fromarray(np.ascontiguousarray(layer)) for layer in layers]
    return np.stack([np.asarray(one.transform(size, way, mesh, fine)) for one in pictures])


def _light(sheet: TrialSheet, camera: Camera) -> np.ndarray:
    """The lamp's light (rows, columns), 1 in the middle; so smooth that a coarse grid will do."""
    size = camera.width // LAMP_STEP, camera.height // LAMP_STEP
    rows, columns = np.indices(size[::-1]).reshape(2, -1) + 0.5
    places = _view(sheet, camera, LAMP_STEP * columns, LAMP_STEP * rows)
    x = places[0] / FRAME_WIDTH - 0.5
    y = places[1] / sheet.layout.height - 0.5
    smooth = (1 + camera.fall[0] * x + camera.fall[1] * y) / (1 + 0.15 * (x**2 + y**2))
    ripple = camera.ripple * np.sin(6 * x + 2) * np.cos(5 * y)
    coarse = (smooth * (1 + ripple)).astype(np.float32).reshape(size[::-1])
    whole = (camera.width, camera.height)
    return np.asarray(Image.fromarray(coarse).resize(whole, Image.Resampling.BICUBIC))
