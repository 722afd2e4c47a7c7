"""The room's air in a browser: a file of readings moves the forecast, a finger ends the wait."""

import pytest

from decaljobs.craft.stages import Stage
from decaljobs.models import Room
from decaljobs.services.bench import steps
from tests.browser.visitor import DESK, PHONE
from tests.factories import EVENING, sealed_decal

# A cold, damp evening, as a logger with decimal commas writes it: 15 °C and 70 %RH, at which an
# hour counts 0.4376 (worked by hand with the vapour pressure of Alduchov and Eskridge, 1996).
COLD_NIGHT = "Zeit;Temperatur;Feuchte\n" + "".join(
    f"02.11.2026 {hour}:{minute:02d};15,0;70,0\n" for hour in range(19, 24) for minute in (0, 30)
)


@pytest.fixture
def drying(workshop, mara, settings):
    """A decal whose base was laid at the beginning of the evening."""
    settings.WORK_BEHIND = "page"
    decal = sealed_decal(mara)
    steps.log_step(decals=[decal.pk], step=Stage.BASE_APPLIED, by=mara, moment=EVENING)
    decal.refresh_from_db()
    return decal


def bring_in(visitor, text):
    visitor.go(f"/drying/rooms/{Room.objects.get(is_default=True).pk}/")
    file = {"name": "night.csv", "mimeType": "text/csv", "buffer": text.encode()}
    visitor.page.get_by_label("File", exact=True).set_input_files(file)
    visitor.press("Look at it")
    assert "Mon 2 Nov 2026 19:00" in visitor.text  # as the program reads the first line
    visitor.press("Read the whole file")


@pytest.mark.browser
@pytest.mark.parametrize("screen", [DESK, PHONE], ids=["desk", "phone"])
def test_a_cold_night_moves_the_forecast_and_a_finger_has_the_last_word(
    visit, mara, clock, drying, screen
):
    visitor = visit(mara, **screen)
    home = drying.get_absolute_url()
    visitor.go(home)
    visitor.reads("Leave it alone until tomorrow 07:00")
    clock.pass_hours(5)
    bring_in(visitor, COLD_NIGHT)
    visitor.reads("New readings")
    visitor.go(home)
    # Five hours count 2.19, so seven in the morning is hours too early now.
    assert "Leave it alone until tomorrow 07:00" not in visitor.text
    visitor.reads("2.2 of 12 reference hours done; cold, damp air")
    before = drying.ready_at
    drying.refresh_from_db()
    assert drying.ready_at > before
    visitor.unfold("Not dry to the touch?")
    visitor.press("Not dry yet")
    later = drying.ready_at
    drying.refresh_from_db()
    assert drying.ready_at > later
    clock.pass_hours(9)
    visitor.go(home)
    visitor.press("Dry to the touch: cured")
    drying.refresh_from_db()
    assert (drying.stage, drying.next_step) == ("cured", "clear_applied")
    assert drying.events.get(to_stage="cured", kind="step").get_how_display() == "by touch"
