"""Work brought in, copied, changed together, put away and brought back, by clicking."""

import pytest

from decaljobs.models import Project
from tests.browser.visitor import DESK, PHONE
from tests.factories import make_decals, make_project

pytestmark = pytest.mark.browser
SCREENS = pytest.mark.parametrize("screen", [DESK, PHONE], ids=["desk", "phone"])


@SCREENS
def test_lines_are_pasted_looked_at_corrected_and_saved(visit, mara, screen):
    visitor = visit(mara, **screen)
    visitor.go("/in-and-out/")
    visitor.write("Or paste the lines here", "name,scale\nTug Heron,1:72\nTug Tern,tiny\n")
    visitor.press("Look at the lines")
    visitor.reads("Line 3, Tug Tern: scale: That is not a scale.")
    visitor.write("Or paste the lines here", "name,scale\nTug Heron,1:72\nTug Tern,1:48\n")
    visitor.press("Look again")
    visitor.reads("Every line can be taken")
    visitor.press("Save 2 projects")
    visitor.reads("Brought in: 2 projects.")
    assert Project.objects.count() == 2


@SCREENS
def test_a_project_is_copied_changed_put_away_and_brought_back(visit, mara, screen):
    make_decals(2, project=make_project(name="Tug Heron", code="P-01"), place="Door")
    visitor = visit(mara, **screen)
    visitor.go("/projects/P-01/")
    visitor.follow("Copy as a new project")
    visitor.write("Name", "Tug Tern")
    visitor.press("Begin the copy")
    visitor.follow("Change several decals")
    visitor.tick("Door 1 of 2")
    visitor.page.get_by_label("Build").select_option("white_alone")
    visitor.press("Change the ticked decals")
    visitor.reads("1 decal is changed.")
    visitor.press("Put away")
    visitor.reads("It is off the bench")
    visitor.press("Bring it back")
    visitor.reads("is at work again")
    copied = Project.objects.get(name="Tug Tern")
    assert sorted(copied.decals.values_list("build", flat=True)) == ["laminated", "white_alone"]


@SCREENS
def test_everything_is_taken_out_with_one_press(visit, mara, screen):
    make_project(name="Tug Heron", code="P-01")
    visitor = visit(mara, **screen)
    visitor.go("/in-and-out/")
    with visitor.page.expect_download() as begun:
        visitor.follow("One JSON file")
    with open(begun.value.path(), encoding="utf-8") as file:
        assert '"name": "Tug Heron"' in file.read()
