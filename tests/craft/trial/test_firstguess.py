import numpy as np

from decaljobs.craft.photo.load import Photo
from decaljobs.craft.trial.firstguess import colour_in_the_middle


def test_it_takes_the_middle_and_leaves_the_rest():
    pixels = np.full((500, 700, 3), 255, dtype=np.uint8)
    pixels[200:300, 280:420] = (30, 61, 89)
    assert colour_in_the_middle(Photo(pixels)) == (30, 61, 89)


def test_it_is_not_led_astray_by_a_glint():
    pixels = np.full((500, 700, 3), 90, dtype=np.uint8)
    pixels[220:250, 300:400] = 255
    assert colour_in_the_middle(Photo(pixels)) == (90, 90, 90)


def test_it_takes_a_photo_of_one_pixel():
    assert colour_in_the_middle(Photo(np.zeros((1, 1, 3), dtype=np.uint8))) == (0, 0, 0)
