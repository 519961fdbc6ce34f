"""Heat of the engine against what its coolers pass to the air."""

from __future__ import annotations

import numpy as np

from drybuild.values import Array

GRAVITY = 9.80665
CP_DRY = 1005.0
"""Specific heat of dry air at constant pressure, J/(kg K), 250 to 400 K within 1 %."""


def climb_power(
    *, mass: Array, gradient: Array, speed: Array, road_load: Array, driveline_efficiency: Array
) -> Array:
    """Crank power (W) to hold a speed on a climb. kg, rise over length of road, m/s, N. Any shape.

    (m·g·gradient + road load)·v/η, the road load taken as on the flat. Valid to gradients of 0.3.
    Source: Gillespie, Fundamentals of Vehicle Dynamics (1992), chapters 2 and 4.
    """
    return (mass * GRAVITY * gradient + road_load) * speed / driveline_efficiency


def coolant_heat(*, brake_power: Array, ratio: Array) -> Array:
    """Heat into the coolant (W) from brake power and heat over brake power. Any shape.

    Source: energy balance; Heywood (1988), section 12.1 (table 12.1: 17 to 26 % of the fuel's
    energy to coolant beside 25 to 28 % brake, spark ignition, full load).
    """
    return brake_power * ratio


def face_speed(
    *, road_speed: Array, ram_share: Array, fan_air_speed: Array | None = None
) -> Array:
    """Speed of the air through a core's face (m/s): ram or fan, whichever is more. Any shape.

    Source: practice; ram and fan do not add, the fan windmills.
    """
    ram = road_speed * ram_share
    return ram if fan_air_speed is None else np.maximum(ram, fan_air_speed)


def air_after_core(
    *, temperature: Array, heat: Array, face_area: Array, air_speed: Array, density: Array
) -> Array:
    """Mean air temperature (K) behind a core that gives it ``heat`` (W). m2, m/s, kg/m3.

    Any shape. Source: first law, c_p of dry air.
    """
    return temperature + heat / (density * face_area * air_speed * CP_DRY)


def air_into_radiator(*, outside: Array, after_charge_cooler: Array, covered: Array) -> Array:
    """Mean air temperature (K) into a radiator partly behind the charge cooler. Any shape.

    covered: share of the radiator's face behind it, 0 to 1. Source: mixing at equal face speed.
    """
    return outside + covered * (after_charge_cooler - outside)


def fluid_temperature(*, sink: Array, heat: Array, conductance: Array) -> Array:
    """Settled temperature (K) of a fluid that must pass ``heat`` (W) through W/K to a sink (K).

    Conductance is per kelvin between fluid in and sink in. Any shape; no conductance, no limit
    (infinite). Steady: short of the time that block and fluid take to warm, some minutes.
    Source: definition of conductance.
    """
    with np.errstate(divide="ignore"):
        return sink + np.divide(heat, conductance)


def charge_heat(*, flow: Array, temperature_in: Array, temperature_out: Array) -> Array:
    """Heat that the charge cooler takes from the charge (W). kg/s, K. Any shape.

    Source: first law, c_p of dry air.
    """
    return flow * CP_DRY * (temperature_in - temperature_out)


def idle_heat(*, air_flow: Array, energy_per_air: Array, coolant_share: Array) -> Array:
    """Heat into the coolant at idle (W) from air flow kg/s and fuel energy per kg of air, J/kg.

    At idle a third and more of the fuel's energy goes to the coolant. Any shape.
    Source: energy balance; the share is practice.
    """
    return air_flow * energy_per_air * coolant_share
