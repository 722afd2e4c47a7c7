"""At the bench with a telephone: few taps, the soak timer, and being told without looking."""

import pytest

from decaljobs.craft.stages import Build, Film, Stage
from decaljobs.models import StageEvent
from decaljobs.services.bench import steps
from tests.browser.visitor import DESK, PHONE
from tests.factories import EVENING, make_decals, make_project, sealed_decal, sealed_sheet

SIZES = pytest.mark.parametrize("options", [DESK, PHONE], ids=["desk", "phone"])
MOST_TAPS = 3

#: What a browser under test cannot do is noted instead: notifying and buzzing. Sound is real.
EARS = """
window.heard = { notes: 0, told: [], buzzed: [] };
const real = AudioContext.prototype.createOscillator;
AudioContext.prototype.createOscillator = function () {
  window.heard.notes += 1;
  return real.call(this);
};
window.Notification = class {
  static permission = "granted";
  static requestPermission() { return Promise.resolve("granted"); }
  constructor(words) { window.heard.told.push(words); }
};
Navigator.prototype.vibrate = (pattern) => { window.heard.buzzed.push(pattern); return true; };
"""
TAPS = """
window.addEventListener("pointerdown", () => {
  sessionStorage.setItem("taps", Number(sessionStorage.getItem("taps")) + 1);
}, true);
"""


@pytest.fixture
def six(mara):
    """Six decals of one project whose only layer lies sealed and dry on a sheet."""
    decals = make_decals(6, Build.WHITE_ALONE, place="Door", project=make_project(code="T-14"))
    sealed_sheet(Film.WHITE, decals, mara)
    return decals


def bases():
    return StageEvent.objects.filter(to_stage=Stage.BASE_APPLIED, undone_by=None)


def heard(maker):
    return maker.page.evaluate("window.heard")


@SIZES
def test_six_decals_are_logged_by_three_taps_at_most(visit, mara, six, options):
    maker = visit(mara, **options)
    maker.page.add_init_script(TAPS)
    maker.go("/")
    maker.press("Base applied: all 6 of Harbour launch")
    maker.page.get_by_role("heading", name="Base applied: 6 decals").wait_for()
    taps = maker.page.evaluate("Number(sessionStorage.getItem('taps'))")
    assert 1 <= taps <= MOST_TAPS
    assert bases().count() == 6
    maker.press("Undo all 6")
    maker.reads("is undone on 6 decals")


@SIZES
def test_a_card_s_code_leads_to_the_next_step_on_a_large_button(visit, mara, six, options):
    maker = visit(mara, **options)
    for address in ("/projects/T-14/", f"/sheets/{six[0].pieces.first().sheet.code}/"):
        maker.go(address)
        button = maker.page.get_by_role("button", name="Base applied: all 6")
        box = button.bounding_box()
        assert box["height"] >= 56
        # Seen without a push of the page.
        assert box["y"] + box["height"] <= maker.page.viewport_size["height"]
    maker.press("Base applied: all 6")
    maker.page.get_by_role("heading", name="Base applied: 6 decals").wait_for()
    assert bases().count() == 6


def test_a_whole_project_is_logged_and_undone_without_javascript(visit, mara, six):
    maker = visit(mara, java_script_enabled=False)
    maker.go("/projects/T-14/")
    assert not maker.page.get_by_role("button", name="Start the soak timer").is_visible()
    maker.press("Base applied: all 6")
    assert bases().count() == 6
    maker.press("Undo all 6")
    assert not bases().exists()


@SIZES
def test_the_soak_timer_outlives_a_refresh_and_rings_and_buzzes(visit, mara, six, options):
    maker = visit(mara, **options)
    maker.page.add_init_script(EARS)
    maker.page.clock.install()
    maker.go(f"/decals/{six[0].pk}/")
    maker.press("Start the soak timer")
    timer = maker.page.get_by_role("group", name="Soak timer")
    assert "In the water." in timer.inner_text()
    maker.page.clock.run_for(12_000)
    assert "let it rest" in timer.inner_text()
    maker.page.reload()
    assert "let it rest" in timer.inner_text()
    maker.page.mouse.click(5, 400)
    maker.page.clock.run_for(20_000)
    assert heard(maker)["notes"] == 0
    maker.page.clock.run_for(15_000)
    assert "Soaked: it slides now." in timer.inner_text()
    assert heard(maker)["notes"] == 6
    assert len(heard(maker)["buzzed"]) == 3
    maker.press("Done", timer)
    assert not timer.is_visible()


def test_the_soak_timer_goes_on_where_another_page_is_opened(visit, mara, six):
    maker = visit(mara, **PHONE)
    maker.go("/")
    maker.press("Start the soak timer")
    maker.go("/projects/T-14/")
    timer = maker.page.get_by_role("group", name="Soak timer")
    assert "In the water." in timer.inner_text()
    maker.press("Stop", timer)
    maker.go("/")
    assert not timer.is_visible()


@SIZES
def test_the_soak_is_as_long_as_is_set_on_this_device(visit, mara, six, options):
    maker = visit(mara, **options)
    maker.go("/settings/")
    maker.write("Seconds in the water", "0")
    maker.page.keyboard.press("Tab")
    maker.reads("Write 1 to 600 seconds.")
    maker.write("Seconds in the water", "25")
    maker.page.keyboard.press("Tab")
    maker.go("/settings/")
    assert maker.page.get_by_label("Seconds in the water").input_value() == "25"
    maker.go(f"/decals/{six[0].pk}/")
    maker.press("Start the soak timer")
    assert "25 s" in maker.page.get_by_role("group", name="Soak timer").inner_text()


def refreshed(maker):
    with maker.page.expect_response(lambda answer: "hx-request" in answer.request.headers):
        maker.page.clock.fast_forward(61_000)


def asks_for(maker, *ways):
    maker.go("/settings/")
    for way in ways:
        maker.tick(way)


@pytest.mark.parametrize("asked", [True, False], ids=["asked for", "not asked for"])
def test_what_becomes_ready_is_heard_and_notified_if_asked_for(visit, mara, clock, asked):
    drying = sealed_decal(mara, place="Tail")
    steps.log_step(decals=[drying.pk], step=Stage.BASE_APPLIED, by=mara, moment=EVENING)
    maker = visit(mara)
    maker.page.add_init_script(EARS)
    if asked:
        asks_for(maker, "A quiet sound", "A notification")
    maker.page.clock.install()
    maker.go("/")
    assert maker.page.title() == "(0) Bench"
    maker.page.mouse.click(5, 400)
    clock.pass_hours(12)
    refreshed(maker)
    maker.row("Tail").get_by_role("button", name="Clear applied").wait_for()
    assert maker.page.title() == "(1) Bench"
    assert heard(maker)["notes"] == (2 if asked else 0)
    assert heard(maker)["told"] == (["Ready now: Tail, Clear applied."] if asked else [])


def test_the_sound_can_be_tried(visit, mara):
    maker = visit(mara)
    maker.page.add_init_script(EARS)
    maker.go("/settings/")
    maker.press("Try it")
    assert heard(maker)["notes"] == 2


def test_a_decal_s_page_refreshes_itself_but_not_while_somebody_types(visit, mara, clock):
    drying = sealed_decal(mara, place="Tail")
    steps.log_step(decals=[drying.pk], step=Stage.BASE_APPLIED, by=mara, moment=EVENING)
    maker = visit(mara)
    maker.page.clock.install()
    maker.go(f"/decals/{drying.pk}/")
    field = maker.page.locator("#decal-next").get_by_label("When it was done").first
    field.fill("18:30")
    clock.pass_hours(12)
    refreshed(maker)
    maker.page.wait_for_timeout(200)
    assert field.input_value() == "18:30"
    maker.reads("Leave it alone until")
    field.fill("")
    maker.page.evaluate("document.activeElement.blur()")
    refreshed(maker)
    maker.page.get_by_role("heading", name="Next: clear layer").wait_for()
    maker.press("Clear applied")
    maker.page.get_by_role("heading", name="Clear applied: Tail.").wait_for()
