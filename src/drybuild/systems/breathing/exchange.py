"""Heat exchangers and ducts: effectiveness, outlet temperature, pressure loss."""

from __future__ import annotations

from functools import cache

import numpy as np
import numpy.typing as npt

from drybuild.systems.breathing.air import CP_DRY
from drybuild.values import Array

LEAST_NTU_STEP = 160
RATIO_STEPS = 40
MOST_NTU = 60.0


def crossflow_series(*, ntu: Array, capacity_ratio: Array, terms: int = 140) -> Array:
    """Effectiveness of a crossflow exchanger, both streams unmixed: the exact double series.

    ntu = UA/C_min above 0, capacity_ratio = C_min/C_max above 0 to 1. Any shape. 140 terms serve
    up to NTU 60. Slow: ``effectiveness_crossflow`` reads it from a table.
    Source: Mason (1955); Kays and London, Compact Heat Exchangers.
    """
    n = np.asarray(ntu, dtype=np.float64)
    cn = np.asarray(capacity_ratio, dtype=np.float64) * n
    term_a, term_b = np.exp(-n), np.exp(-cn)
    left_a, left_b = 1.0 - term_a, 1.0 - term_b
    total = left_a * left_b
    for k in range(1, terms):
        term_a, term_b = term_a * n / k, term_b * cn / k
        left_a, left_b = left_a - term_a, left_b - term_b
        total = total + left_a * left_b
    return (total / cn)[()]


@cache
def _table() -> npt.NDArray[np.float64]:
    """The series over n = NTU/(1 + NTU), evenly, and capacity ratio, evenly."""
    x = np.linspace(0.0, MOST_NTU / (1.0 + MOST_NTU), LEAST_NTU_STEP + 1)[:, None]
    ratio = np.linspace(0.0, 1.0, RATIO_STEPS + 1)
    ntu = np.maximum(x / (1.0 - x), 1e-9)
    found = np.array(crossflow_series(ntu=ntu, capacity_ratio=np.maximum(ratio, 1e-9)))
    found[:, 0] = 1.0 - np.exp(-ntu[:, 0])
    found[0] = 0.0
    return found


def effectiveness_crossflow(*, ntu: Array, capacity_ratio: Array) -> Array:
    """Effectiveness of a crossflow exchanger with both streams unmixed. Any shape.

    ntu = UA/C_min (above 60 counts as 60), capacity_ratio = C_min/C_max, 0 to 1. Within 1e-4 of
    the exact series, from which it is read. Charge coolers and radiators are of this kind.
    Source: Mason (1955); Kays and London, Compact Heat Exchangers.
    """
    table = _table().ravel()
    top = LEAST_NTU_STEP * (1.0 + MOST_NTU) / MOST_NTU
    n = np.asarray(ntu, dtype=np.float64)
    # fmax and fmin also send NaN to the first cell, so that it can be an index
    x = np.fmin(np.fmax(n / (1.0 + n) * top, 0.0), LEAST_NTU_STEP - 1e-9)
    c = np.fmin(np.fmax(np.asarray(capacity_ratio) * RATIO_STEPS, 0.0), RATIO_STEPS - 1e-9)
    i, j = x.astype(np.intp), c.astype(np.intp)
    share_i, share_j = x - i, c - j
    at = i * (RATIO_STEPS + 1) + j
    low = table[at] + share_j * (table[at + 1] - table[at])
    at = at + (RATIO_STEPS + 1)
    high = table[at] + share_j * (table[at + 1] - table[at])
    return np.asarray(low + share_i * (high - low) + 0.0 * n)[()]


def conductance_from_effectiveness(
    *, effectiveness: Array, hot_capacity: Array, cold_capacity: Array, steps: int = 7
) -> Array:
    """UA (W/K) of a crossflow core from its effectiveness measured at two capacity flows (W/K).

    Turns ``effectiveness_crossflow`` round by Newton's steps from the side of small NTU, where
    they cannot overshoot since effectiveness bends downward. NaN where that effectiveness is not
    to be had at any size. Any shape.
    Source: as ``effectiveness_crossflow``.
    """
    least = np.minimum(hot_capacity, cold_capacity)
    ratio = least / np.maximum(hot_capacity, cold_capacity)
    wanted = np.asarray(effectiveness, dtype=np.float64)
    ntu = np.asarray(-np.log1p(-np.minimum(wanted, 1.0 - 1e-9)))
    for _ in range(steps):
        here = effectiveness_crossflow(ntu=ntu, capacity_ratio=ratio)
        ahead = effectiveness_crossflow(ntu=1.02 * ntu + 1e-6, capacity_ratio=ratio)
        slope = np.maximum((ahead - here) / (0.02 * ntu + 1e-6), 1e-6)
        ntu = np.minimum(ntu + np.maximum(wanted - here, 0.0) / slope, MOST_NTU)
    reached = effectiveness_crossflow(ntu=ntu, capacity_ratio=ratio)
    return np.where(np.abs(reached - wanted) < 1e-3, ntu * least, np.nan)[()]


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
