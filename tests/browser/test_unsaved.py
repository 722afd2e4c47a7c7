"""Whoever leaves a form half filled in is asked first; nobody is asked for a tick, or when all
is saved."""

from __future__ import annotations

import pytest

from decaljobs.models import Project
from tests.browser.visitor import DESK, PHONE
from tests.factories import make_decal, make_project, picture_bytes

pytestmark = pytest.mark.browser
SCREENS = pytest.mark.parametrize("screen", [DESK, PHONE], ids=["desk", "phone"])


class Asked:
    """Counts how often the page asks before it is left, and answers each time."""

    def __init__(self, visitor, *, leave: bool) -> None:
        self.times, self.leave = 0, leave
        visitor.page.on("dialog", self._answer)

    def _answer(self, dialog) -> None:
        assert dialog.type == "beforeunload"
        self.times += 1
        if self.leave:
            dialog.accept()
        else:
            dialog.dismiss()


@SCREENS
def test_words_that_were_typed_are_not_lost_unasked(visit, mara, screen):
    visitor = visit(mara, **screen)
    visitor.go("/projects/new/")
    visitor.write("Name", "Harbour launch")
    asked = Asked(visitor, leave=False)
    with visitor.page.expect_event("dialog"):
        visitor.page.get_by_role("link", name="Bench", exact=True).click()
    assert asked.times == 1
    assert visitor.page.get_by_label("Name").input_value() == "Harbour launch"
    asked.leave = True
    visitor.page.get_by_role("link", name="Bench", exact=True).click()
    visitor.page.wait_for_url("**/")
    assert asked.times == 2


def test_nobody_is_asked_once_it_is_saved(visit, mara):
    visitor = visit(mara, **DESK)
    asked = Asked(visitor, leave=True)
    visitor.go("/projects/new/")
    visitor.write("Name", "Harbour launch")
    visitor.write("Scale", "1:72")
    visitor.press("Begin the project")
    visitor.page.wait_for_url("**/decals/new/")
    visitor.go("/")
    assert asked.times == 0
    assert Project.objects.count() == 1


def test_what_came_back_refused_is_not_saved_either(visit, mara):
    visitor = visit(mara, **DESK)
    asked = Asked(visitor, leave=True)
    visitor.go("/projects/new/")
    visitor.write("Name", "Harbour launch")
    visitor.write("Scale", "small")
    with visitor.refused():
        visitor.press("Begin the project")
        visitor.page.locator('[aria-invalid="true"]').wait_for()
    assert visitor.page.get_by_label("Scale").get_attribute("aria-invalid") == "true"
    assert asked.times == 0
    visitor.page.get_by_role("link", name="Bench", exact=True).click()
    visitor.page.wait_for_url("**/")
    assert asked.times == 1


@pytest.mark.parametrize(
    "change",
    [
        lambda page: page.get_by_label("Finish").select_option("matt"),
        lambda page: page.get_by_label("Notes").fill("two coats"),
        lambda page: page.get_by_label("Body colour").fill("#102030"),
    ],
    ids=["a choice", "a text", "a colour"],
)
def test_every_kind_of_field_counts_and_what_was_put_back_does_not(visit, mara, change):
    project = make_project()
    visitor = visit(mara, **DESK)
    asked = Asked(visitor, leave=True)
    visitor.go(f"/projects/{project.code}/change/")
    visitor.write("Name", "Another")
    visitor.write("Name", project.name)
    visitor.go("/")
    assert asked.times == 0
    visitor.go(f"/projects/{project.code}/change/")
    change(visitor.page)
    visitor.go("/")
    assert asked.times == 1


def test_a_chosen_file_counts(visit, mara):
    visitor = visit(mara, **DESK)
    visitor.go(make_decal().get_absolute_url())
    asked = Asked(visitor, leave=True)
    photo = {"name": "a.jpg", "mimeType": "image/jpeg", "buffer": picture_bytes("JPEG")}
    visitor.page.get_by_label("Choose photos").set_input_files(photo)
    visitor.go("/")
    assert asked.times == 1


def test_nobody_is_asked_for_a_tick_or_a_search(visit, mara):
    make_project()
    visitor = visit(mara, **DESK)
    asked = Asked(visitor, leave=True)
    visitor.go("/projects/new/")
    visitor.page.get_by_label("Overcoat at the end").uncheck()
    visitor.go("/projects/")
    visitor.page.locator("main").get_by_label("Search").fill("launch")
    visitor.go("/")
    assert asked.times == 0
