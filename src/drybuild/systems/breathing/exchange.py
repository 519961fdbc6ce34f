"""Heat exchangers and ducts: effectiveness, outlet temperature, pressure loss."""

from __future__ import annotations

import numpy as np

from drybuild.systems.breathing.air import CP_DRY
from drybuild.values import Array


def effectiveness_crossflow(*, ntu: Array, capacity_ratio: Array) -> Array:
    """Effectiveness of a crossflow exchanger with both streams unmixed. Any shape.

    ntu = UA/C_min, capacity_ratio = C_min/C_max (0 to 1). The usual closed form; within 0.011 of
    the exact series for NTU up to 5. Charge coolers and radiators are of this kind.
    Source: Kays and London, Compact Heat Exchangers; Incropera and DeWitt, table 11.3.
    """
    ntu = np.asarray(ntu, dtype=np.float64)
    ratio = np.maximum(np.asarray(capacity_ratio, dtype=np.float64), 1e-6)
    power = np.exp(0.22 * np.log(np.maximum(ntu, 1e-12)))  # twice as fast as **
    inner = np.exp(-ratio * ntu / power) - 1.0  # NTU^0.78 = NTU / NTU^0.22
    return (1.0 - np.exp(power / ratio * inner))[()]


def conductance_from_effectiveness(
    *, effectiveness: Array, hot_capacity: Array, cold_capacity: Array, steps: int = 60
) -> Array:
    """UA (W/K) of a crossflow core from its effectiveness measured at two capacity flows (W/K).

    Turns ``effectiveness_crossflow`` round by halving intervals; NaN where the effectiveness is
    not to be had at any size. Any shape.
    Source: as ``effectiveness_crossflow``.
    """
    least = np.minimum(hot_capacity, cold_capacity)
    ratio = least / np.maximum(hot_capacity, cold_capacity)
    low = np.zeros(np.broadcast_shapes(np.shape(effectiveness), np.shape(ratio)))
    high = np.full_like(low, 20.0)
    possible = effectiveness_crossflow(ntu=high, capacity_ratio=ratio) > effectiveness
    for _ in range(steps):
        middle = 0.5 * (low + high)
        short = effectiveness_crossflow(ntu=middle, capacity_ratio=ratio) < effectiveness
        low = np.where(short, middle, low)
        high = np.where(short, high, middle)
    return np.where(possible, 0.5 * (low + high) * least, np.nan)[()]


def conductance_at_air_speed(
    *, conductance: Array, air_speed: Array, rated_air_speed: Array
) -> Array:
    """UA (W/K) at another speed of the cooling air: half of the resistance is on that side.

    1/UA = ½/UA_rated·(1 + (v_rated/v)^0.8). m/s. Any shape; no cooling air, no conductance.
    Source: Kays and London (h ~ v^0.8, turbulent); the even split is practice.
    """
    speed = np.maximum(np.asarray(air_speed, dtype=np.float64), 1e-6)
    return (2.0 * conductance / (1.0 + (rated_air_speed / speed) ** 0.8))[()]


def cooled_temperature(
    *, inlet_temperature: Array, coolant_temperature: Array, effectiveness: Array
) -> Array:
    """Temperature (K) of the weaker stream after the exchanger. K, K, fraction. Any shape.

    ``effectiveness`` must be that of the stream cooled: for a charge cooler the charge has the
    smaller heat capacity flow.
    Source: definition of effectiveness.
    """
    return inlet_temperature - effectiveness * (inlet_temperature - coolant_temperature)


def density_ratio(
    *,
    pressure_in: Array,
    pressure_out: Array,
    temperature_in: Array,
    temperature_out: Array,
) -> Array:
    """Density after over density before a cooler. Absolute Pa, K. Any shape.

    A loss of pressure costs density one for one. Source: ideal gas.
    """
    return (pressure_out / pressure_in) * (temperature_in / temperature_out)


def scaled_pressure_loss(
    *,
    loss: Array,
    at_flow: Array,
    at_density: Array,
    flow: Array,
    density: Array,
    exponent: float = 2.0,
) -> Array:
    """Pressure loss (Pa) at another flow and density of the same duct or core, from one measured.

    Δp = Δp₀·(ṁ/ṁ₀)^n·(ρ₀/ρ). kg/s, kg/m3. n = 2 for bends, headers, catalysts at high flow; about
    1.8 for a plain core. Any shape. Within about two times of the measured flow either way.
    Source: Darcy–Weisbach; Kays and London, core pressure drop (friction term).
    """
    ratio = flow / at_flow
    grown = ratio * ratio if exponent == 2.0 else ratio**exponent
    return loss * grown * (at_density / density)


def exchanger_heat(
    *, effectiveness: Array, least_capacity: Array, inlet_difference: Array
) -> Array:
    """Heat passed (W): effectiveness · C_min (W/K) · difference of the inlets (K). Any shape.

    Source: definition of effectiveness.
    """
    return effectiveness * least_capacity * inlet_difference


def charge_temperature(
    *,
    flow: Array,
    temperature_in: Array,
    air_temperature: Array,
    conductance: Array,
    cold_capacity: Array,
    air_speed: Array,
    rated_air_speed: Array,
) -> Array:
    """Charge temperature (K) after the cooler with its cooling air at another speed. Any shape.

    flow kg/s and temperature_in K of the charge; conductance W/K and cold_capacity W/K as at
    ``rated_air_speed`` (m/s through the face). Settled, no heat soak from standing.
    Source: effectiveness–NTU, crossflow (Kays and London).
    """
    charge = flow * CP_DRY
    cold = cold_capacity * air_speed / rated_air_speed
    least = np.minimum(charge, cold)
    found = effectiveness_crossflow(
        ntu=conductance_at_air_speed(
            conductance=conductance, air_speed=air_speed, rated_air_speed=rated_air_speed
        )
        / least,
        capacity_ratio=least / np.maximum(charge, cold),
    )
    return temperature_in - found * least / charge * (temperature_in - air_temperature)
