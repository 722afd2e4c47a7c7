"""The section drawing as inline SVG: well formed, told in classes, in the body's colour."""

from xml.etree import ElementTree

import pytest

from decaljobs.craft.drawings.section import section
from decaljobs.craft.drawings.section_svg import section_svg
from decaljobs.craft.stages import Build, Layer, Stage
from tests.craft.drawings.test_section import DRAWABLE

SVG = "{http://www.w3.org/2000/svg}"


def parsed(svg):
    return ElementTree.fromstring(svg.replace("<svg ", f'<svg xmlns="{SVG[1:-1]}" ', 1))  # noqa: S314


@pytest.mark.parametrize(("build", "stage"), DRAWABLE)
def test_it_is_well_formed_svg_without_styles_or_ids(build, stage):
    drawing = section(build, stage, progress=0.4, missing=list(Layer), labelled=True)
    tree = parsed(section_svg(drawing, "#23472F"))
    assert tree.get("role") == "img"
    assert tree.get("aria-label") == drawing.words
    for element in tree.iter():
        assert not {"style", "id", "onclick"} & set(element.attrib)
        assert "url(" not in "".join(element.attrib.values())


def test_it_names_each_state_with_a_class():
    wet = section_svg(section(Build.LAMINATED, Stage.BASE_APPLIED, progress=0.4), "#23472f")
    over = section_svg(section(Build.LAMINATED, Stage.OVERCOATED), "#23472f")
    gone = section_svg(section(Build.LAMINATED, Stage.CURED, missing=Layer.CLEAR), "#23472f")
    classes = {element.get("class") for svg in (wet, over, gone) for element in parsed(svg).iter()}
    assert classes == {
        "section",
        "section-body",
        "section-base",
        "section-clear",
        "section-overcoat",
        "section-wet",
        "section-to-come",
        "section-missing",
    }


def test_it_paints_the_body_in_its_colour():
    tree = parsed(section_svg(section(Build.LAMINATED, Stage.SET), "#23472F"))
    assert tree.find(f"{SVG}rect[@class='section-body']").get("fill") == "#23472f"


@pytest.mark.parametrize("colour", ["red", '#000000" onload="x', "#00000", "#0000000", ""])
def test_it_rejects_a_colour_of_another_form(colour):
    with pytest.raises(ValueError, match="#rrggbb"):
        section_svg(section(Build.LAMINATED, Stage.SET), colour)
