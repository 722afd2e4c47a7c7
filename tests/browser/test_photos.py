"""Photos sent from a phone and from a desk: several at once, with JavaScript and without."""

from collections.abc import Iterator
from contextlib import contextmanager

import pytest

from decaljobs.models import Photo
from tests.browser.visitor import DESK, PHONE, Visitor
from tests.factories import make_decal, make_photos, picture_bytes

pytestmark = pytest.mark.browser
SCREENS = pytest.mark.parametrize("screen", [DESK, PHONE], ids=["desk", "phone"])
#: What the page said of photos on their way, line by line.
LISTEN = """window.said = [];
  document.addEventListener("htmx:xhr:progress",
    () => window.said.push(document.querySelector(".sending span")?.textContent))"""


def file(name, data=None):
    return {"name": name, "mimeType": "image/jpeg", "buffer": data or picture_bytes("JPEG")}


@contextmanager
def no_network(visitor: Visitor) -> Iterator[None]:
    """The network is gone in here; what the browser complains of meanwhile is no fault."""
    visitor.context.set_offline(True)
    yield
    visitor.context.set_offline(False)
    visitor._faults.clear()
    visitor._heard_of.clear()


@SCREENS
def test_several_are_sent_without_leaving_the_page(visit, mara, screen):
    decal = make_decal(place="Tail")
    visitor = visit(mara, **screen)
    visitor.go(decal.get_absolute_url())
    visitor.page.evaluate(LISTEN)
    photos = visitor.page.locator("#photos")
    photos.get_by_label("Choose photos").set_input_files([file("one.jpg"), file("two.jpg")])
    photos.get_by_label("What it shows").fill("film still dry")
    visitor.press("Keep the photos")
    photos.get_by_text("2 photos kept.").wait_for()
    assert photos.get_by_alt_text("Before: film still dry").is_visible()
    assert "sent" in visitor.page.evaluate("window.said.join()")
    assert visitor.page.url.endswith(decal.get_absolute_url())
    assert [p.caption for p in Photo.objects.all()] == ["film still dry"] * 2


def test_the_camera_s_picture_is_sent_as_it_was_taken(visit, mara):
    decal = make_decal()
    visitor = visit(mara, **PHONE)
    visitor.go(decal.get_absolute_url())
    photos = visitor.page.locator("#photos")
    photos.get_by_label("Take a photo").set_input_files(file("now.jpg"))
    photos.get_by_text("1 photo kept.").wait_for()
    assert Photo.objects.get().stage == "planned"


@SCREENS
def test_a_bad_one_is_named_and_nothing_is_kept(visit, mara, screen):
    visitor = visit(mara, **screen)
    visitor.go(make_decal().get_absolute_url())
    photos = visitor.page.locator("#photos")
    photos.get_by_label("Choose photos").set_input_files([file("one.jpg"), file("two.jpg", b"no")])
    with visitor.refused():
        visitor.press("Keep the photos")
        photos.get_by_text("two.jpg: This file is not").wait_for()
    assert not Photo.objects.exists()


def test_what_did_not_arrive_is_said_and_can_be_sent_again(visit, mara):
    visitor = visit(mara, **PHONE)
    visitor.go(make_decal().get_absolute_url())
    photos = visitor.page.locator("#photos")
    photos.get_by_label("Choose photos").set_input_files(file("one.jpg"))
    with no_network(visitor):
        visitor.press("Keep the photos")
        photos.get_by_text("Not saved: they did not arrive. Try again.").wait_for()
    visitor.press("Keep the photos")
    photos.get_by_text("1 photo kept.").wait_for()
    assert Photo.objects.count() == 1


def test_it_works_without_javascript(visit, mara):
    decal = make_decal(place="Tail")
    (first,) = make_photos(1, decal=decal, caption="bare")
    visitor = visit(mara, **DESK, java_script_enabled=False)
    visitor.go(decal.get_absolute_url())
    visitor.unfold("Add photos")
    visitor.page.get_by_label("Choose photos").set_input_files([file("one.jpg"), file("two.jpg")])
    visitor.press("Keep the photos")
    visitor.reads("2 photos kept.")
    visitor.go(first.get_absolute_url())
    visitor.press("Remove this photo")
    visitor.press("Put it back")
    visitor.reads("The photo is back.")
    assert Photo.objects.shown().count() == 3
