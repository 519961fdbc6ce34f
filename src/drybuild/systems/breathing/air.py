"""The air outside: pressure by altitude, water vapour, dry pressure, density."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from drybuild.values import Array

R_DRY = 287.055
"""Gas constant of dry air, J/(kg K): 8.314472 / 0.02896546 (CIPM-2007)."""
R_VAPOUR = 461.52
"""Gas constant of water vapour, J/(kg K): 8.314472 / 0.01801528."""
CP_DRY = 1005.0
"""Specific heat of dry air at constant pressure, J/(kg K), 250 to 400 K within 1 %."""
GAMMA = 1.4
"""Ratio of specific heats of air, 250 to 400 K within 0.5 %."""
EARTH_RADIUS = 6_356_766.0
"""Effective earth radius of the US Standard Atmosphere 1976, m."""


@dataclass(frozen=True)
class Air:
    """The air at the site: each field a float or (N,), SI.

    pressure: barometer, absolute; dry_pressure: barometer less water vapour;
    humidity_ratio: kg of vapour per kg of dry air; density: of the moist air.
    """

    pressure: Array
    temperature: Array
    humidity_ratio: Array
    density: Array
    dry_pressure: Array


def standard_pressure(*, altitude: Array) -> Array:
    """Pressure (Pa, absolute) of the standard atmosphere at an altitude above sea level (m).

    ``altitude`` is geometric (as on a map); it is turned into geopotential height first. Any
    shape. Valid from −2000 to 11000 m, NaN outside. The weather moves the true barometer by about
    ±2 kPa about this; the formula does not know it.
    Source: US Standard Atmosphere 1976 / ISO 2533, troposphere.
    """
    altitude = np.asarray(altitude, dtype=np.float64)
    height = EARTH_RADIUS * altitude / (EARTH_RADIUS + altitude)
    ratio = 1.0 - 0.0065 * height / 288.15
    pressure = 101_325.0 * np.maximum(ratio, 0.0) ** 5.255876
    return np.where((altitude >= -2000.0) & (altitude <= 11_000.0), pressure, np.nan)[()]


def standard_temperature(*, altitude: Array) -> Array:
    """Temperature (K) of the standard atmosphere at a geometric altitude (m).

    Any shape. Valid from −2000 to 11000 m, NaN outside. A summer's day differs by 20 K or more.
    Source: US Standard Atmosphere 1976 / ISO 2533, troposphere.
    """
    altitude = np.asarray(altitude, dtype=np.float64)
    height = EARTH_RADIUS * altitude / (EARTH_RADIUS + altitude)
    inside = (altitude >= -2000.0) & (altitude <= 11_000.0)
    return np.where(inside, 288.15 - 0.0065 * height, np.nan)[()]


def saturation_pressure(*, temperature: Array) -> Array:
    """Saturation pressure of water vapour over water (Pa) at a temperature (K).

    Any shape. Fitted for 0 to 27 °C, within 0.05 % of steam tables from 10 to 40 °C.
    Source: CIPM-2007 (Picard et al., Metrologia 45, 2008, 149), equation A1.1.
    """
    t = np.asarray(temperature, dtype=np.float64)
    exponent = 1.2378847e-5 * t * t - 1.9121316e-2 * t + 33.93711047 - 6343.1645 / t
    return np.exp(exponent)[()]


def vapour_pressure(*, temperature: Array, relative_humidity: Array) -> Array:
    """Partial pressure of water vapour (Pa). Humidity is a fraction, 0 to 1. Any shape.

    The enhancement factor of moist air (0.4 %) is left out: 10 Pa in 2300.
    Source: definition of relative humidity.
    """
    return relative_humidity * saturation_pressure(temperature=temperature)


def humidity_ratio(*, pressure: Array, vapour_pressure: Array) -> Array:
    """Kilograms of water vapour per kilogram of dry air. Pressures absolute, Pa. Any shape.

    Source: ideal mixture; Cengel and Boles, Thermodynamics, equation 14-8.
    """
    return (R_DRY / R_VAPOUR) * vapour_pressure / (pressure - vapour_pressure)


def density_ideal(*, pressure: Array, temperature: Array, vapour_pressure: Array) -> Array:
    """Density of moist air (kg/m3) as a mixture of ideal gases. Pa absolute, K. Any shape.

    About 0.04 % below ``density_cipm`` near 20 °C, since compressibility is left out.
    Source: Dalton's law.
    """
    dry = (pressure - vapour_pressure) / (R_DRY * temperature)
    return dry + vapour_pressure / (R_VAPOUR * temperature)


def density_cipm(*, pressure: Array, temperature: Array, relative_humidity: Array) -> Array:
    """Density of moist air (kg/m3) with compressibility. Pa absolute, K, fraction. Any shape.

    The method for weighing; valid 15 to 27 °C, 60 to 110 kPa, 400 ppm carbon dioxide, there
    within 22 parts in a million. Use ``density_ideal`` in engine sums: it is 0.04 % low.
    Source: CIPM-2007 (Picard et al., Metrologia 45, 2008, 149); some coefficients from memory.
    """
    t = temperature - 273.15
    factor = 1.00062 + 3.14e-8 * pressure + 5.6e-7 * t * t
    saturated = saturation_pressure(temperature=temperature)
    x = relative_humidity * factor * saturated / pressure
    first = (
        1.58123e-6 - 2.9331e-8 * t + 1.1043e-10 * t * t
        + (5.707e-6 - 2.051e-8 * t) * x
        + (1.9898e-4 - 2.376e-6 * t) * x * x
    )  # fmt: skip
    per_kelvin = pressure / temperature
    z = 1.0 - per_kelvin * first + per_kelvin**2 * (1.83e-11 - 0.765e-8 * x * x)
    molar = 28.96546e-3 * (1.0 - x * (1.0 - 18.01528e-3 / 28.96546e-3))
    return pressure * molar / (z * 8.314472 * temperature)


def air_state(
    *,
    temperature: Array,
    humidity: Array,
    altitude: Array | None = None,
    barometer: Array | None = None,
    weather: Array | None = None,
) -> Air:
    """The air at the site, from a barometer reading (station pressure) or else from altitude.

    temperature K, humidity fraction 0 to 1, altitude m, barometer Pa absolute at the site (not
    reduced to sea level), weather Pa to be added to the standard pressure of the altitude.
    Raises ValueError when neither barometer nor altitude is given.
    Source: US Standard Atmosphere 1976 for the pressure, ideal mixture for the rest.
    """
    if barometer is not None:
        pressure = barometer
    elif altitude is not None:
        pressure = standard_pressure(altitude=altitude)
        if weather is not None:
            pressure = pressure + weather
    else:
        raise ValueError("needs the altitude of the site, or its barometer")
    vapour = vapour_pressure(temperature=temperature, relative_humidity=humidity)
    return Air(
        pressure=pressure,
        temperature=temperature,
        humidity_ratio=humidity_ratio(pressure=pressure, vapour_pressure=vapour),
        density=density_ideal(
            pressure=pressure, temperature=temperature, vapour_pressure=vapour
        ),
        dry_pressure=pressure - vapour,
    )
