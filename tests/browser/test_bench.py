"""The bench in a browser: several at one go, refreshing, two makers at once, the keyboard alone."""

import pytest

from decaljobs.craft.stages import Build, Film, Stage
from decaljobs.models import StageEvent
from decaljobs.services.bench import steps
from tests.browser.visitor import DESK, PHONE
from tests.factories import EVENING, make_decals, make_person, sealed_decal, sealed_sheet


@pytest.fixture
def three(mara):
    """Three decals whose only layer lies sealed and dry on a sheet."""
    decals = make_decals(3, Build.WHITE_ALONE, place="Door")
    sealed_sheet(Film.WHITE, decals, mara)
    return decals


def events():
    return StageEvent.objects.filter(to_stage=Stage.BASE_APPLIED)


def box_of(maker, name):
    return maker.page.get_by_role("checkbox", name=name)


@pytest.mark.parametrize("options", [DESK, PHONE], ids=["desk", "phone"])
def test_it_logs_several_decals_at_one_go(visit, mara, three, options):
    maker = visit(mara, **options)
    maker.go("/")
    maker.tick("Door 1 of 3")
    maker.tick("Door 3 of 3")
    maker.press("Base applied (2)")
    maker.reads("Base applied: 2 decals")
    assert sorted(event.decal.number for event in events()) == [1, 3]
    ready = maker.page.locator(".ready .row .name").all_inner_texts()
    assert ready == ["Door 2 of 3"]


def test_it_logs_several_decals_without_javascript(visit, mara, three):
    maker = visit(mara, java_script_enabled=False)
    maker.go("/")
    maker.tick("Door 1 of 3")
    maker.tick("Door 2 of 3")
    maker.unfold("Done earlier, or before its time?")
    maker.write("When it was done", "18:30")
    maker.press("Base applied", maker.page.locator("#bar"))
    assert sorted(event.decal.number for event in events()) == [1, 2]
    assert {f"{event.at:%H:%M}" for event in events()} == {"18:30"}


def test_what_is_ticked_and_typed_outlives_the_refresh_and_news_is_told(visit, mara, clock, three):
    drying = sealed_decal(mara, place="Tail")
    steps.log_step(decals=[drying.pk], step=Stage.BASE_APPLIED, by=mara, moment=EVENING)
    maker = visit(mara)
    maker.page.clock.install()
    maker.go("/")
    maker.tick("Door 2 of 3")
    maker.unfold("Done earlier, or before its time?")
    maker.write("When it was done", "yesterday 21:40")
    clock.pass_hours(12)
    with maker.page.expect_response(lambda answer: "hx-request" in answer.request.headers):
        maker.page.clock.fast_forward(61_000)
    maker.row("Tail").get_by_role("button", name="Clear applied").wait_for()
    assert "Ready now: Tail, Clear applied." in maker.page.locator("#became-ready").inner_text()
    assert box_of(maker, "Door 2 of 3").is_checked()
    assert not box_of(maker, "Door 1 of 3").is_checked()
    field = maker.page.get_by_label("When it was done")
    assert field.input_value() == "yesterday 21:40"
    assert field.evaluate("field => field === document.activeElement")


def test_the_second_of_two_makers_is_told(visit, mara, three):
    first, second = visit(mara), visit(make_person(username="noor"))
    for maker in (first, second):
        maker.go("/")
    first.press("Base applied", first.row("Door 1 of 3"))
    with second.refused():
        second.press("Base applied", second.row("Door 1 of 3"))
    second.reads("‘Base applied’ was logged by mara")
    second.reads("Nothing was logged twice")
    assert events().count() == 1


def tab_to(maker, locator):
    """Press Tab until the keyboard is there."""
    for _ in range(60):
        maker.page.keyboard.press("Tab")
        if locator.evaluate("element => element === document.activeElement"):
            return
    raise AssertionError(f"the keyboard never comes to {locator}")


def ring_of(locator):
    """The width of the ring around what the keyboard is on."""
    styles = locator.evaluate("element => ({...getComputedStyle(element)})")
    drawn = styles["outlineStyle"] != "none"
    return float(styles["outlineWidth"].removesuffix("px")) if drawn else 0


def test_it_is_worked_with_the_keyboard_alone(visit, mara, three):
    maker = visit(mara)
    maker.go("/")
    skip = maker.page.get_by_role("link", name="Skip to the page")
    tab_to(maker, skip)
    assert maker.page.evaluate("document.activeElement.getBoundingClientRect().top") >= 0
    button = maker.row("Door 2 of 3").get_by_role("button", name="Base applied")
    assert ring_of(button) == 0
    tab_to(maker, button)
    assert ring_of(button) >= 2
    with maker.page.expect_navigation():
        maker.page.keyboard.press("Enter")
    assert [event.decal.number for event in events()] == [2]


def test_it_ticks_and_logs_with_the_keyboard_alone(visit, mara, three):
    maker = visit(mara)
    maker.go("/")
    tab_to(maker, box_of(maker, "Door 3 of 3"))
    assert ring_of(box_of(maker, "Door 3 of 3")) >= 2
    maker.page.keyboard.press("Space")
    tab_to(maker, maker.page.get_by_role("button", name="Base applied (1)"))
    with maker.page.expect_navigation():
        maker.page.keyboard.press("Enter")
    assert [event.decal.number for event in events()] == [3]


def test_enter_in_a_field_logs_no_row_by_itself(visit, mara, three):
    maker = visit(mara)
    maker.go("/")
    maker.tick("Door 1 of 3")
    maker.unfold("Done earlier, or before its time?")
    maker.write("When it was done", "18:30")
    maker.page.keyboard.press("Enter")
    maker.page.wait_for_timeout(300)
    assert not events().exists()
    assert box_of(maker, "Door 1 of 3").is_checked()


def test_a_double_press_is_sent_once(visit, mara, three):
    maker = visit(mara)
    maker.go("/")
    sent = []
    maker.page.on("request", lambda request: sent.append(request.method))
    button = maker.row("Door 1 of 3").get_by_role("button", name="Base applied")
    button.evaluate("button => { button.click(); setTimeout(() => button.click(), 10) }")
    maker.page.get_by_role("status", name="Just logged").wait_for()
    assert sent.count("POST") == 1
    assert events().count() == 1
