"""The light on a photographed sheet: a smooth field over the bare paper, and what spoils it."""

import numpy as np

from decaljobs.craft.arrays import Numbers
from decaljobs.craft.photo.load import PhotoRefused
from decaljobs.craft.trial.sheet import FRAME_WIDTH, PAPER_LAYOUT

# Limits on the bare paper of a photo; tried on simulated photos, no source.
CLIPPED = 252.0  # sRGB value from which a channel counts as clipped
CLIPPED_SHARE = 0.1
DARKEST_PAPER = 0.12  # linear light
SPOT = 0.08  # relative departure from the smooth field
SPOT_SHARE = 0.15
SMOOTH = 0.02  # departure that even light, noise and paper have
RIM_SPOT, RIM_SPOTS = 0.05, 2  # brighter paper beside the paint, and at how many places
FIELD_RANGE = 0.35  # darkest to brightest place
FITS = 4
# mm; half the frame of a sheet on paper, the larger of both kinds.
HALF_SHEET = np.array([FRAME_WIDTH, PAPER_LAYOUT.height]) / 2


def check_exposure(paper_srgb: Numbers, paper_light: Numbers) -> None:
    """Refuse a photo whose bare paper (n, 3) is clipped (sRGB 0 to 255) or dark (linear light).

    Raises PhotoRefused with the reason.

    >>> from decaljobs.craft.colour import srgb_to_linear
    >>> white, burnt = np.full((20, 3), 230.0), np.full((20, 3), 255.0)
    >>> check_exposure(white, srgb_to_linear(white))
    >>> check_exposure(burnt, srgb_to_linear(burnt))
    Traceback (most recent call last):
    decaljobs.craft.photo.load.PhotoRefused: the paper is burnt out (clipped) in the photo; ...
    """
    clipped = (paper_srgb >= CLIPPED).any(axis=1)
    if clipped.mean() > CLIPPED_SHARE:
        raise PhotoRefused(
            "the paper is burnt out (clipped) in the photo; take it again a little darker, "
            "without flash"
        )
    if np.median(paper_light.max(axis=1)) < DARKEST_PAPER:
        raise PhotoRefused("the photo is too dark; take it again in more light")


def light_field(places: Numbers, light: Numbers) -> tuple[Numbers, Numbers]:
    """Coefficients (6, 3) of a quadratic light field through bare paper, and what departs (n,).

    The second is each place's light beside the smooth field's, as a share: 0.1 is a tenth more.

    places: (n, 2) mm; light: (n, 3) linear. Paper that a shadow, a number or a reflection
    spoils is left out step by step. Raises PhotoRefused where too much of it is spoilt or the
    light falls off too far.

    >>> places = np.array([[x, y] for x in range(0, 181, 30) for y in range(0, 121, 30)], float)
    >>> light = np.repeat(0.8 - 0.001 * places[:, :1], 3, axis=1)
    >>> light[0] *= 1.2
    >>> field, off = light_field(places, light)
    >>> field.shape, round(float(off[0]), 2), bool(abs(off[1:]).max() < 1e-6)
    ((6, 3), 0.2, True)
    """
    terms = square_terms(over_sheet(places))
    kept = np.ones(len(places), dtype=bool)
    for _ in range(FITS):
        found = np.linalg.lstsq(terms[kept], light[kept], rcond=None)[0]
        field = np.asarray(found, dtype=np.float64)
        smooth = np.maximum(terms @ field, 1e-4)
        off = np.abs(light / smooth - 1).max(axis=1)
        kept = off <= max(SMOOTH, 2.5 * float(np.median(off)))
    if (off > SPOT).mean() > SPOT_SHARE:
        raise PhotoRefused(
            "a shadow or a reflection lies on the sheet; use soft, even light from a window"
        )
    if smooth.min() < FIELD_RANGE * smooth.max(axis=0).min():
        raise PhotoRefused("the light falls off too far across the sheet; turn it to the window")
    share = light / smooth - 1
    return field, np.take_along_axis(share, np.abs(share).argmax(axis=1)[:, None], axis=1)[:, 0]


def check_rim(off: Numbers) -> None:
    """Refuse a reflection on the bare paper round the paint (n,), as departures from the field.

    Raises PhotoRefused. A part's own shadow darkens its rim and is let pass.

    >>> check_rim(np.array([-0.2, -0.1, 0.01]))
    >>> check_rim(np.array([0.08, 0.07, 0.01]))
    Traceback (most recent call last):
    decaljobs.craft.photo.load.PhotoRefused: a reflection lies on or beside the paint; ...
    """
    if (off > RIM_SPOT).sum() >= RIM_SPOTS:
        raise PhotoRefused(
            "a reflection lies on or beside the paint; turn the sheet away from the glare"
        )


def evened(places: Numbers, light: Numbers, field: Numbers) -> Numbers:
    """Linear light (..., 3) at places (..., 2) mm as a share of the bare paper's there.

    >>> places = np.array([[0.0, 0.0], [90.0, 60.0]])
    >>> field = np.zeros((6, 3))  # as `light_field` gives it: here paper of one brightness
    >>> field[0] = 0.8
    >>> evened(places, np.array([[0.8, 0.8, 0.8], [0.4, 0.2, 0.2]]), field).tolist()
    [[1.0, 1.0, 1.0], [0.5, 0.25, 0.25]]
    """
    return light / np.maximum(square_terms(over_sheet(places)) @ field, 1e-4)


def over_sheet(places: Numbers) -> Numbers:
    """Places (..., 2), mm, scaled to about -1 to 1 over a sheet, which keeps fits steady.

    >>> over_sheet(np.array([[0.0, 0.0], [180.0, 60.0]])).tolist()
    [[-1.0, -1.0], [1.0, 0.0]]
    """
    return places / HALF_SHEET - 1.0


def square_terms(steps: Numbers) -> Numbers:
    """1, each coordinate, and all their products by twos, no unit: (..., n) to (..., k).

    >>> square_terms(np.array([2.0, 3.0])).tolist()
    [1.0, 2.0, 3.0, 4.0, 6.0, 9.0]
    """
    one, other = np.triu_indices(steps.shape[-1])
    products = steps[..., one] * steps[..., other]
    return np.concatenate([np.ones_like(steps[..., :1]), steps, products], axis=-1)
