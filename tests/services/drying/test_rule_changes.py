"""A changed rule: what it would move, and that running waits follow only if told."""

from datetime import timedelta

import pytest

from decaljobs.models import SheetEvent, StageEvent, WaitRule
from decaljobs.services.bench import undoing
from decaljobs.services.drying.rule_changes import change_rule, effects
from decaljobs.services.film import sheets
from tests.factories import EVENING, make_decal, make_sheet

pytestmark = pytest.mark.django_db
HOUR = timedelta(hours=1)


def longer(kind="base_cured", hours=15):
    rule = WaitRule.objects.get(kind=kind)
    rule.reference_hours = hours
    return rule


def test_it_shows_which_waits_would_move_and_by_how_much(drying):
    (effect,) = effects(rule=longer(), moment=EVENING + HOUR)
    assert (effect.thing, effect.old, effect.new) == (
        drying,
        EVENING + 12 * HOUR,
        EVENING + 15 * HOUR,
    )
    assert effect.hours_later == pytest.approx(3)
    assert drying.words in effect.words
    assert WaitRule.objects.get(kind="base_cured").reference_hours == 12


def test_waits_of_another_rule_or_over_already_do_not_move(drying):
    assert effects(rule=longer("layer_set"), moment=EVENING + HOUR) == []
    assert effects(rule=longer(), moment=EVENING + 13 * HOUR) == []


def test_running_waits_keep_their_figures_unless_told(drying, maker):
    assert change_rule(rule=longer(), follow=False, by=maker, moment=EVENING + HOUR) == 0
    drying.refresh_from_db()
    assert drying.ready_at == EVENING + 12 * HOUR
    assert WaitRule.objects.get(kind="base_cured").reference_hours == 15


def test_following_is_logged_and_can_be_undone(drying, maker):
    assert change_rule(rule=longer(), follow=True, by=maker, moment=EVENING + HOUR) == 1
    drying.refresh_from_db()
    assert drying.ready_at == EVENING + 15 * HOUR
    event = drying.events.order_by("-number").first()
    assert (event.kind, event.words, event.by) == ("rule", "Follows the changed rule", maker)
    first = StageEvent.objects.get(decal=drying, to_stage="base_applied", kind="step")
    assert first.waits[0]["terms"]["reference_hours"] == 12
    undoing.undo_last(decal=drying.pk, by=maker, moment=EVENING + 2 * HOUR)
    drying.refresh_from_db()
    assert drying.ready_at == EVENING + 12 * HOUR


def test_the_step_that_began_the_wait_can_be_undone_after_it_followed(drying, maker):
    change_rule(rule=longer(), follow=True, by=maker, moment=EVENING + HOUR)
    for _ in range(2):
        undoing.undo_last(decal=drying.pk, by=maker, moment=EVENING + 2 * HOUR)
    drying.refresh_from_db()
    assert (drying.stage, drying.waits) == ("sealed", [])


def test_a_sheet_follows_too(maker):
    decal, sheet = make_decal(), make_sheet()
    sheets.put_on_sheet(sheet=sheet.pk, decals=[decal.pk], copies=1)
    sheets.log_printed(sheet=sheet.pk, by=maker, moment=EVENING)
    rule = longer("printed_inkjet", 6)
    (effect,) = effects(rule=rule, moment=EVENING + HOUR)
    assert (effect.words, effect.hours_later) == (f"Sheet {sheet.code}", pytest.approx(-6))
    assert change_rule(rule=rule, follow=True, by=maker, moment=EVENING + HOUR) == 1
    sheet.refresh_from_db()
    assert sheet.rested_at == EVENING + 6 * HOUR
    assert sheet.events.filter(kind=SheetEvent.Kind.RULE).exists()
