"""What a job card says of a project, gathered from its records."""

from datetime import timedelta

import pytest

from decaljobs.craft.stages import Build, Layer, Stage
from decaljobs.services.bench import spoiling, steps
from decaljobs.services.projects.jobcard import job_card
from tests.factories import EVENING, make_decals, make_project, sealed_decal, sealed_sheet

pytestmark = pytest.mark.django_db
HOUR = timedelta(hours=1)


def card_of(project, moment=EVENING):
    return job_card(project=project, address="http://localhost/projects/P-01/", moment=moment)


def rows_of(decal, moment):
    return {row.step: row for row in card_of(decal.project, moment).decals[0].rows}


def test_it_has_a_row_for_each_step_with_what_was_done_and_what_is_not_before(maker):
    decal = sealed_decal(maker)
    steps.log_step(decals=[decal.pk], step=Stage.BASE_APPLIED, by=maker, moment=EVENING)
    rows = rows_of(decal, EVENING + HOUR)
    assert list(rows) == ["Printed", "Sealed", "Base applied", "Cured", "Clear applied", "Set"]
    assert rows["Base applied"].done == "Mon 2 Nov 19:00"
    assert rows["Cured"].done == ""
    assert rows["Cured"].not_before == rows["Clear applied"].not_before == "Tue 3 Nov 07:00"
    assert rows["Set"].not_before == ""
    assert "blade" in rows["Clear applied"].caution


def test_it_says_that_drying_was_over_by_the_clock(maker):
    decal = sealed_decal(maker)
    steps.log_step(decals=[decal.pk], step=Stage.BASE_APPLIED, by=maker, moment=EVENING)
    cured = rows_of(decal, EVENING + 13 * HOUR)["Cured"]
    assert (cured.done, cured.not_before) == ("Tue 3 Nov 07:00, by the clock", "")


def test_it_shows_why_a_step_came_early(maker):
    decal = sealed_decal(maker)
    steps.log_step(decals=[decal.pk], step=Stage.BASE_APPLIED, by=maker, moment=EVENING)
    steps.log_step(
        decals=[decal.pk],
        step=Stage.CLEAR_APPLIED,
        by=maker,
        moment=EVENING + HOUR,
        reason="for practice",
    )
    assert rows_of(decal, EVENING + HOUR)["Clear applied"].reason == "for practice"


def test_a_spoiled_layer_leaves_its_row_to_be_done_again(maker):
    decal = sealed_decal(maker)
    steps.log_step(decals=[decal.pk], step=Stage.BASE_APPLIED, by=maker, moment=EVENING)
    spoiling.spoil_layer(decal=decal.pk, layer=Layer.BASE, by=maker, moment=EVENING + HOUR)
    rows = rows_of(decal, EVENING + HOUR)
    assert rows["Sealed"].done
    assert rows["Base applied"].done == ""


def test_it_counts_good_copies_and_says_where_they_lie(maker):
    decal = sealed_decal(maker)
    steps.log_step(decals=[decal.pk], step=Stage.BASE_APPLIED, by=maker, moment=EVENING)
    card = card_of(decal.project).decals[0]
    assert card.good_copies == (("base", 1), ("clear", 2))
    assert card.pieces == ("2 clear on C-01, sealed and dry", "1 base on W-01, sealed and dry")
    assert (card.width_mm, card.height_mm) == (24, 12)


@pytest.mark.parametrize("number", [1, 20])
def test_it_is_gathered_with_the_same_queries_for_any_number_of_decals(
    maker, django_assert_num_queries, number
):
    project = make_project()
    sealed_sheet("clear", make_decals(number, Build.CLEAR_ALONE, project=project), maker)
    with django_assert_num_queries(7):
        assert len(card_of(project).decals) == number


def test_a_drying_decal_says_how_far_it_is_and_why(maker):
    decal = sealed_decal(maker)
    steps.log_step(decals=[decal.pk], step=Stage.BASE_APPLIED, by=maker, moment=EVENING)
    (told,) = card_of(decal.project, EVENING + 3 * HOUR).decals
    assert told.drying.startswith("3 of 12 reference hours done; an hour counts 1; dry about")
    (over,) = card_of(decal.project, EVENING + 13 * HOUR).decals
    assert over.drying == ""
