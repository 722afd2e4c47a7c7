"""CIEDE2000 against its published test pairs and against another library.

Source of the pairs: G. Sharma, W. Wu, E. N. Dalal, 'The CIEDE2000 color-difference formula:
implementation notes, supplementary test data, and mathematical observations', Color Research
and Application 30(1), 21-30, 2005, table 1 (printed to four decimals, hence 1e-4).
"""

import json
from pathlib import Path

import numpy as np
import pytest
from coloraide import Color

from decaljobs.craft.colour import ciede2000

ALL_PAIRS = Path(__file__).resolve().parents[2].parent / "shared" / "data" / "ciede2000.json"

# The pairs that catch the usual slips: the blue rotation, grey against colour, the hue that
# wraps round at 180 degrees, a large difference, and two that are nearly black.
SOME_PAIRS = [
    [50.0, 2.6772, -79.7751, 50.0, 0.0, -82.7485, 2.0425],
    [50.0, 0.0, 0.0, 50.0, -1.0, 2.0, 2.3669],
    [50.0, 2.49, -0.001, 50.0, -2.49, 0.0009, 7.1792],
    [50.0, 2.49, -0.001, 50.0, -2.49, 0.0011, 7.2195],
    [50.0, -0.001, 2.49, 50.0, 0.0009, -2.49, 4.8045],
    [50.0, -0.001, 2.49, 50.0, 0.0011, -2.49, 4.7461],
    [50.0, 2.5, 0.0, 61.0, -5.0, 29.0, 22.8977],
    [60.2574, -34.0099, 36.2677, 60.4626, -34.1751, 39.4387, 1.2644],
    [22.7233, 20.0904, -46.694, 23.0331, 14.973, -42.5619, 2.0373],
    [90.8027, -2.0831, 1.441, 91.1528, -1.6435, 0.0447, 1.4441],
    [2.0776, 0.0795, -1.135, 0.9033, -0.0636, -0.5514, 0.9082],
]


def assert_published(pairs):
    table = np.array(pairs)
    first, second, published = table[:, :3], table[:, 3:6], table[:, 6]
    assert np.abs(ciede2000(first, second) - published).max() <= 1e-4
    assert np.abs(ciede2000(second, first) - published).max() <= 1e-4


def test_it_agrees_with_published_pairs_in_both_orders():
    assert_published(SOME_PAIRS)


def test_it_agrees_with_all_34_published_pairs_in_both_orders():
    if not ALL_PAIRS.exists():
        pytest.skip("the full table of 34 pairs (shared/data/ciede2000.json) is not beside this")
    pairs = json.loads(ALL_PAIRS.read_text())
    assert len(pairs) == 34
    assert_published(pairs)


def test_it_agrees_with_coloraide_on_random_colours():
    # coloraide's 'lab' stands under D50, so 'lab-d65' is the one to compare with.
    lab = np.random.default_rng(17).uniform([0, -100, -100], [100, 100, 100], (400, 2, 3))
    ours = ciede2000(lab[:, 0], lab[:, 1])
    theirs = [
        Color("lab-d65", list(one)).delta_e(Color("lab-d65", list(other)), method="2000")
        for one, other in lab
    ]
    assert np.abs(ours - theirs).max() < 1e-9
