import pytest
from hypothesis import given
from hypothesis import strategies as st

from decaljobs.craft.drawings.section import (
    Bar,
    Role,
    State,
    cross_lines,
    hatch_lines,
    section,
    wet_part,
)
from decaljobs.craft.stages import Build, Layer, Stage, route

DRAWABLE = [(build, stage) for build in Build for stage in route(build, overcoat=True)]


def states(drawing):
    return {str(bar.role): str(bar.state) for bar in drawing.shapes}


@pytest.mark.parametrize(
    ("stage", "base", "clear"),
    [
        (Stage.PLANNED, "to_come", "to_come"),
        (Stage.SEALED, "to_come", "to_come"),
        (Stage.BASE_APPLIED, "laid", "to_come"),
        (Stage.CURED, "laid", "to_come"),
        (Stage.CLEAR_APPLIED, "laid", "laid"),
        (Stage.SET, "laid", "laid"),
    ],
)
def test_it_lays_the_layers_of_a_laminated_decal_in_order(stage, base, clear):
    drawn = states(section(Build.LAMINATED, stage))
    assert drawn == {"body": "laid", "base": base, "clear": clear}


def test_it_draws_only_the_layer_of_a_single_build():
    assert set(states(section(Build.CLEAR_ALONE, Stage.SET))) == {"body", "clear"}
    assert set(states(section(Build.WHITE_ALONE, Stage.SET))) == {"body", "base"}


def test_it_draws_the_overcoat_once_it_is_on():
    assert states(section(Build.WHITE_ALONE, Stage.OVERCOATED))["overcoat"] == "laid"


@pytest.mark.parametrize(
    ("build", "stage", "wet"),
    [
        (Build.LAMINATED, Stage.BASE_APPLIED, "base"),
        (Build.LAMINATED, Stage.CLEAR_APPLIED, "clear"),
        (Build.CLEAR_ALONE, Stage.CLEAR_APPLIED, "clear"),
        (Build.WHITE_ALONE, Stage.BASE_APPLIED, "base"),
        (Build.LAMINATED, Stage.OVERCOATED, "overcoat"),
    ],
)
def test_it_hatches_the_layer_that_was_laid_last(build, stage, wet):
    drawn = states(section(build, stage, progress=0.5))
    assert [role for role, state in drawn.items() if state == "wet"] == [wet]


def test_it_hatches_the_layer_that_is_named():
    drawing = section(Build.LAMINATED, Stage.SET, progress=0.5, layer_wet=Layer.BASE)
    assert states(drawing)["base"] == "wet"
    assert states(drawing)["clear"] == "laid"


def test_it_keeps_a_layer_drying_on_its_sheet_dashed():
    drawing = section(Build.LAMINATED, Stage.PRINTED, progress=0.25)
    for bar in drawing.shapes[1:]:
        assert (bar.state, bar.solid) == (State.TO_COME, 0.25)
        assert hatch_lines(bar)
    assert "clear to come, 25 % over on its sheet" in drawing.words


def test_it_shows_nothing_wet_once_the_drying_is_over():
    assert states(section(Build.LAMINATED, Stage.BASE_APPLIED, progress=1.0))["base"] == "laid"


@pytest.mark.parametrize("missing", [Layer.CLEAR, "clear", [Layer.CLEAR], {Layer.CLEAR}])
def test_it_crosses_out_a_missing_layer(missing):
    drawing = section(Build.LAMINATED, Stage.CURED, missing=missing)
    assert states(drawing) == {"body": "laid", "base": "laid", "clear": "missing"}
    assert "clear missing" in drawing.words


def test_it_does_not_cross_out_a_layer_that_is_on_the_model():
    drawn = states(section(Build.LAMINATED, Stage.CURED, missing=[Layer.BASE, Layer.CLEAR]))
    assert drawn["base"] == "laid"


@pytest.mark.parametrize("progress", [-0.01, 1.01, float("nan")])
def test_it_rejects_a_progress_that_is_no_share(progress):
    with pytest.raises(ValueError, match="between 0 and 1"):
        section(Build.LAMINATED, Stage.BASE_APPLIED, progress=progress)


def test_it_rejects_a_size_of_nothing_and_a_stage_of_another_build():
    with pytest.raises(ValueError, match="higher than 0"):
        section(Build.LAMINATED, Stage.SET, width=0)
    with pytest.raises(ValueError, match="at one of: planned, printed, sealed, clear applied"):
        section(Build.CLEAR_ALONE, Stage.CURED)


@pytest.mark.parametrize(("build", "stage"), DRAWABLE)
@pytest.mark.parametrize("labelled", [False, True])
def test_it_keeps_every_bar_inside_and_none_on_another(build, stage, labelled):
    drawing = section(build, stage, width=170, height=66, labelled=labelled)
    foot = drawing.height
    for bar in drawing.shapes:
        assert bar.x >= 0 and bar.x + bar.width <= drawing.width
        assert bar.y >= 0 and bar.y + bar.height <= foot
        foot = bar.y
    assert len(drawing.labels) == (len(drawing.shapes) if labelled else 0)
    for label in drawing.labels:
        assert all(label.x >= bar.x + bar.width for bar in drawing.shapes)


def test_it_makes_the_clear_layer_wider_than_the_base():
    _, base, clear = section(Build.LAMINATED, Stage.SET).shapes
    assert clear.x < base.x and clear.x + clear.width > base.x + base.width


@given(st.floats(0, 1), st.floats(5, 500), st.floats(0.5, 50))
def test_it_hatches_the_wet_part_and_nothing_else(solid, width, height):
    bar = Bar(3, 7, width, height, Role.BASE, State.WET, solid)
    left, wide = wet_part(bar)
    assert left + wide == pytest.approx(3 + width)
    for line in hatch_lines(bar):
        for x, y in ((line.x1, line.y1), (line.x2, line.y2)):
            assert left - 1e-6 <= x <= left + wide + 1e-6
            assert 7 - 1e-6 <= y <= 7 + height + 1e-6
    assert bool(hatch_lines(bar)) or wide < height


def test_it_crosses_out_about_the_middle():
    bar = Bar(10, 20, 40, 8, Role.CLEAR, State.MISSING)
    crossing = cross_lines(bar)
    assert len(crossing) == 2
    for line in crossing:
        assert ((line.x1 + line.x2) / 2, (line.y1 + line.y2) / 2) == (30, 24)


def test_it_is_wider_with_labels_unless_told_otherwise():
    plain, large = (section("laminated", "set", labelled=each) for each in (False, True))
    assert (plain.width, plain.height) == (74, 52)
    assert large.width > 2 * plain.width
    assert section("laminated", "set", width=100, labelled=True).width == 100
