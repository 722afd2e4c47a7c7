"""A clock that is wrong, or changed by law: nothing is dry early, and the log keeps its order.

London's clocks go back at 02:00 on 25 October 2026 and forward at 01:00 on 28 March 2027 (the last
Sundays of those months at 01:00 UTC, Directive 2000/84/EC and the Summer Time Order 2002).
"""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
import time_machine
from django.urls import reverse

from decaljobs.craft.stages import Stage
from decaljobs.models import Decal
from decaljobs.services.bench.steps import log_step
from decaljobs.services.bench.undoing import undo_last
from decaljobs.services.film import sheets
from decaljobs.services.refused import Refused, TooEarly
from tests.factories import make_decal, make_person, make_sheet

pytestmark = pytest.mark.django_db
LONDON = ZoneInfo("Europe/London")
HOUR, MINUTE = timedelta(hours=1), timedelta(minutes=1)
EVENING = datetime(2026, 11, 2, 19, tzinfo=UTC)
NIGHTS = {
    "back": datetime(2026, 10, 24, 20, tzinfo=LONDON),
    "forward": datetime(2027, 3, 27, 20, tzinfo=LONDON),
    "none": datetime(2027, 1, 16, 20, tzinfo=LONDON),
}


@pytest.fixture
def by(db):
    return make_person(username="mara")


def sealed(moment: datetime, by) -> Decal:
    """A laminated decal whose layers lie sealed and dry at the moment."""
    begun = moment - timedelta(days=20)
    decal = make_decal(moment=begun)
    for film in ("white", "clear"):
        sheet = make_sheet(film, coats_wanted=1, moment=begun)
        sheets.put_on_sheet(sheet=sheet.pk, decals=[decal.pk], copies=2)
        for log, days in ((sheets.log_printed, 19), (sheets.log_coat, 17)):
            at = moment - timedelta(days=days)
            log(sheet=sheet.pk, by=by, moment=at)
    decal.refresh_from_db()
    return decal


def log(decal: Decal, step: Stage, moment: datetime, by) -> Decal:
    log_step(decals=[decal.pk], step=step, by=by, moment=moment)
    decal.refresh_from_db()
    return decal


def numbers_and_times(decal: Decal) -> list[tuple[int, datetime]]:
    return list(decal.events.order_by("number").values_list("number", "at"))


def assert_in_order(decal: Decal) -> None:
    lines = numbers_and_times(decal)
    assert [number for number, _ in lines] == list(range(1, len(lines) + 1))
    steps = list(decal.events.in_force().order_by("number").values_list("at", flat=True))
    assert steps == sorted(steps)


def test_a_clock_an_hour_back_cures_nothing_and_puts_nothing_before_what_was(by):
    decal = log(sealed(EVENING, by), Stage.BASE_APPLIED, EVENING, by)
    ready, back = decal.ready_at, EVENING - HOUR
    assert decal.stage_now(ready) == Stage.CURED
    for moment in (back, ready - HOUR, ready - MINUTE):
        assert decal.stage_now(moment) == Stage.BASE_APPLIED
        with pytest.raises(TooEarly if moment > EVENING else Refused):
            log(decal, Stage.CLEAR_APPLIED, moment, by)
    undo_last(decal=decal.pk, by=by, moment=back)
    decal.refresh_from_db()
    assert decal.stage == Stage.SEALED
    again = log(decal, Stage.BASE_APPLIED, back, by)
    assert again.ready_at >= ready - HOUR
    assert_in_order(again)


def test_a_clock_a_day_ahead_cures_nothing_once_it_is_right_again(by):
    ahead = EVENING + timedelta(days=1)
    decal = log(sealed(EVENING, by), Stage.BASE_APPLIED, ahead, by)
    assert decal.ready_at > ahead
    for hours in (0, 12, 23, 26):  # the clock is right again: the wait begun ahead still runs
        assert decal.stage_now(EVENING + hours * HOUR) == Stage.BASE_APPLIED
        with pytest.raises(Refused):
            log(decal, Stage.CLEAR_APPLIED, EVENING + hours * HOUR, by)
    assert decal.stage == Stage.BASE_APPLIED
    undo_last(decal=decal.pk, by=by, moment=EVENING + HOUR)
    decal.refresh_from_db()
    again = log(decal, Stage.BASE_APPLIED, EVENING + HOUR, by)
    assert again.ready_at < ahead + HOUR
    assert_in_order(again)


@pytest.mark.parametrize("night", NIGHTS)
def test_a_night_of_the_clock_change_has_its_true_length(by, night):
    laid = NIGHTS[night].astimezone(UTC)
    decal = log(sealed(laid, by), Stage.BASE_APPLIED, laid, by)
    took = decal.ready_at - laid
    usual = log(sealed(NIGHTS["none"], by), Stage.BASE_APPLIED, NIGHTS["none"].astimezone(UTC), by)
    # To a quarter of an hour: by day the stated air may be another than at night.
    assert abs(took - (usual.ready_at - usual.stage_at)) < HOUR / 4
    with pytest.raises(TooEarly):
        log(decal, Stage.CLEAR_APPLIED, decal.ready_at - MINUTE, by)
    assert log(decal, Stage.CLEAR_APPLIED, decal.ready_at, by).stage == Stage.CLEAR_APPLIED
    assert_in_order(decal)


@pytest.mark.parametrize("night", ["back", "forward"])
def test_the_bench_offers_nothing_early_in_that_night(client, by, night):
    laid = NIGHTS[night].astimezone(UTC)
    decal = log(sealed(laid, by), Stage.BASE_APPLIED, laid, by)
    offered = f"{decal.pk}:clear_applied"
    moment = laid
    while moment < decal.ready_at + HOUR:
        with time_machine.travel(moment, tick=False):
            client.force_login(by)
            page = client.get(reverse("bench")).content.decode()
        assert (offered in page) == (moment >= decal.ready_at), moment
        moment += HOUR
