"""The wait rules: read by all, changed by the owner."""

from datetime import timedelta

import pytest
from django.urls import reverse

from decaljobs.craft.stages import Stage
from decaljobs.craft.waits import WaitKind
from decaljobs.models import WaitRule
from decaljobs.services.bench import steps
from tests.factories import EVENING, sealed_decal

pytestmark = pytest.mark.usefixtures("in_the_evening")

URL = "/drying/rules/base_cured/"


def rule_data(**fields):
    start = {
        "reference_hours": "14",
        "floor_hours": "9",
        "clock": "water_under_film",
        "reference_temperature": "23",
        "reference_humidity": "50",
        "film_forming_minimum": "8",
        "source": "the pot's label",
    }
    return {**start, **fields}


@pytest.fixture
def as_owner(client, owner):
    client.force_login(owner)
    return client


def test_it_lists_every_wait_of_the_trade(signed_in, django_assert_num_queries):
    with django_assert_num_queries(4):
        page = signed_in.get(reverse("drying")).content.decode()
    assert all(kind.words in page for kind in WaitKind)


# Clocks, reference hours and floors: common practice, no source.
THE_TRADE_S = {
    WaitKind.PRINTED_INKJET: ("water", 12, 0.5),
    WaitKind.PRINTED_LASER: ("solvent", 0.25, 0.1),
    WaitKind.COAT_WATER: ("water", 0.5, 0.25),
    WaitKind.COAT_SOLVENT: ("solvent", 0.5, 0.25),
    WaitKind.LAST_COAT_INKJET_WATER: ("water", 24, 4),
    WaitKind.LAST_COAT_INKJET_SOLVENT: ("solvent", 24, 4),
    WaitKind.LAST_COAT_LASER_WATER: ("water", 4, 1),
    WaitKind.LAST_COAT_LASER_SOLVENT: ("solvent", 4, 1),
    WaitKind.BASE_CURED: ("water_under_film", 12, 8),
    WaitKind.LAYER_SET: ("water_under_film", 12, 8),
    WaitKind.SET_OVERCOAT: ("water", 24, 12),
    WaitKind.OVERCOAT_HANDLED: ("water", 24, 12),
    WaitKind.OVERCOAT_MASKED: ("water", 48, 24),
}


@pytest.mark.django_db
@pytest.mark.parametrize("kind", WaitKind)
def test_the_rules_begin_with_the_figures_of_the_trade(kind):
    rule = WaitRule.objects.get(kind=kind)
    assert (rule.clock, rule.reference_hours, rule.floor_hours) == THE_TRADE_S[kind]
    assert (rule.reference_temperature, rule.reference_humidity) == (20, 50)
    assert rule.film_forming_minimum == 10
    assert rule.source.startswith("common practice, ")


def test_it_changes_a_rule(as_owner):
    assert as_owner.post(URL, rule_data()).status_code == 302
    rule = WaitRule.objects.get(kind="base_cured")
    assert (rule.reference_hours, rule.reference_temperature) == (14, 23)


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("reference_hours", "0"),
        ("reference_hours", "-1"),
        ("reference_hours", "NaN"),
        ("reference_hours", "1e308"),
        ("reference_hours", "overnight"),
        ("floor_hours", "15"),
        ("reference_humidity", "140"),
        ("reference_temperature", "-300"),
        ("clock", "sundial"),
    ],
)
def test_it_rejects_a_wrong_value_beside_its_field(as_owner, field, value):
    answer = as_owner.post(URL, rule_data(**{field: value}))
    assert list(answer.context["form"].errors) == [field]
    assert WaitRule.objects.get(kind="base_cured").reference_hours == 12


def test_it_requires_the_owner(signed_in):
    assert signed_in.get(URL).status_code == 403
    assert signed_in.post(URL, rule_data()).status_code == 403


def test_it_shows_what_would_move_before_anything_is_kept(as_owner, drying):
    data = rule_data(reference_temperature="20", film_forming_minimum="10")
    answer = as_owner.post(URL, data)
    assert answer.status_code == 200
    (effect,) = answer.context["effects"]
    assert effect.hours_later == pytest.approx(2)
    assert "+2.0 h" in answer.content.decode()
    assert WaitRule.objects.get(kind="base_cured").reference_hours == 12


@pytest.mark.parametrize(("follow", "later"), [("no", 0), ("yes", 2)])
def test_running_waits_follow_as_the_owner_says(as_owner, drying, follow, later):
    data = rule_data(reference_temperature="20", film_forming_minimum="10", follow=follow)
    assert as_owner.post(URL, data).status_code == 302
    before = drying.ready_at
    drying.refresh_from_db()
    assert drying.ready_at - before == timedelta(hours=later)
    assert WaitRule.objects.get(kind="base_cured").reference_hours == 14


def test_touch_tests_propose_a_figure_that_can_be_taken_over(as_owner, maker):
    for hours in (9, 10, 10, 11, 11):
        decal = sealed_decal(maker)
        begun = EVENING - timedelta(hours=hours)
        steps.log_step(decals=[decal.pk], step=Stage.BASE_APPLIED, by=maker, moment=begun)
        steps.log_step(decals=[decal.pk], step=Stage.CURED, by=maker, moment=EVENING)
    page = as_owner.get(URL).content.decode()
    assert "5 touch tests of this wait propose" in page
    assert "The finger has always said the same so far" in page
    taken = as_owner.get(URL + "?hours=11.5").content.decode()
    assert 'name="reference_hours" value="11.5"' in taken
    assert 'value="12.0"' in as_owner.get(URL + "?hours=none").content.decode()
