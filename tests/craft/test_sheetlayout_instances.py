"""Public zero-waste instances: Hopper and Turton 2001, Burke, Kendall and Whitwell 2004."""

from pathlib import Path

import pytest

from tests.benchmarks.strip import check, read_folder

FOLDER = Path(__file__).parents[2].parent / "shared" / "data" / "strip"

pytestmark = pytest.mark.skipif(
    not FOLDER.is_dir(), reason="the public strip instances are not at ../shared/data/strip"
)


def instances():
    return {instance.name: instance for instance in read_folder(FOLDER)}


@pytest.mark.parametrize("name, optimum", [("C1_1", 20), ("C3_1", 15), ("BKW1", 40), ("BKW3", 50)])
def test_it_reaches_the_known_optimum_of_small_instances(name, optimum):
    from decaljobs.craft.sheetlayout import lay_out_strip

    instance = instances()[name]
    layout = lay_out_strip(instance.pieces, instance.width, gap=0, iterations=60, together=False)
    check(instance, layout, straight_cuts=False)
    assert layout.length == optimum


@pytest.mark.slow
def test_it_stays_within_three_percent_on_every_instance():
    from decaljobs.craft.sheetlayout import lay_out_strip

    for instance in instances().values():
        layout = lay_out_strip(
            instance.pieces, instance.width, gap=0, iterations=30, together=False
        )
        check(instance, layout, straight_cuts=False)
        assert instance.utilisation(layout.length) > 93
