"""What each build passes through, in which order, and what a mishap takes back.

The order of work is common practice, no source (the trade's own chain of steps).
"""

import pytest

from decaljobs.craft.stages import (
    Build,
    Film,
    Layer,
    Stage,
    StageError,
    check_next,
    following,
    laid_layers,
    route,
    spoil,
)


@pytest.mark.parametrize(
    ("build", "expected"),
    [
        (
            Build.LAMINATED,
            "planned printed sealed base_applied cured clear_applied set overcoated",
        ),
        (Build.CLEAR_ALONE, "planned printed sealed clear_applied set overcoated"),
        (Build.WHITE_ALONE, "planned printed sealed base_applied set overcoated"),
    ],
)
def test_it_takes_each_build_through_its_own_stages(build, expected):
    assert " ".join(route(build, overcoat=True)) == expected
    assert " ".join(route(build, overcoat=False)) == expected.removesuffix(" overcoated")


@pytest.mark.parametrize("build", list(Build))
def test_it_refuses_every_step_but_the_next(build):
    for stage in route(build, overcoat=True):
        allowed = following(build, stage, overcoat=True)
        for step in Stage:
            if step is allowed:
                check_next(build, stage, step, overcoat=True)
                continue
            with pytest.raises(StageError, match="cannot follow"):
                check_next(build, stage, step, overcoat=True)


def test_it_ends_when_the_overcoat_is_called_off_after_it():
    assert following(Build.LAMINATED, Stage.OVERCOATED, overcoat=False) is None


def test_white_film_is_for_the_base_and_clear_film_for_the_clear():
    assert (Film.WHITE.layer, Film.CLEAR.layer) == (Layer.BASE, Layer.CLEAR)


@pytest.mark.parametrize(
    ("build", "stage", "layer", "back_to", "lost", "clean"),
    [
        (Build.LAMINATED, Stage.BASE_APPLIED, Layer.BASE, Stage.SEALED, (Layer.BASE,), True),
        (Build.LAMINATED, Stage.CURED, Layer.BASE, Stage.SEALED, (Layer.BASE,), True),
        (Build.LAMINATED, Stage.CLEAR_APPLIED, Layer.CLEAR, Stage.CURED, (Layer.CLEAR,), False),
        (
            Build.LAMINATED,
            Stage.SET,
            Layer.BASE,
            Stage.SEALED,
            (Layer.BASE, Layer.CLEAR),
            True,
        ),
        (Build.CLEAR_ALONE, Stage.SET, Layer.CLEAR, Stage.SEALED, (Layer.CLEAR,), True),
    ],
)
def test_spoiling_takes_back_just_what_is_lost(build, stage, layer, back_to, lost, clean):
    loss = spoil(build, stage, layer)
    assert (loss.back_to, loss.layers, loss.clean_surface) == (back_to, lost, clean)


def test_it_refuses_to_spoil_a_layer_that_is_not_laid():
    with pytest.raises(StageError, match="no clear layer"):
        spoil(Build.LAMINATED, Stage.CURED, Layer.CLEAR)
    assert laid_layers(Build.LAMINATED, Stage.SEALED) == ()
