"""The large drawing of measured art: what is on it, at every zoom."""

import re

import numpy as np
import pytest
from defusedxml import ElementTree

from decaljobs.craft.art.drawing import Frame, art_svg, frame_of

SVG = "{http://www.w3.org/2000/svg}"


def ring(radius: float) -> list[list[float]]:
    turn = np.linspace(0, 2 * np.pi, 1001)
    return np.column_stack([15 + radius * np.cos(turn), 10 + radius * np.sin(turn)]).tolist()


FOUND = {
    "band": {"min_at_mm": [23.0, 10.0]},
    "base_cut": {"rings": [ring(7)]},
    "clear_cut": {"rings": [ring(9)]},
    "relief_cuts": [[[8.0, 10.0], [3.0, 10.0]], [[22.0, 10.0], [27.0, 10.0]]],
}
RECTANGLE = [3, -2, 27, 22]


def drawn(zoom: float = 1, at: tuple[float, float] | None = None, **found: object) -> str:
    return art_svg(
        FOUND | found,
        {"rectangle": RECTANGLE},
        picture="/art/1.png",
        size_mm=(30, 20),
        frame=frame_of(RECTANGLE, zoom, at),
        label="Badge",
    ).replace("<svg ", '<svg xmlns="http://www.w3.org/2000/svg" ')


def labels(svg: str) -> dict[str, tuple[float, float]]:
    texts = ElementTree.fromstring(svg).iter(f"{SVG}text")
    return {one.text: (float(one.get("x")), float(one.get("y"))) for one in texts}


def test_it_names_each_line_on_it():
    found = labels(drawn())
    assert set(found) == {"base", "clear", "relief"}
    for name, radius in (("base", 7), ("clear", 9)):
        x, y = found[name]
        assert np.hypot(x - 15, y - 10) == pytest.approx(radius, abs=0.4)
    assert found["relief"][0] > 22


def test_it_tells_lines_apart_by_their_dashes():
    groups = {one.get("class"): one for one in ElementTree.fromstring(drawn()).iter(f"{SVG}g")}
    dashes = [groups[f"cut-{kind}"].get("stroke-dasharray") for kind in ("base", "clear", "relief")]
    assert dashes[0] is None
    assert None not in dashes[1:] and len(set(dashes)) == 3


@pytest.mark.parametrize("zoom", [1, 4, 8, 16])
def test_its_words_stay_within_what_is_shown(zoom: int):
    frame = frame_of(RECTANGLE, zoom, (23, 10))
    named = labels(drawn(zoom, (23, 10)))
    assert named
    for x, y in named.values():
        assert frame.left < x < frame.left + frame.width
        assert frame.top < y < frame.top + frame.height


def test_it_names_no_line_that_is_not_there():
    assert labels(drawn(base_cut={"rings": []})).keys() == {"clear", "relief"}


def test_it_draws_no_more_points_than_can_be_seen():
    coarse, fine = (len(re.findall(r"\d,", drawn(zoom, (23, 10)))) for zoom in (1, 16))
    assert 60 < coarse < fine / 2


def test_it_refuses_a_zoom_out_of_range():
    with pytest.raises(ValueError, match="1 to 32"):
        frame_of(RECTANGLE, 33)
    assert frame_of(RECTANGLE) == Frame(3, -2, 24, 24)
