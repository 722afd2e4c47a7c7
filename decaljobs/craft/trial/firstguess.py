"""A first guess at a paint's colour from any photo of it."""

import numpy as np

from decaljobs.craft.colour import Colour, whole_colour
from decaljobs.craft.photo.load import Photo

# The middle share of the photo's width and height that is looked at.
MIDDLE = 0.2


def colour_in_the_middle(photo: Photo) -> Colour:
    """The middle colour, sRGB 0 to 255, of the middle fifth of a photo.

    No more than a place to start from: the light and the camera colour it.

    >>> colour_in_the_middle(Photo(np.full((50, 80, 3), 120, dtype=np.uint8)))
    (120, 120, 120)
    """
    rows, columns = photo.pixels.shape[:2]
    high, wide = max(1, int(MIDDLE * rows)), max(1, int(MIDDLE * columns))
    top, left = (rows - high) // 2, (columns - wide) // 2
    middle = photo.pixels[top : top + high, left : left + wide].reshape(-1, 3)
    return whole_colour(np.median(middle, axis=0))
