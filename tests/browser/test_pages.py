"""Every page for everybody: people who hear it read out, small screens, thick fingers.

The pages are those of the URL configuration that answer a GET with HTML, over the example
workshop, so a new one cannot be forgotten.
"""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from axe_playwright_python.sync_playwright import Axe

from decaljobs.models import Person
from decaljobs.services.people.people import make_enter_link
from tests import addresses
from tests.browser.visitor import DESK, PHONE
from tests.factories import EVENING

# 'best-practice' would bring in opinions that no standard backs; these are WCAG 2.2 A and AA.
STANDARDS = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]
# A theme changes colours and nothing else: these rules are all that could fail by night alone.
COLOURS = ["color-contrast", "link-in-text-block"]
SMALLEST_TYPE_PX, SMALLEST_TOUCH_PX = 16, 44
#: Of a page with its styles and scripts as they are sent, without pictures.
MOST_BYTES = 150_000

UNFOLD = "for (const part of document.querySelectorAll('details')) part.open = true"

SMALL_TYPE = """smallest => [...document.querySelectorAll("body *")]
  .filter(e => !e.closest("svg") && e.checkVisibility())
  .filter(e => [...e.childNodes].some(n => n.nodeType === 3 && n.data.trim()))
  .filter(e => parseFloat(getComputedStyle(e).fontSize) < smallest)
  .map(e => e.outerHTML.slice(0, 120))"""

# A box or dial is pressed by its label; links in running text are exempt by WCAG 2.5.8.
SMALL_TARGETS = """smallest => [...document.querySelectorAll(
    "button, .button, summary, select, textarea, input:not([type=hidden]), .nav a")]
  .map(e => e.matches("[type=checkbox], [type=radio]") ? e.labels[0] ?? e : e)
  .filter(e => e.checkVisibility())
  .map(e => [e, e.getBoundingClientRect()])
  .filter(([e, box]) => Math.min(box.width, box.height) < smallest - 0.01)
  .map(([e, box]) => `${box.width} x ${box.height}: ${e.outerHTML.slice(0, 120)}`)"""

SAME_IDS = """[...document.querySelectorAll("[id]")].map(e => e.id)
  .filter((id, place, all) => all.indexOf(id) !== place)"""


# As sent, cached or not: what the page is, and what it asks for beside pictures.
WEIGHT = """[...performance.getEntriesByType("navigation"),
    ...performance.getEntriesByType("resource").filter(
      e => ["link", "script", "css", "xmlhttprequest", "fetch"].includes(e.initiatorType))]
  .reduce((sum, e) => sum + e.encodedBodySize, 0)"""

MOVING = """document.getAnimations().length + [...document.querySelectorAll("body *")]
  .filter(e => parseFloat(getComputedStyle(e).transitionDuration) > 0).length"""


@pytest.fixture
def example(workshop) -> Person:
    """The owner of the example workshop."""
    return addresses.furnish(EVENING)


@pytest.fixture
def shown(example, client) -> list[str]:
    """The address of every page, in every way its records stand."""
    client.force_login(example)
    names = addresses.pages(client)
    assert {"bench", "project", "decal", "sheet", "rule", "person", "search"} <= set(names)
    return [path for name in names for path in addresses.paths_of(name)]


def violations(page) -> Iterator[str]:
    """What axe-core finds against WCAG, by day and by night."""
    page.evaluate(Axe().axe_script)
    for theme, rules in (("light", STANDARDS), ("dark", COLOURS)):
        page.emulate_media(color_scheme=theme, reduced_motion="reduce")
        options = {"runOnly": rules, "resultTypes": ["violations"]}
        for found in page.evaluate("options => axe.run(options)", options)["violations"]:
            for node in found["nodes"]:
                yield f"{theme}, {found['id']}: {node['html'][:160]} ({node['failureSummary']})"


def violations_now(page) -> Iterator[str]:
    """What axe-core finds against WCAG in the theme that is shown."""
    page.evaluate(Axe().axe_script)
    options = {"runOnly": STANDARDS, "resultTypes": ["violations"]}
    for found in page.evaluate("options => axe.run(options)", options)["violations"]:
        yield from (f"{found['id']}: {node['html'][:160]}" for node in found["nodes"])


def legibility(page) -> Iterator[str]:
    """Type that is too small, targets that are, what lies beyond the edge, and labels that
    could belong to either of two fields."""
    yield from page.evaluate(SMALL_TYPE, SMALLEST_TYPE_PX)
    yield from page.evaluate(SMALL_TARGETS, SMALLEST_TOUCH_PX)
    yield from (f"two of the id {name}" for name in page.evaluate(SAME_IDS))
    beyond = page.evaluate("document.documentElement.scrollWidth - innerWidth")
    if beyond > 0:
        yield f"scrolls sideways by {beyond} px"


def faults(visitor, paths, look, widths=(1280, 390)) -> list[str]:
    """What the look finds wrong, page by page, at each width of the window."""
    wrong = []
    for path in paths:
        visitor.go(path)
        visitor.page.evaluate(UNFOLD)
        for width in widths:
            visitor.page.set_viewport_size({"width": width, "height": 844})
            wrong += [f"{path} at {width} px: {fault}" for fault in look(visitor.page)]
    return wrong


def weight(page) -> Iterator[str]:
    """A page too heavy for a slow line, or one that moves where nothing is to move."""
    page.emulate_media(reduced_motion="reduce")
    size = page.evaluate(WEIGHT)
    if size > MOST_BYTES:
        yield f"{size:,} bytes without pictures"
    if page.evaluate(MOVING):
        yield "moves although that is not wanted"


def large_type(page) -> Iterator[str]:
    """What lies beyond the edge once all type is twice as large (WCAG 1.4.4)."""
    page.evaluate("document.documentElement.style.fontSize = '200%'")
    beyond = page.evaluate("document.documentElement.scrollWidth - innerWidth")
    page.evaluate("document.documentElement.style.fontSize = ''")
    if beyond > 0:
        yield f"scrolls sideways by {beyond} px with type of 200 %"


def test_no_page_shuts_anybody_out(visit, example, shown):
    visitor = visit(example)
    wrong = faults(visitor, shown, violations)
    assert not wrong, "\n".join(wrong)


def test_the_door_shuts_nobody_out(visit, workshop):
    stranger = visit()
    first = make_enter_link(person=None, moment=EVENING)
    wrong = faults(stranger, ["/sign-in/", first], violations)
    with stranger.refused(410):
        wrong += faults(stranger, [addresses.path_of("enter")], violations)
    assert not wrong, "\n".join(wrong)


def test_an_empty_workshop_shuts_nobody_out(visit, mara):
    visitor = visit(mara)
    lists = ["/", "/projects/", "/sheets/", "/artwork/", "/search/?q=nothing", "/projects/new/"]
    wrong = faults(visitor, lists, violations)
    with visitor.refused(404):
        wrong += faults(visitor, ["/projects/none/"], violations)
    assert not wrong, "\n".join(wrong)


#: Forms sent with nothing in them, by the button that sends them.
SENT_EMPTY = {
    "/projects/new/": "Begin the project",
    "/projects/P-01/decals/new/": "Add to the project",
    "/projects/P-01/placing/": "Add the panel",
    "/artwork/new/": "Keep the artwork",
    "/sheets/new/": "Take the sheet",
    "/sheets/printers/": "Keep the measure",
    "/trials/new/": "Make round 1",
    "/drying/rooms/new/": "Keep the room",
    "/people/new/": "Let them in",
    "/stores/new/?kind=film": "Keep it",
    "/hand/": "Keep these figures",
}
EMPTIED = """for (const form of document.querySelectorAll("main form")) {
  form.noValidate = true;
  for (const field of form.querySelectorAll("input:not([type=hidden]):not([type=radio])"
      + ":not([type=checkbox]):not([type=color]), textarea")) field.value = "";
}"""


@pytest.mark.parametrize("screen", [DESK, PHONE], ids=["desk", "phone"])
def test_what_is_told_of_a_wrong_value_shuts_nobody_out(visit, example, screen):
    visitor = visit(example, **screen)
    wrong = []
    for path, button in SENT_EMPTY.items():
        visitor.go(path)
        visitor.page.evaluate(UNFOLD)
        visitor.page.evaluate(EMPTIED)
        with visitor.refused():
            visitor.press(button)
            visitor.page.locator('[aria-invalid="true"]').first.wait_for()
        wrong += [
            f"{path}: {fault}" for fault in (*violations(visitor.page), *legibility(visitor.page))
        ]
    assert not wrong, "\n".join(wrong)


def test_every_page_can_be_read_and_pressed(visit, example, shown):
    """Type of 16 px and more, targets of 44 by 44 px and more, nothing beyond the edge."""
    visitor = visit(example)
    # 640 px are 1280 at a zoom of 200 %, 320 px at one of 400 % (WCAG 1.4.10).
    wrong = faults(visitor, shown, legibility, widths=(1280, 640, 390, 320))
    assert not wrong, "\n".join(wrong)


def test_every_page_is_light_and_still_and_bears_large_type(visit, example, shown):
    """No console error and no request to another host either: the visitor sees to that."""
    visitor = visit(example)

    def look(page):
        yield from weight(page)
        yield from large_type(page)

    wrong = faults(visitor, shown, look, widths=(1280,))
    assert not wrong, "\n".join(wrong)


@pytest.mark.parametrize("theme", ["light", "dark"])
def test_a_theme_that_was_chosen_goes_before_the_system_s_and_on_paper_it_is_light(
    visit, mara, theme
):
    visitor = visit(mara)
    visitor.go("/looks/")
    visitor.press(theme.capitalize())
    other = "dark" if theme == "light" else "light"
    visitor.page.emulate_media(color_scheme=other)
    paper = "getComputedStyle(document.body).backgroundColor"
    dark, white = "rgb(21, 24, 26)", "rgb(255, 255, 255)"
    assert (visitor.page.evaluate(paper) == dark) == (theme == "dark")
    assert not list(violations_now(visitor.page))
    visitor.page.emulate_media(media="print")
    assert visitor.page.evaluate(paper) == white
