"""Colour: sRGB, CIELAB under D65 and the CIEDE2000 difference, for arrays of any shape.

The last axis always holds the three numbers of a colour; sRGB runs from 0 to 255 as in a file.
"""

import re
from collections.abc import Sequence

import numpy as np
from numpy.typing import ArrayLike

from decaljobs.craft.arrays import Flags, Numbers, within

#: Three whole sRGB values, 0 to 255.
Colour = tuple[int, int, int]
#: CIELAB under D65: L, a, b.
Lab = tuple[float, float, float]

# sRGB transfer curve, no unit: IEC 61966-2-1:1999.
SRGB_LINEAR_LIMIT = 0.0031308
SRGB_ENCODED_LIMIT = 0.04045
SRGB_SLOPE = 12.92
SRGB_OFFSET = 0.055
SRGB_EXPONENT = 2.4

# Chromaticities x, y of red, green, blue and the white D65: IEC 61966-2-1:1999 (as ITU-R BT.709).
SRGB_PRIMARIES = ((0.64, 0.33), (0.30, 0.60), (0.15, 0.06))
D65_XY = (0.3127, 0.3290)

# CIELAB constants, exact fractions: CIE 15:2004.
LAB_EPSILON = 216 / 24389
LAB_KAPPA = 24389 / 27

# Wiggle room for rounding before a colour counts as outside sRGB, in linear light (0 to 1).
GAMUT_TOLERANCE = 1e-6

# CIEDE2000 up to which a pair is a good match by hand: common practice, no source.
GOOD_MATCH = 2.0

HEX_COLOUR = re.compile(r"#([0-9a-fA-F]{2})([0-9a-fA-F]{2})([0-9a-fA-F]{2})")


def _xyz_of_chromaticity(x: float, y: float) -> Numbers:
    return np.array([x / y, 1.0, (1.0 - x - y) / y])


def _linear_to_xyz_matrix() -> Numbers:
    """The matrix that IEC 61966-2-1 prints with four decimals, here without that rounding."""
    primaries = np.array([_xyz_of_chromaticity(x, y) for x, y in SRGB_PRIMARIES]).T
    return primaries * np.linalg.solve(primaries, D65_WHITE)


D65_WHITE = _xyz_of_chromaticity(*D65_XY)
LINEAR_TO_XYZ = _linear_to_xyz_matrix()
XYZ_TO_LINEAR = np.linalg.inv(LINEAR_TO_XYZ)


def srgb_to_linear(rgb: ArrayLike) -> Numbers:
    """Linear light, 0 to 1, of sRGB values from 0 to 255, same shape.

    Raises ValueError for a value that is not a number from 0 to 255.
    Source: IEC 61966-2-1:1999.

    >>> srgb_to_linear([0, 128, 255]).round(4).tolist()
    [0.0, 0.2159, 1.0]
    """
    encoded = within(rgb, 0.0, 255.0, "an sRGB value") / 255.0
    curve = ((encoded + SRGB_OFFSET) / (1 + SRGB_OFFSET)) ** SRGB_EXPONENT
    return np.where(encoded <= SRGB_ENCODED_LIMIT, encoded / SRGB_SLOPE, curve)


def linear_to_srgb(linear: ArrayLike) -> Numbers:
    """sRGB values, 0 to 255 and not rounded, of linear light from 0 to 1, same shape.

    Raises ValueError for a value that is not a number from 0 to 1.
    Source: IEC 61966-2-1:1999.

    >>> linear_to_srgb([0.0, 0.2158605, 1.0]).round(2).tolist()
    [0.0, 128.0, 255.0]
    """
    light = within(linear, 0.0, 1.0, "linear light")
    curve = (1 + SRGB_OFFSET) * light ** (1 / SRGB_EXPONENT) - SRGB_OFFSET
    return 255.0 * np.where(light <= SRGB_LINEAR_LIMIT, light * SRGB_SLOPE, curve)


def xyz_from_linear(linear: ArrayLike) -> Numbers:
    """CIE XYZ (white has Y = 1) of linear sRGB light, shape (..., 3).

    Any finite number is taken, for light evened in a photo may lie above 1; raises ValueError for
    others and for other shapes. Source: IEC 61966-2-1:1999.

    >>> xyz_from_linear([1.0, 1.0, 1.0]).round(4).tolist()
    [0.9505, 1.0, 1.0891]
    """
    return _colours(linear) @ LINEAR_TO_XYZ.T


def lab_from_linear(linear: ArrayLike) -> Numbers:
    """CIELAB under D65 (L 0 to 100) of linear sRGB light, shape (..., 3), any finite number.

    Source: CIE 15:2004.

    >>> lab_from_linear([1.0, 1.0, 1.0]).round(6).tolist()
    [100.0, 0.0, 0.0]
    """
    share = xyz_from_linear(linear) / D65_WHITE
    bent = np.where(share > LAB_EPSILON, np.cbrt(share), (LAB_KAPPA * share + 16) / 116)
    x, y, z = bent[..., 0], bent[..., 1], bent[..., 2]
    # Adding zero turns -0.0 into 0.0.
    return np.stack([116 * y - 16, 500 * (x - y), 200 * (y - z)], axis=-1) + 0.0


def lab_from_srgb(rgb: ArrayLike) -> Numbers:
    """CIELAB under D65 (L 0 to 100) of sRGB values from 0 to 255, shape (..., 3).

    Raises ValueError for a value that is not a number from 0 to 255.
    Source: IEC 61966-2-1:1999, CIE 15:2004.

    >>> lab_from_srgb([255, 0, 0]).round(2).tolist()
    [53.24, 80.09, 67.2]
    """
    return lab_from_linear(srgb_to_linear(rgb))


def srgb_from_lab(lab: ArrayLike) -> tuple[Numbers, Flags]:
    """sRGB values, 0 to 255 and not rounded, of CIELAB D65 (..., 3), and whether each is in gamut.

    A colour outside the gamut comes back with its linear light clipped to 0 to 1 and False.
    Any finite number is taken. Source: CIE 15:2004, IEC 61966-2-1:1999.

    >>> rgb, inside = srgb_from_lab([[50.0, 0.0, 0.0], [50.0, 120.0, 0.0]])
    >>> rgb[0].round(1).tolist(), inside.tolist()
    ([118.9, 118.9, 118.9], [True, False])
    """
    linear = linear_from_lab(lab)
    clipped = np.clip(linear, 0.0, 1.0)
    inside = np.all(np.abs(linear - clipped) <= GAMUT_TOLERANCE, axis=-1)
    return linear_to_srgb(clipped), inside


def linear_from_lab(lab: ArrayLike) -> Numbers:
    """Linear sRGB light of CIELAB D65 (..., 3); outside 0 to 1 where the gamut does not reach.

    Any finite number is taken; raises ValueError for others and for other shapes.
    Source: CIE 15:2004.

    >>> linear_from_lab([100.0, 0.0, 0.0]).round(6).tolist()
    [1.0, 1.0, 1.0]
    """
    values = _colours(lab)
    y = (values[..., 0] + 16) / 116
    bent = np.stack([y + values[..., 1] / 500, y, y - values[..., 2] / 200], axis=-1)
    cube = bent**3
    share = np.where(cube > LAB_EPSILON, cube, (116 * bent - 16) / LAB_KAPPA)
    return (share * D65_WHITE) @ XYZ_TO_LINEAR.T


def ciede2000(lab1: ArrayLike, lab2: ArrayLike) -> Numbers:
    """Colour difference CIEDE2000 (no unit, kL = kC = kH = 1) of CIELAB colours (..., 3).

    The two shapes broadcast. Any finite number is taken; raises ValueError for others and for
    other shapes. Source: CIE 142-2001; formulas as numbered by Sharma, Wu and Dalal, Color
    Research and Application 30, 21-30, 2005.

    >>> round(float(ciede2000([50, 2.6772, -79.7751], [50, 0, -82.7485])), 4)
    2.0425
    """
    first, second = np.broadcast_arrays(_colours(lab1), _colours(lab2))
    chroma1, hue1, chroma2, hue2 = _stretched_chroma_and_hue(first, second)
    light_step = second[..., 0] - first[..., 0]
    chroma_step = chroma2 - chroma1
    turn = _hue_turn(hue1, hue2)
    turn = np.where(chroma1 * chroma2 == 0, 0.0, turn)
    hue_step = 2 * np.sqrt(chroma1 * chroma2) * np.sin(np.radians(turn) / 2)
    light = (first[..., 0] + second[..., 0]) / 2
    chroma = (chroma1 + chroma2) / 2
    hue = _mean_hue(hue1, hue2, chroma1 * chroma2 == 0)
    lightness, saturation, tone = _weights(light, chroma, hue)
    parts = (light_step / lightness, chroma_step / saturation, hue_step / tone)
    crossed = _rotation(chroma, hue) * parts[1] * parts[2]
    return np.sqrt(np.maximum(parts[0] ** 2 + parts[1] ** 2 + parts[2] ** 2 + crossed, 0.0))


def ciede2000_steps(
    light: ArrayLike, chroma: ArrayLike, tone: ArrayLike = 1.0
) -> tuple[Numbers, Numbers, Numbers]:
    """How far CIELAB goes for one CIEDE2000 in lightness, chroma and hue: SL, SC and SH.

    light (0 to 100), chroma (0 or more) and the tone term T broadcast; without T, SH is that of
    the mean hue. Source: CIE 142-2001.

    >>> [round(float(step), 3) for step in ciede2000_steps(50.0, 40.0)]
    [1.0, 2.8, 1.6]
    """
    light, chroma = np.asarray(light, dtype=np.float64), np.asarray(chroma, dtype=np.float64)
    middle = (light - 50) ** 2
    return (
        1 + 0.015 * middle / np.sqrt(20 + middle),
        1 + 0.045 * chroma,
        1 + 0.015 * chroma * np.asarray(tone, dtype=np.float64),
    )


def relative_luminance(rgb: ArrayLike) -> Numbers:
    """Relative luminance, 0 to 1, of sRGB values from 0 to 255, shape (..., 3) to (...).

    Raises ValueError for a value that is not a number from 0 to 255.
    Source: IEC 61966-2-1:1999.

    >>> round(float(relative_luminance([255, 0, 0])), 4)
    0.2126
    """
    return xyz_from_linear(srgb_to_linear(rgb))[..., 1]


def contrast_ratio(rgb1: ArrayLike, rgb2: ArrayLike) -> Numbers:
    """Contrast ratio, 1 to 21, of two sRGB colours from 0 to 255, shapes (..., 3) broadcast.

    Raises ValueError for a value that is not a number from 0 to 255.
    Source: Web Content Accessibility Guidelines 2.2 (W3C).

    >>> round(float(contrast_ratio([0, 0, 0], [255, 255, 255])), 2)
    21.0
    """
    one, other = relative_luminance(rgb1), relative_luminance(rgb2)
    return (np.maximum(one, other) + 0.05) / (np.minimum(one, other) + 0.05)


def parse_hex(text: str) -> Colour:
    """The three sRGB values, 0 to 255, of a colour written '#rrggbb'.

    Raises ValueError for anything that is not a hash and six hexadecimal digits.

    >>> parse_hex("#1E3d59")
    (30, 61, 89)
    """
    match = HEX_COLOUR.fullmatch(text)
    if match is None:
        raise ValueError("a colour is written '#rrggbb', six digits from 0 to 9 and a to f")
    red, green, blue = (int(pair, 16) for pair in match.groups())
    return red, green, blue


def format_hex(rgb: Sequence[float] | ArrayLike) -> str:
    """A colour written '#rrggbb', from three sRGB values 0 to 255, rounded to whole numbers.

    Raises ValueError for a value that is not a number from 0 to 255 or not three values.

    >>> format_hex([30, 61.2, 88.6])
    '#1e3d59'
    """
    values = within(rgb, 0.0, 255.0, "an sRGB value")
    if values.shape != (3,):
        raise ValueError(f"one colour has three values, not the shape {values.shape}")
    red, green, blue = whole_colour(values)
    return f"#{red:02x}{green:02x}{blue:02x}"


def whole_colour(rgb: ArrayLike) -> Colour:
    """The three sRGB values of one colour, 0 to 255, rounded to whole numbers.

    >>> whole_colour([30, 61.2, 88.6])
    (30, 61, 89)
    """
    red, green, blue = np.rint(np.asarray(rgb, dtype=np.float64)).astype(int).tolist()
    return red, green, blue


def plain_lab(lab: ArrayLike) -> Lab:
    """The three CIELAB values of one colour as plain numbers.

    >>> plain_lab(np.array([50.0, -2.0, 1.0]))
    (50.0, -2.0, 1.0)
    """
    light, a, b = np.asarray(lab, dtype=np.float64).tolist()
    return light, a, b


def _colours(values: ArrayLike) -> Numbers:
    array = np.asarray(values, dtype=np.float64)
    if array.ndim == 0 or array.shape[-1] != 3:
        raise ValueError(f"a colour has three values on the last axis, not the shape {array.shape}")
    if not np.all(np.isfinite(array)):
        raise ValueError("a colour is made of finite numbers")
    return array


def _stretched_chroma_and_hue(
    first: Numbers, second: Numbers
) -> tuple[Numbers, Numbers, Numbers, Numbers]:
    """Chroma and hue angle (degrees, 0 to 360) of both, the red-green axis stretched near grey."""
    plain = (np.hypot(first[..., 1], first[..., 2]) + np.hypot(second[..., 1], second[..., 2])) / 2
    stretch = 1.5 - 0.5 * np.sqrt(plain**7 / (plain**7 + 25.0**7))
    found = []
    for lab in (first, second):
        a = lab[..., 1] * stretch
        found.append(np.hypot(a, lab[..., 2]))
        found.append(np.degrees(np.arctan2(lab[..., 2], a)) % 360.0)
    return found[0], found[1], found[2], found[3]


def _hue_turn(hue1: Numbers, hue2: Numbers) -> Numbers:
    """The turn from the first hue to the second by the shorter way, degrees."""
    turn = hue2 - hue1
    return np.where(turn > 180, turn - 360, np.where(turn < -180, turn + 360, turn))


def _mean_hue(hue1: Numbers, hue2: Numbers, without_hue: Flags) -> Numbers:
    total = hue1 + hue2
    wrapped = np.where(total < 360, total + 360, total - 360)
    mean = np.where(np.abs(hue1 - hue2) <= 180, total, wrapped) / 2
    return np.where(without_hue, total, mean)


def _weights(light: Numbers, chroma: Numbers, hue: Numbers) -> tuple[Numbers, Numbers, Numbers]:
    """The widths by which a step in lightness, chroma and hue is divided."""
    angle = np.radians(hue)
    tone = (
        1
        - 0.17 * np.cos(angle - np.radians(30))
        + 0.24 * np.cos(2 * angle)
        + 0.32 * np.cos(3 * angle + np.radians(6))
        - 0.20 * np.cos(4 * angle - np.radians(63))
    )
    return ciede2000_steps(light, chroma, tone)


def _rotation(chroma: Numbers, hue: Numbers) -> Numbers:
    swing = np.radians(30 * np.exp(-(((hue - 275) / 25) ** 2)))
    return -np.sin(2 * swing) * 2 * np.sqrt(chroma**7 / (chroma**7 + 25.0**7))
