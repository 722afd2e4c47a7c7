"""Touch tests: not yet adds, dry ends, and five of them propose a figure."""

from datetime import timedelta

import pytest

from decaljobs.craft.stages import Stage
from decaljobs.models import StageEvent, WaitRule
from decaljobs.services.bench import steps, touch, undoing
from decaljobs.services.drying.rule_changes import change_rule
from decaljobs.services.film import sheets
from decaljobs.services.film.sheet_undoing import undo_sheet
from decaljobs.services.refused import Overtaken, Refused
from tests.factories import EVENING, make_decal, make_sheet, sealed_decal

pytestmark = pytest.mark.django_db
HOUR = timedelta(hours=1)


def not_yet(decal, hours, maker, **fields):
    event = touch.log_not_yet(decal=decal.pk, by=maker, moment=EVENING + hours * HOUR, **fields)
    decal.refresh_from_db()
    return event


def test_not_yet_adds_a_quarter_of_the_reference_hours_and_is_kept(drying, maker):
    event = not_yet(drying, 9, maker)
    assert drying.ready_at == EVENING + 15 * HOUR
    assert (event.words, event.by) == ("Not dry yet", maker)
    assert event.air["done_hours"] == pytest.approx(9)
    assert (drying.stage, drying.stage_at) == ("base_applied", EVENING)


def test_a_second_not_yet_adds_once_more(drying, maker):
    not_yet(drying, 9, maker)
    not_yet(drying, 14, maker)
    assert drying.ready_at == EVENING + 18 * HOUR


def test_not_yet_after_the_clock_said_dry_has_the_last_word(drying, maker):
    assert drying.stage_now(EVENING + 13 * HOUR) is Stage.CURED
    not_yet(drying, 13, maker)
    assert drying.stage_now(EVENING + 13 * HOUR) is Stage.BASE_APPLIED
    assert drying.ready_at == EVENING + 16 * HOUR


def test_an_undone_not_yet_gives_the_hours_back(drying, maker):
    not_yet(drying, 9, maker)
    undoing.undo_last(decal=drying.pk, by=maker, moment=EVENING + 10 * HOUR)
    drying.refresh_from_db()
    assert drying.ready_at == EVENING + 12 * HOUR


def test_not_yet_is_refused_where_nothing_dries_or_the_page_is_old(drying, maker):
    with pytest.raises(Refused, match="Nothing dries"):
        touch.log_not_yet(decal=make_decal().pk, by=maker, moment=EVENING)
    not_yet(drying, 9, maker)
    with pytest.raises(Overtaken):
        not_yet(drying, 10, maker, seen=1)


def test_the_finger_ends_a_sheets_wait_and_says_whose_it_was(maker):
    decal, sheet = make_decal(), make_sheet(coats_wanted=2)
    sheets.put_on_sheet(sheet=sheet.pk, decals=[decal.pk], copies=1)
    sheets.log_printed(sheet=sheet.pk, by=maker, moment=EVENING)
    at = EVENING + 5 * HOUR
    later = touch.log_sheet_touch(sheet=sheet.pk, dry=False, by=maker, moment=at)
    sheet.refresh_from_db()
    assert (later.words, sheet.rested_at) == ("Not dry yet", EVENING + 15 * HOUR)
    event = touch.log_sheet_touch(sheet=sheet.pk, dry=True, by=maker, moment=at + HOUR)
    sheet.refresh_from_db()
    assert (event.words, event.by, sheet.rested_at) == ("Dry to the touch", maker, at + HOUR)
    sheets.log_coat(sheet=sheet.pk, by=maker, moment=at + HOUR)
    undo_sheet(sheet=sheet.pk, by=maker, moment=at + 2 * HOUR)
    sheet.refresh_from_db()
    assert sheet.rested_at == at + HOUR
    undo_sheet(sheet=sheet.pk, by=maker, moment=at + 2 * HOUR)
    sheet.refresh_from_db()
    assert sheet.rested_at == EVENING + 15 * HOUR


def touched(maker, hours):
    """A base called dry, or not yet, after so many hours: positive dry, negative not yet."""
    decal = sealed_decal(maker)
    steps.log_step(decals=[decal.pk], step=Stage.BASE_APPLIED, by=maker, moment=EVENING)
    for hour in hours:
        at = EVENING + abs(hour) * HOUR
        if hour < 0:
            touch.log_not_yet(decal=decal.pk, by=maker, moment=at)
        else:
            steps.log_step(decals=[decal.pk], step=Stage.CURED, by=maker, moment=at)


def test_five_tests_propose_a_figure_and_four_do_not(maker):
    rule = WaitRule.objects.get(kind="base_cured")
    for hours in ([-13, 15], [-14, 16]):
        touched(maker, hours)
    assert touch.proposal_for(rule) is None
    touched(maker, [11])
    proposal = touch.proposal_for(rule)
    assert proposal.tests == 5
    assert 12 < proposal.hours < 19
    assert proposal.low <= proposal.hours <= proposal.high


def test_tests_undone_or_under_another_clock_teach_nothing(maker):
    rule = WaitRule.objects.get(kind="base_cured")
    for _ in range(5):
        touched(maker, [11])
    assert touch.proposal_for(rule) is not None
    last = StageEvent.objects.filter(how="touch").last()
    undoing.undo_last(decal=last.decal_id, by=maker, moment=EVENING + 30 * HOUR)
    assert touch.proposal_for(rule) is None
    touched(maker, [11])
    rule.reference_temperature = 23
    change_rule(rule=rule, follow=False, by=maker, moment=EVENING + 40 * HOUR)
    assert touch.proposal_for(rule) is None


def test_accepting_a_figure_rewrites_no_event(maker):
    touched(maker, [-9])
    kept = StageEvent.objects.get(kind="not_yet").air
    rule = WaitRule.objects.get(kind="base_cured")
    rule.reference_hours = 15
    change_rule(rule=rule, follow=False, by=maker, moment=EVENING + 10 * HOUR)
    event = StageEvent.objects.get(kind="not_yet")
    assert event.air == kept
    assert event.air["terms"]["reference_hours"] == 12
