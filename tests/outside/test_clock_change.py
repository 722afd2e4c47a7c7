"""Twelve hours across both changes of the clocks in 2026, through the services and the pages.

The moments of change are those of the IANA time zone database for Europe/London (zone file
'europe', Rule EU): last Sunday of March and of October, 01:00 UTC; in 2026 on 29 March and on
25 October. A wait of 12 reference hours at 20 °C and 50 % RH lasts 12 hours by the sun, so by the
wall clock it ends at 09:00 in spring (not 08:00) and at 07:00 in autumn (not 08:00).
"""

import io
import json
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
import time_machine
from django.core.management import call_command

from decaljobs.craft.stages import Build, Stage
from decaljobs.models import Decal
from decaljobs.services.bench import steps
from decaljobs.services.film import sheets
from tests.factories import make_decal, make_sheet

LONDON = ZoneInfo("Europe/London")
HOUR = timedelta(hours=1)
# Begun by the wall clock, and the hour at which the wall clock ends it the next morning.
NIGHTS = {
    "forward": (datetime(2026, 3, 28, 20, tzinfo=LONDON), 9),
    "back": (datetime(2026, 10, 24, 20, tzinfo=LONDON), 7),
}


@pytest.fixture(params=NIGHTS)
def night(request):
    begun, hour = NIGHTS[request.param]
    morning = (begun + timedelta(days=1)).replace(hour=hour)
    return begun.astimezone(UTC), morning


def test_the_nights_are_those_of_the_change(night):
    begun, morning = night
    assert begun.astimezone(LONDON).utcoffset() != morning.utcoffset()
    assert morning.astimezone(UTC) - begun == 12 * HOUR


@pytest.fixture
def laid(maker, night, settings):
    """A decal whose base was laid in the evening before the clocks change."""
    settings.TIME_ZONE = "Europe/London"
    begun, _ = night
    decal = make_decal(Build.LAMINATED, place="Port bow", moment=begun - 90 * HOUR)
    for film in ("white", "clear"):
        sheet = make_sheet(film, coats_wanted=1, moment=begun - 90 * HOUR)
        sheets.put_on_sheet(sheet=sheet.pk, decals=[decal.pk], copies=2)
        sheets.log_printed(sheet=sheet.pk, by=maker, moment=begun - 80 * HOUR)
        sheets.log_coat(sheet=sheet.pk, by=maker, moment=begun - 60 * HOUR)
    steps.log_step(decals=[decal.pk], step=Stage.BASE_APPLIED, by=maker, moment=begun)
    return Decal.objects.get(pk=decal.pk)


def test_a_wait_of_twelve_hours_ends_twelve_hours_later(laid, night):
    _, morning = night
    # The drying clock is integrated in floats; a second is far below what anybody waits for.
    assert abs(laid.ready_at - morning) < timedelta(seconds=1)


def page(client, maker, path, at):
    with time_machine.travel(at, tick=False):
        client.force_login(maker)
        answer = client.get(path)
    assert answer.status_code == 200
    return answer.content.decode()


def test_the_pages_name_the_hour_of_the_wall_clock(client, maker, laid, night):
    begun, morning = night
    for path in ("/", laid.get_absolute_url(), laid.project.get_absolute_url()):
        shown = page(client, maker, path, begun + HOUR)
        assert f"tomorrow {morning:%H:%M}" in shown, path
        assert "tomorrow 08:00" not in shown, path


def test_the_bench_calls_it_ready_from_that_hour_on(client, maker, laid, night):
    _, morning = night
    before = page(client, maker, "/", morning - timedelta(minutes=1))
    assert "0 ready, 1 drying, 0 held" in before
    after = page(client, maker, "/", morning + timedelta(minutes=1))
    assert "1 ready, 0 drying, 0 held" in after


def test_the_terminal_reads_and_names_moments_by_the_same_clock(laid, night):
    _, morning = night
    counts = []
    for minutes in (-1, 1):
        asked = f"{morning + timedelta(minutes=minutes):%Y-%m-%dT%H:%M}"
        told = io.StringIO()
        call_command("bench", "--at", asked, "--json", stdout=told)
        bench = json.loads(told.getvalue())
        counts.append((len(bench["ready"]), len(bench["drying"])))
    assert counts == [(0, 1), (1, 0)]


def test_a_step_typed_by_the_wall_clock_is_logged_at_that_hour(client, maker, laid, night):
    _, morning = night
    with time_machine.travel(morning + HOUR, tick=False):
        client.force_login(maker)
        data = {"step": "clear_applied", "at": f"{morning + timedelta(minutes=5):%H:%M}"}
        answer = client.post(f"/decals/{laid.pk}/log/", data)
    assert answer.status_code == 302
    event = laid.events.get(to_stage=Stage.CLEAR_APPLIED)
    assert event.at == morning + timedelta(minutes=5)
    assert laid.events.get(to_stage=Stage.CURED).at - laid.stage_at == pytest.approx(
        12 * HOUR, abs=timedelta(seconds=1)
    )
