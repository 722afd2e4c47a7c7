"""Artwork measured from the terminal."""

import io
import json
from pathlib import Path

import pytest
from defusedxml import ElementTree
from django.core.management import CommandError, call_command

from tests.craft.artshapes import disc, draw, on_paper


@pytest.fixture
def art(tmp_path: Path) -> Path:
    path = tmp_path / "roundel.png"
    draw(disc(12, 12, 10), disc(12.3, 12, 9), (24, 24), 300).save(path)
    return path


def measured(*arguments: object) -> str:
    out = io.StringIO()
    call_command("measure", *(str(argument) for argument in arguments), stdout=out)
    return out.getvalue()


def test_it_says_the_main_figures(art: Path):
    text = measured(art, "--width", 20)
    assert "20.00 × 20.00 mm, 300 dpi" in text
    assert "0.70 mm at its narrowest" in text
    assert "chance of a clean edge" in text


@pytest.mark.parametrize("size", [("--width", 20), ("--height", 20), ("--dpi", 300)])
def test_it_answers_as_json(art: Path, size: tuple):
    plain = json.loads(measured(art, *size, "--json"))
    assert plain["width_mm"] == pytest.approx(20, abs=0.01)
    assert plain["band"]["min_mm"] == pytest.approx(0.7, abs=0.01)


LINE = {"rings", "length_mm", "tightest_radius_mm"}
KEYS = {
    "": {
        *("width_mm", "height_mm", "islands", "holes", "band", "base_cut", "clear_cut"),
        *("smallest_light_detail_mm", "relief_cuts", "clean_chance", "band_for_95_mm", "advice"),
    },
    "band": {"min_mm", "min_at_mm", "p05_mm", "median_mm", "missing_mm"},
    "base_cut": {*LINE, "clearance_mm"},
    "clear_cut": LINE,
}


@pytest.mark.parametrize("light", [9, 0])
def test_its_json_has_these_keys_and_no_others(tmp_path: Path, light: int):
    path = tmp_path / "art.png"
    draw(disc(12, 12, 10), disc(12, 12, light), (24, 24), 300).save(path)
    plain = json.loads(measured(path, "--dpi", 300, "--json"))
    assert (plain["base_cut"]["rings"] == []) == (light == 0)
    assert {name: set(plain[name] if name else plain) for name in KEYS} == KEYS


def test_its_json_counts_from_the_picture_s_corner_downwards(tmp_path: Path):
    path = tmp_path / "art.png"
    draw(disc(8, 17, 5), disc(8, 17, 4), (30, 24), 300).save(path)
    plain = json.loads(measured(path, "--width", 10, "--json"))
    ring = plain["clear_cut"]["rings"][0]
    assert ring[0] == ring[-1]
    middle = [sum(place[axis] for place in ring[1:]) / (len(ring) - 1) for axis in (0, 1)]
    assert middle == pytest.approx([8, 17], abs=0.02)
    assert all(len(cut) == 2 == len(cut[0]) for cut in plain["relief_cuts"])


def test_it_takes_the_hand_and_the_margin(art: Path):
    plain = json.loads(
        measured(
            art, "--dpi", 300, "--json", "--knife", 0.05, "--lay-down", 0.06, "--clear-margin", 2
        )
    )
    rough = json.loads(measured(art, "--dpi", 300, "--json"))
    assert plain["clean_chance"] > 0.99 > rough["clean_chance"]
    assert plain["clear_cut"]["length_mm"] == pytest.approx(2 * 3.14159 * 12, rel=0.001)


def test_it_takes_the_band_colour(tmp_path: Path):
    path = tmp_path / "red.png"
    draw(disc(12, 12, 10), disc(12, 12, 9), (24, 24), 300, band=(240, 200, 60)).save(path)
    assert json.loads(measured(path, "--dpi", 300, "--json"))["band"]["missing_mm"] > 60
    told = json.loads(measured(path, "--dpi", 300, "--json", "--band-colour", "#f0c83c"))
    assert told["band"]["missing_mm"] == 0
    assert told["band"]["median_mm"] == pytest.approx(1, abs=0.01)


def test_it_draws_the_guides(art: Path, tmp_path: Path):
    out = tmp_path / "guides.svg"
    measured(art, "--dpi", 300, "--svg", out)
    root = ElementTree.parse(out).getroot()
    assert float(root.get("width").removesuffix("mm")) == pytest.approx(28, abs=0.05)
    assert {group.get("id") for group in root} >= {"base", "clear", "relief", "rectangle"}


def test_it_measures_jpeg_and_svg_alike(tmp_path: Path):
    photo = tmp_path / "art.jpg"
    on_paper(draw(disc(12, 12, 10), disc(12.3, 12, 9), (24, 24), 300)).save(photo, quality=85)
    drawing = tmp_path / "art.svg"
    drawing.write_text(
        '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 24 24">'
        '<circle cx="12" cy="12" r="10"/><circle cx="12.3" cy="12" r="9" fill="#fff"/></svg>'
    )
    for path in (photo, drawing):
        plain = json.loads(measured(path, "--width", 20, "--json"))
        assert plain["band"]["min_mm"] == pytest.approx(0.7, abs=0.01)


def test_it_gives_geometry_problems_as_advice(tmp_path: Path):
    path = tmp_path / "plain.png"
    draw(disc(12, 12, 10), disc(14, 12, 9), (24, 24), 300).save(path)
    advice = json.loads(measured(path, "--width", 20, "--json"))["advice"]
    assert any("no outline band" in sentence for sentence in advice)


@pytest.mark.parametrize(
    ("content", "sentence"),
    [(b"", "empty"), (b"GIF89a", "neither a PNG"), (b"<svg xmlns='x'/>", "not an SVG")],
)
def test_it_ends_with_1_on_files_it_cannot_read(tmp_path: Path, content: bytes, sentence: str):
    path = tmp_path / "art.png"
    path.write_bytes(content)
    with pytest.raises(CommandError, match=sentence) as caught:
        measured(path, "--width", 20)
    assert caught.value.returncode == 1


def test_it_ends_with_1_on_files_that_are_not_there(tmp_path: Path):
    with pytest.raises(CommandError, match="No such file") as caught:
        measured(tmp_path / "none.png", "--width", 20)
    assert caught.value.returncode == 1


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        ((), "one of the arguments --width --height --dpi"),
        (("--width", 20, "--dpi", 300), "not allowed with argument --width"),
        (("--width", 5000), "0.5 to 2000 mm"),
        (("--dpi", 300, "--knife", 0), "0.005 to 2 mm"),
        (("--dpi", 300, "--clear-margin", 50), "0.1 to 20 mm"),
        (("--dpi", 300, "--band-colour", "red"), "#rrggbb"),
    ],
)
def test_it_refuses_arguments_it_cannot_mean(art: Path, arguments: tuple, said: str):
    with pytest.raises(CommandError, match=said):
        measured(art, *arguments)
