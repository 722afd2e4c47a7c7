"""Public zero-waste instances: Hopper and Turton 2001, Burke, Kendall and Whitwell 2004."""

from pathlib import Path

import pytest

from decaljobs.craft.sheetlayout import lay_out_strip
from tests.benchmarks.strip import check, read_folder

FOLDER = Path(__file__).parents[2].parent / "shared" / "data" / "strip"

pytestmark = pytest.mark.skipif(
    not FOLDER.is_dir(), reason="the public strip instances are not at ../shared/data/strip"
)


def instances():
    return {instance.name: instance for instance in read_folder(FOLDER)}


@pytest.mark.parametrize("name, optimum", [("C1_1", 20), ("C3_1", 15), ("BKW1", 40), ("BKW3", 50)])
def test_it_reaches_the_known_optimum_of_small_instances(name, optimum):
    instance = instances()[name]
    layout = lay_out_strip(instance.pieces, instance.width, gap=0, iterations=60, together=False)
    check(instance, layout, straight_cuts=False)
    assert layout.length == optimum


@pytest.mark.slow
def test_it_stays_within_three_percent_on_every_instance():
    """All of them come from cutting one strip, so that 100 % is the optimum of each."""
    used = {}
    for name, instance in instances().items():
        layout = lay_out_strip(
            instance.pieces, instance.width, gap=0, iterations=30, together=False
        )
        check(instance, layout, straight_cuts=False)
        used[name] = instance.utilisation(layout.length)
    assert len(used) >= 18
    assert min(used.values()) > 97, used
