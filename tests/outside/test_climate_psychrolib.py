"""Vapour pressure, dew point and drive against psychrolib, from 0 to 40 °C and 5 to 95 %RH.

psychrolib follows the ASHRAE Handbook, Fundamentals (2017), whose vapour pressure is Hyland and
Wexler's of 1983. It serves in tests only.
"""

import numpy as np
import psychrolib
import pytest

from decaljobs.craft.climate import dew_point, saturation_vapour_pressure, vapour_drive

TEMPERATURES = np.arange(0.5, 40.1, 0.5)
HUMIDITIES = np.arange(5.0, 95.1, 5.0)
AIRS = [(float(t), float(rh)) for t in TEMPERATURES for rh in HUMIDITIES]


@pytest.fixture(autouse=True)
def metric_units():
    psychrolib.SetUnitSystem(psychrolib.SI)


def test_it_gives_the_same_vapour_pressure():
    wanted = [psychrolib.GetSatVapPres(float(t)) for t in TEMPERATURES]
    assert saturation_vapour_pressure(TEMPERATURES) == pytest.approx(wanted, rel=0.001)


def test_it_gives_the_same_dew_point():
    wanted = {air: psychrolib.GetTDewPointFromRelHum(air[0], air[1] / 100.0) for air in AIRS}
    # Below 0 °C the library gives the frost point.
    liquid = {air: dew for air, dew in wanted.items() if dew > 0.01}
    assert len(liquid) > 1000
    ours = [float(dew_point(*air)) for air in liquid]
    assert ours == pytest.approx(list(liquid.values()), abs=0.02)


def test_it_gives_the_same_drive_from_the_vapour_pressure_deficit():
    reference = psychrolib.GetSatVapPres(20.0) * 0.5
    wanted = [
        (psychrolib.GetSatVapPres(t) - psychrolib.GetVapPresFromRelHum(t, rh / 100.0)) / reference
        for t, rh in AIRS
    ]
    assert vapour_drive(*np.array(AIRS).T) == pytest.approx(wanted, rel=0.001)
