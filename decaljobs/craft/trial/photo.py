"""A round judged by a phone photo: every patch compared with the paint in the same photo.

No absolute colour is claimed: patches and paint are shares of the same bare paper's light, so
exposure and white balance cancel. What cannot be trusted is refused with its reason.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from decaljobs.craft.arrays import Flags, Numbers
from decaljobs.craft.colour import ciede2000, lab_from_linear, srgb_to_linear
from decaljobs.craft.photo.glare import (
    Spots,
    check_reflections,
    reflection_on_black,
    reflection_on_paint,
    reflection_on_sheet,
)
from decaljobs.craft.photo.light import check_exposure, check_rim, evened, light_field
from decaljobs.craft.photo.load import Photo, PhotoRefused
from decaljobs.craft.photo.marks import Perspective, edge_width, find_marks, sample
from decaljobs.craft.photo.paint import read_paint
from decaljobs.craft.trial.sheet import COLUMNS, RAMP, Box, TrialSheet, code_of_bits

# Limits on a photo; tried on simulated photos, no source.
LEAST_SCALE = 2.5  # pixels per mm
WIDEST_EDGE = 1.3  # mm
PATCH_MIDDLE = 0.55  # share of a patch that is sampled
INK_MIDDLE = 0.5
# A black square under the part is like the paint by so much, or twice as uneven; cube roots of
# light as a share of the paper's.
COVERED = 0.04
PATCH_SPREAD = 3.0  # CIELAB lightness, between the tenth and the ninetieth percentile of nine parts
SPOT_BESIDE = 0.035  # departure of the paper on either side of a patch, a share of its light
MOST_SPOILT = 0.25
LEAST_RISE = 0.5  # CIELAB lightness from step to step of the grey ramp
TRIMMED = 0.2
SAMPLES = 15
DOUBTFUL = (
    "a faint reflection may lie on the sheet or the paint: take the photo again, or judge the "
    "next round by eye"
)


@dataclass(frozen=True)
class PhotoReading:
    """What a photo says about a round.

    labs: CIELAB of patches 1, 2, 3 ... relative to the bare paper, (n, 3); differences: these
    less the paint's, (n, 3); apart: CIEDE2000 to the paint, (n,); good: whether a patch can be
    trusted, (n,); paint: CIELAB of the paint; marks: their pixels; remarks for the maker;
    doubtful: whether a faint reflection may lie on it.
    """

    labs: Numbers
    paint: Numbers
    good: Flags
    perspective: Perspective
    remarks: tuple[str, ...] = ()
    doubtful: bool = False

    @property
    def differences(self) -> Numbers:
        """CIELAB of the patches less the paint's, (n, 3)."""
        return self.labs - self.paint

    @property
    def apart(self) -> Numbers:
        """CIEDE2000 of each patch to the paint, (n,)."""
        return ciede2000(self.labs, self.paint)


def read_photo(photo: Photo, sheet: TrialSheet) -> PhotoReading:
    """Measure a round's patches against the painted part in one photo, in CIELAB.

    Raises PhotoRefused with the reason (a mark missing, another sheet, blur, clipping, glare, a
    shadow, too little paint) and with what was found; never guesses.

    >>> from decaljobs.craft.trial.sheet import SheetCode, film_sheet
    >>> strip = film_sheet(SheetCode(12, 3), [(90, 90, 90)] * 24)
    >>> read_photo(Photo(np.full((300, 400, 3), 200, np.uint8)), strip)
    Traceback (most recent call last):
    decaljobs.craft.photo.load.PhotoRefused: only 0 of the sheet's 5 square marks were found; ...
    """
    grey = np.asarray(photo.pixels.mean(axis=2, dtype=np.float32))
    perspective = find_marks(grey, sheet.layout)
    try:
        return _measured(photo, grey, perspective, sheet)
    except PhotoRefused as refused:
        raise PhotoRefused(refused.reason, refused.found or perspective.marks) from None


def _measured(
    photo: Photo, grey: npt.NDArray[np.float32], perspective: Perspective, sheet: TrialSheet
) -> PhotoReading:
    layout = sheet.layout
    _check_sharpness(grey, perspective, sheet)
    paper, field, beside = _paper_field(photo, perspective, sheet)
    _check_code(photo, perspective, sheet, field)
    patches, spread = _patch_light(photo, perspective, layout.patches, field)
    good = (spread <= PATCH_SPREAD) & (beside <= SPOT_BESIDE)
    if (~good).mean() > MOST_SPOILT:
        raise PhotoRefused("a reflection lies on many patches; turn the sheet away from the glare")
    _check_ramp(photo, perspective, sheet, field)
    paint = read_paint(photo.pixels, perspective, layout, field)
    prints = Spots(np.array([box.centre for box in layout.patches])[good], patches[good])
    colours = np.array(sheet.colours, dtype=float)[good]
    inks = _ink_light(photo, perspective, sheet, field, paint.light)
    doubtful = check_reflections(
        reflection_on_sheet(paper.joined(paint.bare), prints, colours, inks, layout),
        reflection_on_paint(paint.cells),
        reflection_on_black(inks, paint.light, layout),
    )
    remarks = photo.remarks
    if not good.all():
        numbers = ", ".join(str(number) for number in np.nonzero(~good)[0] + 1)
        remarks += (f"left out because they are not even: patches {numbers}",)
    if doubtful:
        remarks += (DOUBTFUL,)
    return PhotoReading(
        labs=lab_from_linear(patches),
        paint=lab_from_linear(paint.light),
        good=good,
        perspective=perspective,
        remarks=remarks,
        doubtful=doubtful,
    )


def _check_sharpness(
    grey: npt.NDArray[np.float32], perspective: Perspective, sheet: TrialSheet
) -> None:
    corners = sheet.layout.corners
    if min(perspective.scale(box.centre) for box in corners) < LEAST_SCALE:
        raise PhotoRefused("the sheet is too small in the photo; come closer")
    width = edge_width(grey, perspective, sheet.layout)
    if width > WIDEST_EDGE:
        raise PhotoRefused("the photo is blurred; hold the phone still and let it focus")


def _check_code(photo: Photo, perspective: Perspective, sheet: TrialSheet, field: Numbers) -> None:
    bits = _read_bits(photo, perspective, sheet, field)
    if bits == sheet.bits:
        return
    seen = code_of_bits(bits)
    if seen is None:
        raise PhotoRefused("the sheet's code strip cannot be read; show it clean and sharp")
    if seen == sheet.code:
        raise PhotoRefused(f"this is {seen} with other colours than the ones asked for")
    raise PhotoRefused(f"this is the sheet of {seen}, not of {sheet.code}")


def _read_bits(
    photo: Photo, perspective: Perspective, sheet: TrialSheet, field: Numbers
) -> tuple[int, ...]:
    """The code strip's cells, 1 where darker than halfway from bare paper to full ink."""
    layout = sheet.layout
    ink = _area_light(photo, perspective, layout.ramp[:1], field, 0.5).mean()
    cells = _area_light(photo, perspective, layout.code_cells, field, 0.4)
    return tuple(int(bit) for bit in cells.mean(axis=(1, 2)) < (1 + ink) / 2)


def _grid(box: Box, count: int) -> Numbers:
    """Places (count * count, 2) spread over a box, mm."""
    share = (np.arange(count) + 0.5) / count
    x, y = np.meshgrid(box.x + box.width * share, box.y + box.height * share)
    return np.stack([x.ravel(), y.ravel()], axis=-1)


def _paper_field(
    photo: Photo, perspective: Perspective, sheet: TrialSheet
) -> tuple[Spots, Numbers, Numbers]:
    """The bare paper, its light field, and how far paper beside each patch departs from it (n,)."""
    layout = sheet.layout
    boxes = (*layout.gaps, *layout.rims, *layout.papers)
    grids = np.array([_grid(box.shrunk(0.7), 7) for box in boxes])
    middle = np.median(sample(photo.pixels, perspective.pixels(grids)), axis=1)
    light = srgb_to_linear(middle)
    check_exposure(middle, light)
    paper = Spots(np.array([box.centre for box in boxes]), light)
    field, off = light_field(paper.places, light)
    gaps, rims = len(layout.gaps), len(layout.rims)
    check_rim(off[gaps : gaps + rims])
    by_row = np.abs(off[:gaps]).reshape(-1, COLUMNS + 1)
    return paper, field, np.maximum(by_row[:, :-1], by_row[:, 1:]).ravel()


def _area_light(
    photo: Photo, perspective: Perspective, boxes: tuple[Box, ...], field: Numbers, share: float
) -> Numbers:
    """Evened linear light (n, samples, 3) over the middle share of each box."""
    grids = np.array([_grid(box.shrunk(share), SAMPLES) for box in boxes])
    srgb = sample(photo.pixels, perspective.pixels(grids))
    return evened(grids, srgb_to_linear(srgb), field)


def _patch_light(
    photo: Photo, perspective: Perspective, boxes: tuple[Box, ...], field: Numbers
) -> tuple[Numbers, Numbers]:
    """Evened light (n, 3) of patches and how uneven each is (n,), CIELAB lightness."""
    light = _area_light(photo, perspective, boxes, field, PATCH_MIDDLE)
    parts = light.reshape(len(boxes), 3, 5, 3, 5, 3).mean(axis=(2, 4)).reshape(len(boxes), 9, 3)
    low, high = np.quantile(lab_from_linear(parts)[..., 0], [0.1, 0.9], axis=1)
    return _trimmed(light), high - low


def _ink_light(
    photo: Photo, perspective: Perspective, sheet: TrialSheet, field: Numbers, paint: Numbers
) -> Spots:
    """Evened light of the sheet's full ink: code strip, ramp and squares no part lies over."""
    layout = sheet.layout
    cells = zip(sheet.bits, layout.code_cells, strict=True)
    boxes = (*layout.inks, layout.ramp[0], *(box for bit, box in cells if bit))
    samples = _area_light(photo, perspective, boxes, field, INK_MIDDLE)
    bright = np.cbrt(np.maximum(samples.mean(axis=2), 0.0))
    low, middle, high = np.quantile(bright, [0.1, 0.5, 0.9], axis=1)
    like_paint = np.abs(middle - np.cbrt(paint.mean())) < COVERED
    covered = (high - low > 2 * COVERED) | like_paint & (middle > np.median(middle) + 2 * COVERED)
    return Spots(np.array([box.centre for box in boxes])[~covered], _trimmed(samples)[~covered])


def _trimmed(light: Numbers) -> Numbers:
    """Mean over the samples (n, samples, 3), channel by channel, without either end."""
    ordered = np.sort(light, axis=1)
    cut = int(TRIMMED * light.shape[1])
    return ordered[:, cut : light.shape[1] - cut].mean(axis=1)


def _check_ramp(photo: Photo, perspective: Perspective, sheet: TrialSheet, field: Numbers) -> None:
    """The grey ramp must rise step by step up to the paper, or tones are lost."""
    light, _ = _patch_light(photo, perspective, sheet.layout.ramp, field)
    lightness = lab_from_linear(light)[:, 0]
    rises = np.diff(lightness)
    # Ink spreads: many printers print the two darkest steps alike.
    falls = rises[0] < -LEAST_RISE or (rises[1:] < LEAST_RISE).any()
    if len(lightness) != len(RAMP) or falls or lightness[-1] > 101:
        raise PhotoRefused(
            "the grey ramp does not rise step by step: glare, a filter of the camera or a wrong "
            "print; take the photo again without effects"
        )
