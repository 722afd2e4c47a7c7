"""The five marks of a trial sheet in a photo, and the perspective that they give."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import permutations

import numpy as np
import numpy.typing as npt
from scipy import ndimage

from decaljobs.craft.arrays import Flags, Numbers
from decaljobs.craft.photo.load import PhotoRefused
from decaljobs.craft.trial.sheet import MARK, MARK_HOLE, SheetPlaces

Grey = npt.NDArray[np.float32]
Point = tuple[float, float]

# Marks are looked for on a picture reduced to about this many pixels on the longer side.
SEARCH_SIDE = 1000
# A pixel is inked if darker than this share of its surroundings' mean; tried in this order.
INK_SHARES = (0.62, 0.75, 0.5)
# Share of a mark's square that its hole takes, and how far a blurred photo may be off it.
HOLE_SHARE = np.pi * MARK_HOLE**2 / 4 / MARK**2
HOLE_RANGE = (0.35 * HOLE_SHARE, 1.7 * HOLE_SHARE)
LEAST_AREA, MOST_AREA_SHARE = 40, 0.02
MOST_CANDIDATES = 8
# The fifth mark may lie this far from where the four corners put it, in marks.
ORIENTATION_ERROR = 0.3


@dataclass(frozen=True)
class Perspective:
    """The projection from sheet mm to photo pixels (3 x 3), and the marks' pixels it came from."""

    matrix: Numbers
    marks: tuple[Point, ...]

    def pixels(self, places: npt.ArrayLike) -> Numbers:
        """Pixel places (..., 2) as x, y of sheet places (..., 2) in mm."""
        return project(self.matrix, np.asarray(places, dtype=np.float64))

    def scale(self, place: Point) -> float:
        """Pixels per mm at a place of the sheet."""
        x, y = place
        corners = self.pixels([[x, y], [x + 1, y], [x, y + 1]])
        across, down = corners[1] - corners[0], corners[2] - corners[0]
        return float(np.sqrt(abs(across[0] * down[1] - across[1] * down[0])))


def project(matrix: Numbers, places: Numbers) -> Numbers:
    """Places (..., 2) through a projective matrix (3 x 3), in the unit that it leads to.

    >>> four_px_to_the_mm = np.array([[4.0, 0, 40], [0, 4, 40], [0, 0, 1]])
    >>> project(four_px_to_the_mm, np.array([[0.0, 0.0], [10.0, 5.0]])).tolist()
    [[40.0, 40.0], [80.0, 60.0]]
    """
    flat = places @ matrix[:, :2].T + matrix[:, 2]
    return flat[..., :2] / flat[..., 2:]


def solve_perspective(sheet: npt.ArrayLike, photo: npt.ArrayLike) -> Numbers:
    """The projective matrix (3 x 3) from four or more places (n, 2) in mm to pixels (n, 2).

    More than four are fitted by least squares. Raises ValueError for fewer or for places on
    one line. Source: direct linear transform, as in Hartley and Zisserman, Multiple View
    Geometry, 2nd ed., 2004.

    >>> square = [[0, 0], [1, 0], [1, 1], [0, 1]]
    >>> matrix = solve_perspective(square, [[5, 5], [7, 5], [7, 7], [5, 7]])
    >>> project(matrix, np.array([0.5, 0.5])).round(6).tolist()
    [6.0, 6.0]
    """
    source, target = np.asarray(sheet, dtype=float), np.asarray(photo, dtype=float)
    if len(source) < 4 or source.shape != target.shape:
        raise ValueError("a perspective needs at least 4 pairs of places")
    x, y, u, v = source[:, 0], source[:, 1], target[:, 0], target[:, 1]
    zero, one = np.zeros_like(x), np.ones_like(x)
    upper = np.stack([x, y, one, zero, zero, zero, -u * x, -u * y], axis=1)
    lower = np.stack([zero, zero, zero, x, y, one, -v * x, -v * y], axis=1)
    system, wanted = np.vstack([upper, lower]), np.concatenate([u, v])
    found, _, rank, _ = np.linalg.lstsq(system, wanted, rcond=1e-12)
    if rank < 8:
        raise ValueError("the places lie on one line")
    return np.append(found, 1.0).reshape(3, 3)


def find_marks(grey: Grey, layout: SheetPlaces) -> Perspective:
    """The perspective of a sheet of this layout in a grey photo (rows, columns), 0 to 255.

    Raises PhotoRefused, with the marks that were seen, if they are not all there.

    >>> from decaljobs.craft.trial.sheet import FILM_LAYOUT
    >>> grey = np.full((288, 570), 230, np.float32)  # 3 px to the mm, 5 mm of table all round
    >>> y, x = ((pixel + 0.5) / 3 - 5 for pixel in np.mgrid[:288, :570])
    >>> for box in (*FILM_LAYOUT.corners, FILM_LAYOUT.orientation):
    ...     across, down = x - box.centre[0], y - box.centre[1]
    ...     inked = np.maximum(abs(across), abs(down)) < MARK / 2
    ...     grey[inked & (np.hypot(across, down) > MARK_HOLE / 2)] = 20
    >>> find_marks(grey, FILM_LAYOUT).pixels([90.0, 43.0]).round(1).tolist()
    [284.5, 143.5]
    """
    step = max(1, round(max(grey.shape) / SEARCH_SIDE))
    small = _reduced(grey, step)
    most: list[_Candidate] = []
    for share in INK_SHARES:
        seen = _candidates(small, share)
        most = max(most, seen, key=len)
        matrix = _arrange(seen, layout)
        if matrix is not None:
            places = np.array([box.centre for box in (*layout.corners, layout.orientation)])
            scaled = np.diag([step, step, 1.0]) @ matrix
            return _refined(grey, scaled, places)
    found = tuple((step * (seen.x + 0.5), step * (seen.y + 0.5)) for seen in most)
    raise PhotoRefused(_missing(len(found)), found)


def edge_width(grey: Grey, perspective: Perspective, layout: SheetPlaces) -> float:
    """Width of the marks' edges, mm, from a tenth to nine tenths of the step (median).

    `grey` is (rows, columns), 0 to 255.

    >>> from decaljobs.craft.trial.sheet import FILM_LAYOUT
    >>> four_px_to_the_mm = Perspective(np.array([[4.0, 0, 40], [0, 4, 40], [0, 0, 1]]), ())
    >>> grey = np.full((424, 800), 230, np.float32)
    >>> for box in (*FILM_LAYOUT.corners, FILM_LAYOUT.orientation):
    ...     left, top = int(40 + 4 * box.x), int(40 + 4 * box.y)
    ...     grey[top : top + 36, left : left + 36] = 20
    >>> blurred = ndimage.gaussian_filter(grey, 3)
    >>> [round(edge_width(one, four_px_to_the_mm, FILM_LAYOUT), 1) for one in (grey, blurred)]
    [0.2, 2.0]
    """
    widths = []
    for box in (*layout.corners, layout.orientation):
        # Along a line that misses the hole, from outside into the ink.
        steps = np.linspace(-3.5, 3.5, 141)
        for rows in ((0.8, 1.4, 2.0), (MARK - 2.0, MARK - 1.4, MARK - 0.8)):
            line = [[(box.x + step, box.y + row) for step in steps] for row in rows]
            widths.append(_rise(sample(grey, perspective.pixels(line)).mean(axis=0), steps))
    return float(np.median(widths))


def sample(picture: npt.NDArray[np.generic], places: Numbers) -> Numbers:
    """Picture values, 0 to 255, between pixels at x, y places (..., 2); the rim goes on outside.

    `picture` is (rows, columns) or (rows, columns, layers).

    >>> sample(np.array([[0.0, 100.0, 200.0]]), np.array([[0.5, 0.0], [9.0, 0.0]])).tolist()
    [50.0, 200.0]
    """
    rows, columns = places[..., 1], places[..., 0]
    layers = picture[..., None] if picture.ndim == 2 else picture
    taken = [
        ndimage.map_coordinates(
            layers[..., layer], (rows, columns), order=1, mode="nearest", output=np.float64
        )
        for layer in range(layers.shape[-1])
    ]
    # Weights that do not quite add up to one must not lift a full 255 above itself.
    values = np.clip(np.stack(taken, axis=-1), 0.0, 255.0)
    return values[..., 0] if picture.ndim == 2 else values


@dataclass(frozen=True)
class _Candidate:
    x: float
    y: float
    side: float
    likeness: float


def _reduced(grey: Grey, step: int) -> Grey:
    rows, columns = (size // step * step for size in grey.shape)
    blocks = grey[:rows, :columns].reshape(rows // step, step, columns // step, step)
    return blocks.mean(axis=(1, 3), dtype=np.float32)


def _candidates(small: Grey, share: float) -> list[_Candidate]:
    """Inked squares with a round hole in the middle, the likeliest first."""
    around = ndimage.uniform_filter(small, size=max(15, max(small.shape) // 8))
    inked = small < share * around
    labels, count = ndimage.label(inked)
    areas = np.bincount(labels.ravel(), minlength=count + 1)
    found = []
    for number, place in enumerate(ndimage.find_objects(labels), start=1):
        if LEAST_AREA <= areas[number] <= MOST_AREA_SHARE * small.size:
            seen = _as_mark(labels[place] == number, place)
            if seen is not None:
                found.append(seen)
    found.sort(key=lambda seen: seen.likeness)
    return found[:MOST_CANDIDATES]


def _as_mark(shape: Flags, place: tuple[slice, slice]) -> _Candidate | None:
    area = int(shape.sum())
    if area < 0.35 * shape.size or not 0.4 < shape.shape[0] / shape.shape[1] < 2.5:
        return None
    full = ndimage.binary_fill_holes(shape)
    hole = full & ~shape
    whole = int(full.sum())
    share = float(hole.sum()) / whole
    if not HOLE_RANGE[0] < share < HOLE_RANGE[1]:
        return None
    rows, columns = np.nonzero(full)
    spread = np.cov(np.stack([columns, rows]))
    squareness = 12 * float(np.sqrt(max(np.linalg.det(spread), 0.0))) / whole
    hole_rows, hole_columns = np.nonzero(hole)
    side = float(np.sqrt(whole))
    x, y = float(columns.mean()), float(rows.mean())
    aside = float(np.hypot(hole_columns.mean() - x, hole_rows.mean() - y)) / side
    if not 0.88 < squareness < 1.15 or aside > 0.12:
        return None
    likeness = abs(share - HOLE_SHARE) / HOLE_SHARE + abs(squareness - 1) + aside
    return _Candidate(place[1].start + x, place[0].start + y, side, likeness)


def _arrange(seen: Sequence[_Candidate], layout: SheetPlaces) -> Numbers | None:
    """The best assignment of candidates to the five marks, or None."""
    if len(seen) < 5:
        return None
    corners = np.array([box.centre for box in layout.corners])
    fifth = np.array(layout.orientation.centre)
    best, error = None, ORIENTATION_ERROR
    for four in permutations(range(len(seen)), 4):
        quad = np.array([[seen[one].x, seen[one].y] for one in four])
        if not _clockwise(quad):
            continue
        matrix = solve_perspective(corners, quad)
        where = project(matrix, fifth)
        for other in set(range(len(seen))) - set(four):
            mark = seen[other]
            off = float(np.hypot(where[0] - mark.x, where[1] - mark.y)) / mark.side
            if off < error and _sizes_fit(matrix, corners, [seen[one].side for one in four]):
                best, error = matrix, off
    return best


def _clockwise(quad: Numbers) -> bool:
    """Whether four points go round clockwise on a picture (y down) and bulge nowhere inwards."""
    edges = np.roll(quad, -1, axis=0) - quad
    after = np.roll(edges, -1, axis=0)
    return bool(np.all(edges[:, 0] * after[:, 1] - edges[:, 1] * after[:, 0] > 0))


def _sizes_fit(matrix: Numbers, corners: Numbers, sides: Sequence[float]) -> bool:
    for corner, side in zip(corners, sides, strict=True):
        ends = project(matrix, corner + np.array([[-MARK / 2, 0], [MARK / 2, 0]]))
        sideways = project(matrix, corner + np.array([[0, -MARK / 2], [0, MARK / 2]]))
        width, height = (float(np.hypot(*(pair[1] - pair[0]))) for pair in (ends, sideways))
        if not 0.7 < side / np.sqrt(width * height) < 1.4:
            return False
    return True


def _refined(grey: Grey, matrix: Numbers, places: Numbers) -> Perspective:
    """The marks' middles measured again at full size, and all five fitted."""
    rough = matrix
    for _ in range(2):
        middles = np.array([_middle(grey, rough, place) for place in places])
        rough = solve_perspective(places, middles)
    return Perspective(rough, tuple((float(x), float(y)) for x, y in middles))


def _middle(grey: Grey, matrix: Numbers, place: Numbers) -> Point:
    """Centre of a mark's ink, pixels, weighed by darkness inside a square a little larger."""
    steps = np.linspace(-MARK / 2 - 2.0, MARK / 2 + 2.0, 53)
    grid = np.stack(np.meshgrid(steps, steps), axis=-1)
    values = sample(grey, project(matrix, place + grid))
    low, high = np.quantile(values, [0.1, 0.9])
    ink = np.clip((0.5 * low + 0.5 * high - values) / max(high - low, 1.0) * 4 + 0.5, 0.0, 1.0)
    aside = (ink[..., None] * grid).sum(axis=(0, 1)) / max(float(ink.sum()), 1e-9)
    x, y = project(matrix, place + aside)
    return float(x), float(y)


def _rise(profile: Numbers, steps: Numbers) -> float:
    """Distance over which a falling edge goes from nine tenths to one tenth."""
    high, low = profile[:20].mean(), profile[-20:].mean()
    share = (profile - low) / max(high - low, 1e-6)
    start = steps[np.nonzero(share >= 0.9)[0].max()] if (share >= 0.9).any() else steps[0]
    below = np.nonzero(share <= 0.1)[0]
    end = steps[below.min()] if len(below) else steps[-1]
    return max(float(end - start), 0.0)


def _missing(count: int) -> str:
    if count < 5:
        return (
            f"only {count} of the sheet's 5 square marks were found; show the whole sheet, flat "
            "and sharp, with nothing lying on the marks"
        )
    return "the square marks found do not fit the sheet; show it whole, flat and sharp"
