"""A measurement as JSON of the promised keys, and as a drawing in mm."""

import json
from functools import cache

import numpy as np
import pytest
from defusedxml import ElementTree

from decaljobs.craft.artwork import Measurement, measure
from decaljobs.craft.knife.guides import to_json, to_svg
from tests.craft.artshapes import disc, draw

SVG = "{http://www.w3.org/2000/svg}"
KEYS = {
    "width_mm",
    "height_mm",
    "islands",
    "holes",
    "band",
    "base_cut",
    "clear_cut",
    "smallest_light_detail_mm",
    "relief_cuts",
    "clean_chance",
    "band_for_95_mm",
    "advice",
}
LINE_KEYS = {"rings", "length_mm", "tightest_radius_mm"}


@cache
def found(light_radius: float = 9) -> Measurement:
    return measure(draw(disc(12, 12, 10), disc(12.3, 12, light_radius), (24, 24), 300), dpi=300)


def drawn(group) -> list[np.ndarray]:
    """The points of each path of a group, mm."""
    lines = [path.get("d").replace("L", "").strip("MZ") for path in group.findall(f"{SVG}path")]
    return [np.array([place.split(",") for place in line.split()], float) for line in lines]


def test_it_gives_exactly_the_promised_keys():
    plain = to_json(found())
    assert set(plain) == KEYS
    assert set(plain["band"]) == {"min_mm", "min_at_mm", "p05_mm", "median_mm", "missing_mm"}
    assert set(plain["base_cut"]) == LINE_KEYS | {"clearance_mm"}
    assert set(plain["clear_cut"]) == LINE_KEYS
    assert json.loads(json.dumps(plain, allow_nan=False)) == plain


def test_it_gives_rings_that_close_and_lengths_that_agree():
    plain = to_json(found())
    for name in ("base_cut", "clear_cut"):
        (ring,) = plain[name]["rings"]
        assert ring[0] == ring[-1]
        length = np.hypot(*np.diff(np.array(ring), axis=0).T).sum()
        assert plain[name]["length_mm"] == pytest.approx(length, rel=0.001)


def test_it_gives_what_is_not_there_as_null_with_the_same_keys():
    plain = to_json(found(-1))
    assert set(plain) == KEYS
    assert plain["base_cut"] == {
        "rings": [],
        "length_mm": 0.0,
        "tightest_radius_mm": None,
        "clearance_mm": None,
    }
    assert plain["band"]["min_mm"] is None
    assert plain["clean_chance"] is None
    assert plain["advice"]


def test_it_draws_the_guides_in_millimetres():
    root = ElementTree.fromstring(to_svg(found(), "Kav & Co"))
    left, top, width, height = (float(part) for part in root.get("viewBox").split())
    assert root.get("width") == f"{width:.3f}mm"
    assert root.get("height") == f"{height:.3f}mm"
    # 1 mm of clear and 3 mm to the scissors on each side of 20 mm of art
    assert (left, top, width, height) == pytest.approx((-2, -2, 28, 28), abs=0.02)
    assert root.find(f"{SVG}title").text == "Kav & Co"


def test_it_tells_the_lines_apart_by_dash_and_label():
    root = ElementTree.fromstring(to_svg(found()))
    groups = {group.get("id"): group for group in root.findall(f"{SVG}g")}
    assert set(groups) == {"base", "clear", "relief", "rectangle"}
    dashes = [group.get("stroke-dasharray") for group in groups.values()]
    assert len(set(dashes)) == 4
    assert len({group.find(f"{SVG}title").text for group in groups.values()}) == 4


def test_it_draws_every_line_where_it_was_measured():
    root = ElementTree.fromstring(to_svg(found()))
    groups = {group.get("id"): group for group in root.findall(f"{SVG}g")}
    (base,), (clear,) = (drawn(groups[name]) for name in ("base", "clear"))
    # The base: midway between a disc of 10 mm and a light disc of 9 mm, 0.3 mm askew.
    assert np.hypot(*(base - (12.15, 12)).T) == pytest.approx(9.5, abs=0.02)
    assert np.hypot(*(clear - (12, 12)).T) == pytest.approx(11, abs=0.02)
    for line, place in ((base, (12.15, 12)), (clear, (12, 12))):
        turn = np.unwrap(np.arctan2(*(line - place).T))
        assert abs(turn[-1] - turn[0]) > 1.9 * np.pi  # all round, not a part of it
    assert len(drawn(groups["relief"])) == len(found().relief_cuts) > 0
    corner = [float(groups["rectangle"].find(f"{SVG}rect").get(side)) for side in ("x", "y")]
    assert corner == pytest.approx(found().rectangle[:2], abs=0.001)
