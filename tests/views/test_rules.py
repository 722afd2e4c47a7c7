"""The wait rules: read by all, changed by the owner."""

import pytest
from django.urls import reverse

from decaljobs.craft.waits import WaitKind
from decaljobs.models import WaitRule

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


# Reference hours and floors: common practice, no source.
@pytest.mark.django_db
@pytest.mark.parametrize(
    ("kind", "hours", "floor"),
    [
        ("printed_inkjet", 12, 0.5),
        ("printed_laser", 0.25, 0.1),
        ("coat_water", 0.5, 0.25),
        ("coat_solvent", 0.5, 0.25),
        ("last_coat_inkjet_water", 24, 4),
        ("last_coat_laser_solvent", 4, 1),
        ("base_cured", 12, 8),
        ("layer_set", 12, 8),
        ("set_overcoat", 24, 12),
        ("overcoat_handled", 24, 12),
        ("overcoat_masked", 48, 24),
    ],
)
def test_the_rules_begin_with_the_figures_of_the_trade(kind, hours, floor):
    rule = WaitRule.objects.get(kind=kind)
    assert (rule.reference_hours, rule.floor_hours) == (hours, floor)
    assert (rule.reference_temperature, rule.reference_humidity) == (20, 50)


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
