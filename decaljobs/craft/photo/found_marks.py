"""The picture beside a refusal: the photo, made small, with the marks that were seen on it."""

import io
from collections.abc import Sequence

from PIL import Image, ImageDraw

from decaljobs.craft.photo.load import Photo

# Longer side of the picture, pixels, and the ring round a mark as a share of it.
SIDE = 900
RING_SHARE = 0.03
# A strong line with a pale one inside is seen on any photo.
DARK, PALE = (20, 20, 20), (255, 220, 60)


def found_picture(photo: Photo, found: Sequence[tuple[float, float]]) -> bytes:
    """A JPEG of the photo, at most 900 pixels, with a numbered ring round each place found.

    found: places (x, y) in the photo's pixels, as a refusal or a reading gives them.

    >>> import numpy as np
    >>> photo = Photo(np.full((120, 160, 3), 128, np.uint8))
    >>> picture = Image.open(io.BytesIO(found_picture(photo, [(40.0, 30.0)])))
    >>> picture.format, picture.size
    ('JPEG', (160, 120))
    """
    picture = Image.fromarray(photo.pixels)
    share = min(1.0, SIDE / max(picture.size))
    size = (max(1, round(picture.width * share)), max(1, round(picture.height * share)))
    picture = picture.resize(size, Image.Resampling.BOX)
    pen = ImageDraw.Draw(picture)
    reach = RING_SHARE * max(size)
    for number, (x, y) in enumerate(found, start=1):
        middle = (x * share, y * share)
        pen.circle(middle, reach, outline=DARK, width=7)
        pen.circle(middle, reach - 2, outline=PALE, width=3)
        words = (middle[0] + reach, middle[1] - reach)
        pen.text(words, str(number), fill=PALE, stroke_width=2, stroke_fill=DARK)
    kept = io.BytesIO()
    picture.save(kept, "JPEG", quality=85)
    return kept.getvalue()
