"""What the air does to a drying layer: vapour pressure, dew point and the four drying clocks."""

from enum import StrEnum

import numpy as np
from numpy.typing import ArrayLike

from decaljobs.craft.arrays import Flags, Numbers, within

COLDEST = -40.0  # °C, lowest air temperature this module answers for
WARMEST = 60.0  # °C, highest
REFERENCE_TEMPERATURE = 20.0  # °C, common practice on product labels, no source
REFERENCE_HUMIDITY = 50.0  # %RH, common practice on product labels, no source
FILM_FORMING_MINIMUM = 10.0  # °C, common practice unless the label says otherwise, no source
DAMPEST = 85.0  # %RH, above it water-borne layers stand still; a varnish maker's conditions page

# Buck Research Instruments, CR-1A manual (1996), saturation over liquid water.
BUCK_PA = 611.21
BUCK_A = 18.678
BUCK_B = 257.14  # °C
BUCK_C = 234.5  # °C


class Clock(StrEnum):
    """What a wait's hours are counted by."""

    WATER = "water"
    WATER_UNDER_FILM = "water_under_film"
    SOLVENT = "solvent"
    FIXED = "fixed"


# The most an hour may count: common practice, no source.
FASTEST = {Clock.WATER: 2.0, Clock.WATER_UNDER_FILM: 1.0, Clock.SOLVENT: 2.0, Clock.FIXED: 1.0}
WATER_CLOCKS = frozenset({Clock.WATER, Clock.WATER_UNDER_FILM})


def checked_temperature(temperature: ArrayLike) -> Numbers:
    """Temperatures in °C as an array of any shape, each from -40 to 60.

    Raises ValueError outside that range or for NaN.

    >>> float(checked_temperature(20))
    20.0
    """
    return within(temperature, COLDEST, WARMEST, "temperature", "°C")


def checked_humidity(humidity: ArrayLike) -> Numbers:
    """Relative humidities in % as an array of any shape, each from 0 to 100.

    Raises ValueError outside that range or for NaN.

    >>> float(checked_humidity(50))
    50.0
    """
    return within(humidity, 0.0, 100.0, "humidity", "%RH")


def saturation_vapour_pressure(temperature: ArrayLike) -> Numbers:
    """Saturation vapour pressure over liquid water in Pa, for °C of any shape.

    Valid from -40 to 60 °C (below 0 over supercooled water, not ice); within 0.1 % of the
    IAPWS figures from 0 to 40 °C. Raises ValueError outside. Source: Buck 1996.

    >>> round(float(saturation_vapour_pressure(20.0)), 1)
    2338.3
    """
    t = checked_temperature(temperature)
    return BUCK_PA * np.exp((BUCK_A - t / BUCK_C) * t / (BUCK_B + t))


def dew_point(temperature: ArrayLike, humidity: ArrayLike) -> Numbers:
    """Dew point in °C of air at °C and %RH, shapes broadcast together.

    Over liquid water at every temperature (below 0 °C not the frost point). Valid from -40 to
    60 °C and above 0 to 100 %RH; raises ValueError outside. Source: Buck 1996 solved for the
    temperature, which is a quadratic.

    >>> round(float(dew_point(20.0, 50.0)), 2)
    9.27
    """
    relative = checked_humidity(humidity)
    if not np.all(relative > 0):
        raise ValueError("humidity must be above 0 to 100 %RH: dry air has no dew point")
    pressure = saturation_vapour_pressure(temperature) * relative / 100.0
    x = np.log(pressure / BUCK_PA)
    b = BUCK_A - x
    return BUCK_C / 2.0 * (b - np.sqrt(b * b - 4.0 * BUCK_B / BUCK_C * x))


def vapour_drive(
    temperature: ArrayLike,
    humidity: ArrayLike,
    *,
    reference_temperature: float = REFERENCE_TEMPERATURE,
    reference_humidity: float = REFERENCE_HUMIDITY,
) -> Numbers:
    """Vapour pressure deficit as a ratio to that of the reference climate (no unit), Fv.

    Shapes broadcast together; -40 to 60 °C, 0 to 100 %RH, reference humidity 0 to 95 %RH.
    Raises ValueError outside. Source: Dalton's law of evaporation.

    >>> round(float(vapour_drive(15.0, 70.0)), 3)
    0.438
    """
    dry = 1.0 - checked_humidity(humidity) / 100.0
    reference = within(reference_humidity, 0.0, 95.0, "reference humidity", "%RH")
    at_reference = saturation_vapour_pressure(reference_temperature) * (1.0 - reference / 100.0)
    return saturation_vapour_pressure(temperature) * dry / at_reference


def temperature_drive(
    temperature: ArrayLike, *, reference_temperature: float = REFERENCE_TEMPERATURE
) -> Numbers:
    """How fast warmth drives drying, as a ratio to the reference climate (no unit), Fq.

    Any shape, -40 to 60 °C; raises ValueError outside. Common practice: twice as long for
    every 10 °C colder.

    >>> float(temperature_drive(10.0))
    0.5
    """
    t = checked_temperature(temperature)
    return np.exp2((t - checked_temperature(reference_temperature)) / 10.0)


def unheld_rate(
    clock: Clock,
    temperature: ArrayLike,
    humidity: ArrayLike,
    *,
    reference_temperature: float = REFERENCE_TEMPERATURE,
    reference_humidity: float = REFERENCE_HUMIDITY,
) -> Numbers:
    """What an hour counts in reference hours, before cold or damp hold it.

    Shapes broadcast together; ranges and errors as `drying_rate`.

    >>> round(float(unheld_rate(Clock.WATER, 9.9, 50.0)), 2)
    0.5
    """
    warm = temperature_drive(temperature, reference_temperature=reference_temperature)
    damp = vapour_drive(
        temperature,
        humidity,
        reference_temperature=reference_temperature,
        reference_humidity=reference_humidity,
    )
    if clock is Clock.FIXED:
        return np.ones_like(damp)
    rate = np.minimum(warm, FASTEST[clock])
    # Damp does not slow a solvent clock; broadcasting keeps the shape of both inputs.
    return np.minimum(rate, damp) if clock in WATER_CLOCKS else rate + np.zeros_like(damp)


def is_too_cold(
    clock: Clock, temperature: ArrayLike, film_forming_minimum: float = FILM_FORMING_MINIMUM
) -> Flags:
    """Whether the clock stands because the air is below the film-forming minimum in °C.

    Any shape; a fixed clock never stands. Common practice.

    >>> bool(is_too_cold(Clock.SOLVENT, 9.9)), bool(is_too_cold(Clock.SOLVENT, 10.0))
    (True, False)
    """
    t = np.asarray(temperature, dtype=np.float64)
    return (t < film_forming_minimum) & (clock is not Clock.FIXED)


def is_too_damp(clock: Clock, humidity: ArrayLike) -> Flags:
    """Whether a water clock stands because the air is above 85 %RH.

    Any shape; no other clock stands for damp. Common practice.

    >>> bool(is_too_damp(Clock.WATER, 86.0)), bool(is_too_damp(Clock.SOLVENT, 86.0))
    (True, False)
    """
    return (np.asarray(humidity, dtype=np.float64) > DAMPEST) & (clock in WATER_CLOCKS)


def drying_rate(
    clock: Clock,
    temperature: ArrayLike,
    humidity: ArrayLike,
    *,
    reference_temperature: float = REFERENCE_TEMPERATURE,
    reference_humidity: float = REFERENCE_HUMIDITY,
    film_forming_minimum: float = FILM_FORMING_MINIMUM,
) -> Numbers:
    """Reference hours that one hour at °C and %RH counts, shapes broadcast together.

    Valid from -40 to 60 °C and 0 to 100 %RH, reference humidity 0 to 95 %RH; raises
    ValueError outside. The water clocks follow the smaller of both drives: evaporation from
    polymer solutions hardly depends on humidity up to about 80 %RH, so dry air earns no more
    than its warmth (Huisman et al., Physical Review Letters 131, 248102, 2023). Below the
    film-forming minimum, and for water above 85 %RH, the clock stands (common practice).

    >>> round(float(drying_rate(Clock.WATER, 15.0, 70.0)), 3)
    0.438
    >>> float(drying_rate(Clock.WATER, 20.0, 86.0))
    0.0
    """
    rate = unheld_rate(
        clock,
        temperature,
        humidity,
        reference_temperature=reference_temperature,
        reference_humidity=reference_humidity,
    )
    cold = is_too_cold(clock, temperature, film_forming_minimum)
    return np.where(cold | is_too_damp(clock, humidity), 0.0, rate)
