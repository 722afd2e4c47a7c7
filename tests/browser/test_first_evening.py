"""The first evening's guide ticks itself off and is put away; empty lists lead on."""

import pytest

from tests.browser.visitor import DESK, PHONE
from tests.factories import make_decal

SCREENS = pytest.mark.parametrize("screen", [DESK, PHONE], ids=["desk", "phone"])


@SCREENS
def test_the_guide_ticks_a_step_off_and_is_put_away(visit, mara, screen):
    maker = visit(mara, **screen)
    maker.go("/")
    assert "Your first evening: 0 of 5 steps done" in maker.text
    maker.follow("Begin a project", within=maker.page.locator(".guide"))
    maker.write("Name", "Harbour launch")
    maker.write("Scale", "1:72")
    maker.press("Begin the project")
    maker.go("/")
    maker.reads("Your first evening: 1 of 5 steps done")
    step = maker.page.locator(".guide-steps li.done")
    assert "Begin a project" in step.inner_text() and "done" in step.inner_text()
    maker.press("Put this guide away")
    maker.go("/")
    assert "Your first evening" not in maker.text


@SCREENS
def test_an_empty_list_leads_to_what_belongs_in_it(visit, mara, screen):
    maker = visit(mara, **screen)
    for path, action, heading in (
        ("/projects/", "Begin a project", "Begin a project"),
        ("/artwork/", "Add artwork", "Add artwork"),
        ("/trials/", "Begin a trial", "Begin a colour trial"),
    ):
        maker.go(path)
        maker.follow(action, within=maker.page.locator(".empty"))
        assert maker.page.get_by_role("heading", level=1).inner_text() == heading


@SCREENS
def test_no_row_moves_when_the_guide_comes_in(visit, mara, screen):
    make_decal()
    maker = visit(mara, **screen)
    maker.page.route("**/bench/guide/", lambda route: route.fulfill(status=204))
    maker.go("/")
    without = maker.page.locator("#bench").bounding_box()
    assert "steps done" not in maker.text
    maker.page.unroute("**/bench/guide/")
    maker.go("/")
    maker.reads("steps done. Next:")
    assert maker.page.locator("#bench").bounding_box() == without
