"""Logging over a bad network: pressed in a hurry, cut off, tried again, from two windows."""

import pytest

from decaljobs.craft.stages import Stage
from decaljobs.models import KeptAnswer, StageEvent
from tests.browser.visitor import DESK, PHONE
from tests.factories import sealed_decal

SIZES = pytest.mark.parametrize("options", [DESK, PHONE], ids=["desk", "phone"])


@pytest.fixture
def sealed(mara):
    return sealed_decal(mara, place="Left side")


def bases():
    return StageEvent.objects.filter(to_stage=Stage.BASE_APPLIED)


@SIZES
def test_six_fast_clicks_make_one_event(visit, mara, sealed, options):
    maker = visit(mara, **options)
    maker.go("/")
    button = maker.row("Left side").get_by_role("button", name="Base applied")
    button.evaluate("button => { for (let i = 0; i < 6; i++) button.click() }")
    maker.page.get_by_role("status", name="Just logged").wait_for()
    assert bases().count() == 1


@SIZES
def test_what_could_not_be_sent_is_kept_until_it_is_saved(visit, mara, sealed, options):
    maker = visit(mara, **options)
    maker.go(f"/decals/{sealed.pk}/")
    maker.write("When it was done", "18:30")
    told = maker.page.get_by_role("alert")
    with maker.cut_off():
        maker.press("Base applied")
        assert told.locator("p").inner_text() == "Not saved, try again: ‘Base applied’."
        assert maker.page.get_by_label("When it was done").first.input_value() == "18:30"
        maker.press("Try again", told)
        told.get_by_role("button", name="Try again", disabled=False).wait_for()
        assert told.is_visible()
        assert not bases().exists()
        maker.page.evaluate("window.stop()")
    maker.page.get_by_text("Base applied: Left side.").wait_for()
    assert [f"{event.at:%H:%M}" for event in bases()] == ["18:30"]
    assert not told.is_visible()


def test_an_answer_that_was_lost_on_the_way_is_given_again(visit, mara, sealed):
    """The workshop has logged it, and the telephone never heard of that."""
    maker = visit(mara, **PHONE)
    maker.go("/")
    lost = []

    def lose(route):
        route.fetch()
        lost.append(route.request.url)
        route.fulfill(status=503)

    maker.page.route("**/bench/log/", lose, times=1)
    with maker.refused(503):
        maker.press("Base applied", maker.row("Left side"))
    assert len(lost) == 1
    assert bases().count() == 1
    maker.press("Try again", maker.page.get_by_role("alert"))
    maker.page.get_by_role("status", name="Just logged").wait_for()
    assert bases().count() == 1
    assert KeptAnswer.objects.count() == 1


def test_what_is_left_is_not_saved_and_no_longer_spoken_of(visit, mara, sealed):
    maker = visit(mara)
    maker.go("/")
    with maker.cut_off():
        maker.press("Base applied", maker.row("Left side"))
        maker.press("Leave it", maker.page.get_by_role("alert"))
    assert not maker.page.locator("#not-saved").is_visible()
    assert not bases().exists()


def test_the_second_of_two_windows_sees_what_the_first_has_logged(visit, mara, sealed):
    maker = visit(mara)
    maker.go(f"/decals/{sealed.pk}/")
    second = maker.context.new_page()
    second.goto(f"/decals/{sealed.pk}/")
    maker.press("Base applied")
    second.get_by_role("button", name="Base applied", exact=True).click()
    second.get_by_text("has moved on: ‘Base applied’ was logged by mara").wait_for()
    assert second.get_by_role("heading", name="Leave it alone until").is_visible()
    assert bases().count() == 1


def test_a_refusal_shows_beside_its_field_and_the_page_still_works(visit, mara, sealed):
    maker = visit(mara, **PHONE)
    maker.go("/")
    maker.tick("Left side")
    maker.unfold("Done earlier, or before its time?")
    maker.write("When it was done", "23:59")
    with maker.refused():
        maker.press("Base applied (1)")
    field = maker.page.get_by_label("When it was done")
    assert field.evaluate("field => field === document.activeElement")
    maker.reads("still to come")
    field.fill("18:30")
    maker.press("Base applied (1)")
    assert [f"{event.at:%H:%M}" for event in bases()] == ["18:30"]
