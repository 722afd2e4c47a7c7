"""Projects changed: what others did meanwhile stays, and an overcoat is waited for."""

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from decaljobs.craft.stages import Build, Stage
from decaljobs.models import Project
from decaljobs.services.bench import steps
from decaljobs.services.projects import bin as bins
from decaljobs.services.projects import projects
from tests.factories import EVENING, make_decals, make_project, sealed_sheet

pytestmark = pytest.mark.django_db


def test_what_others_did_meanwhile_stays():
    seen = make_project(name="Tug Heron")
    bins.put_away(project=seen.pk, moment=EVENING)
    projects.change_project(project=seen, notes="wants a mast")
    kept = Project.objects.get(pk=seen.pk)
    assert (kept.notes, kept.archived_at) == ("wants a mast", EVENING)


@pytest.mark.parametrize("number", [1, 4])
def test_an_overcoat_wanted_later_is_waited_for_by_every_decal(maker, number):
    project = make_project(overcoat=False)
    decals = make_decals(number, Build.WHITE_ALONE, project=project)
    sealed_sheet("white", decals, maker)
    steps.log_step(
        decals=[decal.pk for decal in decals], step=Stage.BASE_APPLIED, by=maker, moment=EVENING
    )
    with CaptureQueriesContext(
        connection,
    ) as asked:
        projects.change_project(project=project, overcoat=True)
    assert len(asked) <= 14, "as many for one decal as for four"
    for decal in project.decals.all():
        assert any(leg["to"] == Stage.OVERCOATED for leg in decal.waits)
        assert decal.next_step == Stage.OVERCOATED
