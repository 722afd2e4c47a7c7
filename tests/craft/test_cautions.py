import pytest

from decaljobs.craft.cautions import Step, advice, advice_on_all
from decaljobs.craft.stages import Build, Printer, Stage

DEFERS = "Follow the product's safety data sheet and local rules."
CAN_HURT = [
    Step.PRINTED,
    Step.COAT,
    Step.SEALED,
    Step.SURFACE,
    Step.BASE_APPLIED,
    Step.CLEAR_APPLIED,
    Step.OVERCOATED,
]


@pytest.mark.parametrize("stage", Stage)
def test_it_advises_on_every_stage(stage):
    assert (advice(stage).caution != "") == (stage is not Stage.PLANNED)


@pytest.mark.parametrize("step", CAN_HURT)
@pytest.mark.parametrize("printer", [None, *Printer])
@pytest.mark.parametrize("build", [None, *Build])
def test_it_defers_once_to_the_safety_data_sheet_where_it_can_hurt(step, printer, build):
    given = advice(step, printer=printer, build=build)
    assert given.caution.endswith(DEFERS)
    assert given.caution.count(DEFERS) == 1
    assert given.materials and given.how


@pytest.mark.parametrize("step", [Step.COAT, Step.SEALED, Step.OVERCOATED])
def test_it_asks_for_air_and_a_respirator_where_it_sprays(step):
    caution = advice(step).caution
    for word in ("ventilation", "respirator", "flames", "isocyanates"):
        assert word in caution
    assert "respirator" in advice(step).materials


@pytest.mark.parametrize("step", [Step.BASE_APPLIED, Step.CLEAR_APPLIED])
def test_it_warns_of_blade_and_vapour_where_it_cuts_and_lays(step):
    given = advice(step)
    assert "blade is sharp" in given.caution and "vapour" in given.caution
    assert "new blade" in given.materials


@pytest.mark.parametrize(
    ("step", "build"),
    [("surface", None), ("base_applied", "laminated"), ("clear_applied", "clear_alone")],
)
def test_it_warns_of_old_lead_paint_where_the_body_is_cleaned(step, build):
    caution = advice(step, build=build).caution
    assert "lead" in caution and "no dry sanding" in caution and "heat gun" in caution


def test_it_warns_of_the_fuser_for_laser_film_only():
    assert "fuser" in advice("printed", printer="laser").caution
    assert "fuser" in advice("printed").caution
    assert "fuser" not in advice("printed", printer="inkjet").caution


def test_it_counts_coats_by_printer():
    assert "3 to 5 light coats" in advice("coat", printer="inkjet").how[0]
    assert "one very fine coat" in advice("coat", printer="laser").how[0]
    assert len(advice("coat").how) == len(advice("coat", printer="laser").how) + 1


def test_it_keeps_fluid_from_beneath_a_clear_layer_on_a_base_only():
    on_base = advice("clear_applied", build="laminated")
    alone = advice("clear_applied", build="clear_alone")
    assert "No fluid beneath" in on_base.caution
    assert "No fluid beneath" not in alone.caution
    assert any("setting fluid on it" in line for line in alone.how)


def test_it_asks_for_the_films_of_the_build():
    assert advice("printed", build="laminated").materials == ("white film", "clear film")
    assert advice("printed", build="clear_alone").materials == ("clear film",)
    assert advice("printed", build="white_alone").materials == ("white film",)


@pytest.mark.parametrize("build", [None, "laminated"])
def test_one_sheet_wants_its_own_film_alone(build):
    fed = advice("printed", build=build, film="white")
    assert fed.materials == ("white film",)
    assert fed.how[0].startswith("At 100 %")
    assert advice_on_all("printed", ["laminated"], film="clear").materials == ("clear film",)


@pytest.mark.parametrize("step", ["base_applied", "clear_applied"])
def test_it_gives_the_soaking_figures(step):
    # Water and the first 10 s: published pages of ceramic-decal suppliers; 30 to 60 s in
    # all for home-printed film: common practice, no source.
    how = " ".join(advice(step).how)
    assert "20 to 23 °C" in how and "10 s" in how and "30 to 60 s" in how


@pytest.mark.parametrize(
    "wrong", [{"step": "sanded"}, {"printer": "plotter"}, {"build": "triple"}, {"film": "red"}]
)
def test_it_rejects_what_it_does_not_know_and_names_what_it_does(wrong):
    asked = {"step": "coat"} | wrong
    with pytest.raises(ValueError, match="is one of: "):
        advice(**asked)


def test_what_is_laid_at_one_go_is_told_for_each_of_its_builds():
    told = advice_on_all("clear_applied", ["laminated", "clear_alone", "laminated"])
    on_base, alone = told.caution.split(" Clear alone: ")
    assert on_base.startswith("Laminated: no fluid beneath: ") and "lead" not in on_base
    assert "lead" in alone and "No fluid" not in alone
    named = [
        line.split(":")[0] for line in told.how if line.split(":")[0].endswith(("ed", "alone"))
    ]
    assert named == ["Laminated", "Clear alone"]
    assert told.soak and told.materials == advice("clear_applied").materials


@pytest.mark.parametrize("builds", [[], ["clear_alone"], ["laminated", "laminated"]])
def test_one_build_is_not_named(builds):
    build = builds[0] if builds else None
    assert advice_on_all("clear_applied", builds) == advice("clear_applied", build=build)


def test_builds_of_which_the_same_is_said_are_not_named():
    both = advice_on_all("coat", ["laminated", "white_alone"], printer="laser")
    assert both == advice("coat", printer="laser")
