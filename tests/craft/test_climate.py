"""Drives and clocks against the hand-worked table of the trade's rule.

The table was worked with the vapour pressure of Alduchov and Eskridge (Journal of Applied
Meteorology 35, 1996); that formula and ours differ by up to 0.3 %, hence 0.5 %.
"""

import numpy as np
import pytest

from decaljobs.craft.climate import (
    Clock,
    dew_point,
    drying_rate,
    saturation_vapour_pressure,
    temperature_drive,
    vapour_drive,
)

WITHIN = 0.005
# °C, %RH, Fv, Fq, water, solvent
HAND_WORKED = [
    (20, 50, 1, 1, 1, 1),
    (23, 50, 1.2016, 1.2311, 1.2016, 1.2311),
    (25, 40, 1.6260, 1.4142, 1.4142, 1.4142),
    (15, 70, 0.4376, 0.7071, 0.4376, 0.7071),
    (18, 65, 0.6179, 0.8706, 0.6179, 0.8706),
    (20, 80, 0.4000, 1, 0.4000, 1),
    (20, 86, 0.28, 1, 0, 1),
    (9.9, 50, 0.522, 0.496, 0, 0),
]


@pytest.mark.parametrize(("t", "rh", "fv", "fq", "water", "solvent"), HAND_WORKED)
def test_it_agrees_with_the_hand_worked_clock_table(t, rh, fv, fq, water, solvent):
    assert float(vapour_drive(t, rh)) == pytest.approx(fv, rel=WITHIN)
    # 9.9 °C is printed cut to three digits (0.496 for 0.4965), so no tighter here.
    assert float(temperature_drive(t)) == pytest.approx(fq, rel=WITHIN)
    assert float(drying_rate(Clock.WATER, t, rh)) == pytest.approx(water, rel=WITHIN)
    assert float(drying_rate(Clock.SOLVENT, t, rh)) == pytest.approx(solvent, rel=0.001)


def test_it_never_counts_more_than_two_hours_an_hour():
    assert float(drying_rate(Clock.WATER, 35.0, 20.0)) == 2.0
    assert float(drying_rate(Clock.SOLVENT, 35.0, 20.0)) == 2.0


def test_it_never_counts_more_than_an_hour_under_a_film():
    assert float(drying_rate(Clock.WATER_UNDER_FILM, 25.0, 40.0)) == 1.0
    slower = drying_rate(Clock.WATER_UNDER_FILM, 15.0, 70.0)
    assert slower == drying_rate(Clock.WATER, 15.0, 70.0)


def test_it_earns_nothing_from_dry_air_beyond_its_warmth():
    dry, drier = drying_rate(Clock.WATER, 20.0, np.array([40.0, 10.0]))
    assert dry == drier == 1.0


def test_it_counts_a_fixed_clock_in_any_air():
    rates = drying_rate(Clock.FIXED, [-5.0, 20.0, 35.0], [99.0, 50.0, 10.0])
    assert rates.tolist() == [1.0, 1.0, 1.0]


def test_it_stands_only_above_the_damp_limit_and_below_the_cold_one():
    assert drying_rate(Clock.WATER, 20.0, [85.0, 85.01])[1] == 0.0
    assert drying_rate(Clock.WATER, 20.0, 85.0) > 0.0
    assert drying_rate(Clock.SOLVENT, [10.0, 9.99], 50.0).tolist() == [0.5, 0.0]


def test_it_takes_a_labels_own_reference_climate():
    label = {"reference_temperature": 23.0, "reference_humidity": 50.0}
    assert float(drying_rate(Clock.WATER, 23.0, 50.0, **label)) == pytest.approx(1.0)
    assert float(drying_rate(Clock.WATER, 20.0, 50.0, **label)) == pytest.approx(
        1 / 1.2311, rel=1e-4
    )


def test_it_takes_another_film_forming_minimum():
    assert drying_rate(Clock.SOLVENT, 8.0, 50.0, film_forming_minimum=5.0) > 0.0
    assert drying_rate(Clock.SOLVENT, 12.0, 50.0, film_forming_minimum=15.0) == 0.0


@pytest.mark.parametrize("clock", list(Clock))
def test_it_keeps_the_shape_of_its_input(clock):
    rates = drying_rate(clock, np.full((3, 1), 18.0), np.full((1, 4), 60.0))
    assert rates.shape == (3, 4)


@pytest.mark.parametrize("temperature", [-300.0, -40.1, 60.1, float("nan"), float("inf")])
def test_it_refuses_temperatures_naming_the_range(temperature):
    with pytest.raises(ValueError, match="temperature must be -40 to 60 °C"):
        saturation_vapour_pressure(temperature)


@pytest.mark.parametrize("humidity", [-1.0, 100.1, 140.0, float("nan")])
def test_it_refuses_humidities_naming_the_range(humidity):
    with pytest.raises(ValueError, match="humidity must be 0 to 100 %RH"):
        drying_rate(Clock.WATER, 20.0, humidity)


def test_it_refuses_a_reference_humidity_that_dries_nothing():
    with pytest.raises(ValueError, match="reference humidity must be 0 to 95 %RH"):
        vapour_drive(20.0, 50.0, reference_humidity=100.0)


def test_it_refuses_the_dew_point_of_bone_dry_air():
    with pytest.raises(ValueError, match="above 0 to 100"):
        dew_point(20.0, 0.0)


def test_it_finds_a_dew_point_in_the_driest_air_that_has_one():
    # The air's own vapour saturates at its dew point.
    humidity = np.array([0.5, 1.0, 5.0, 50.0])
    held = saturation_vapour_pressure(40.0) * humidity / 100
    assert saturation_vapour_pressure(dew_point(40.0, humidity)) == pytest.approx(held)


def test_it_finds_the_dew_point_of_saturated_air_at_its_own_temperature():
    temperatures = np.linspace(-40.0, 60.0, 201)
    assert dew_point(temperatures, 100.0) == pytest.approx(temperatures, abs=1e-9)
