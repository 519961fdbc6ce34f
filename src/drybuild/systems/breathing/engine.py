"""Air through the engine, fuel into power, power into torque, and corrections for the weather."""

from __future__ import annotations

from dataclasses import dataclass
from math import pi
from typing import Literal

import numpy as np
import numpy.typing as npt

from drybuild.systems.breathing.air import R_DRY
from drybuild.values import Array

Method = Literal["ISO 1585", "SAE J1349"]
Correction = Literal["ISO 1585", "SAE J1349", "none"]


def air_flow(
    *,
    volumetric_efficiency: Array,
    manifold_pressure: Array,
    manifold_temperature: Array,
    displacement: Array,
    engine_speed: Array,
    gas_constant: Array = R_DRY,
) -> Array:
    """Mass flow (kg/s) of a four-stroke engine. Pressure Pa absolute, K, m3, rad/s. Any shape.

    Volumetric efficiency is referred to the density in the inlet manifold, so that one curve
    serves with and without boost. Two revolutions for one filling: n/2 = ω/(4π).
    Source: definition; Heywood, Internal Combustion Engine Fundamentals (1988), equation 2.27.
    """
    density = manifold_pressure / (gas_constant * manifold_temperature)
    return volumetric_efficiency * density * displacement * engine_speed / (4.0 * pi)


def fuel_flow(*, air_flow: Array, lambda_: Array, stoichiometric_ratio: Array) -> Array:
    """Fuel (kg/s) for a dry-air flow at a lambda. Ratio in kg of air per kg of this fuel.

    Any shape. Source: definition of lambda.
    """
    return air_flow / (lambda_ * stoichiometric_ratio)


def efficiency_at_lambda(*, efficiency: Array, lambda_: Array) -> Array:
    """Brake efficiency on all fuel supplied, from that on the fuel the air can burn. Any shape.

    Richer than lambda 1 the surplus fuel finds no oxygen and does no work, so the efficiency falls
    with lambda and the power of a given air flow stays. Valid for lambda 0.75 to 1; leaner is
    returned unchanged.
    Source: oxygen balance (Heywood 1988, section 3.5).
    """
    return efficiency * np.minimum(lambda_, 1.0)


def power_from_efficiency(
    *, fuel_flow: Array, heating_value: Array, brake_efficiency: Array
) -> Array:
    """Brake power (W) from fuel flow kg/s, lower heating value J/kg and brake efficiency.

    Any shape. Source: definition; Heywood (1988), equation 2.24.
    """
    return fuel_flow * heating_value * brake_efficiency


def power_from_specific_fuel(*, fuel_flow: Array, specific_fuel: Array) -> Array:
    """Brake power (W) from fuel flow kg/s and brake specific fuel consumption kg/J. Any shape.

    Source: definition; Heywood (1988), equation 2.22.
    """
    return fuel_flow / specific_fuel


def efficiency_from_specific_fuel(*, specific_fuel: Array, heating_value: Array) -> Array:
    """Brake efficiency from specific fuel consumption kg/J and heating value J/kg. Any shape.

    Source: identity; Heywood (1988), equation 2.24.
    """
    return 1.0 / (specific_fuel * heating_value)


def torque_from_power(*, power: Array, engine_speed: Array) -> Array:
    """Torque (N·m) from power W and rotation speed rad/s. Any shape. NaN at standstill.

    Source: definition.
    """
    turning = np.where(np.asarray(engine_speed) > 0.0, engine_speed, np.nan)
    return (power / turning)[()]


def mean_effective_pressure(*, torque: Array, displacement: Array) -> Array:
    """Brake mean effective pressure (Pa) of a four-stroke: 4π·T/V. N·m, m3. Any shape.

    Source: definition; Heywood (1988), equation 2.20.
    """
    return 4.0 * pi * torque / displacement


@dataclass(frozen=True)
class Factor:
    """A correction factor, and whether it lies where its standard allows it to be used."""

    value: Array
    in_range: bool | npt.NDArray[np.bool_]
    low: float
    high: float


ISO_1585_RANGE = (0.93, 1.07)
SAE_J1349_RANGE = (0.93, 1.07)


def correction_iso1585(*, dry_pressure: Array, temperature: Array) -> Factor:
    """Factor that turns observed power into power at 99 kPa dry and 298 K, spark ignition.

    α = (99 kPa/p_dry)^1.2·(T/298)^0.6. ``dry_pressure`` Pa absolute: barometer less water vapour,
    never the barometer itself. ``temperature`` K at the engine's inlet. Any shape. To be used only
    from 0.93 to 1.07; outside, the standard wants the conditions stated instead, so ``in_range``
    is False there. Not for an engine whose boost control already makes up for the weather.
    Source: ISO 1585:2020, clause 6; UN Regulation 85, annex 5 (exponents from memory).
    """
    ratio = 99_000.0 / np.asarray(dry_pressure, dtype=np.float64)
    value = ratio**1.2 * (np.asarray(temperature, dtype=np.float64) / 298.0) ** 0.6
    low, high = ISO_1585_RANGE
    return Factor(value[()], ((value >= low) & (value <= high))[()], low, high)


def correction_j1349(*, dry_pressure: Array, temperature: Array) -> Factor:
    """Factor to 99 kPa dry and 25 °C with 85 % mechanical efficiency, spark ignition.

    CF = 1.18·(99 kPa/p_dry)·√(T/298) − 0.18. Pa absolute (dry), K. Any shape. The 0.93 to 1.07
    kept here is the usual reading of the standard's limit on the factor (memory).
    Source: SAE J1349 (JUN90 form, as quoted; carried on in later editions from memory).
    """
    dry = np.asarray(dry_pressure, dtype=np.float64)
    value = 1.18 * (99_000.0 / dry) * np.sqrt(np.asarray(temperature) / 298.0) - 0.18
    low, high = SAE_J1349_RANGE
    return Factor(value[()], ((value >= low) & (value <= high))[()], low, high)


def correction(
    *,
    method: Method,
    dry_pressure: Array,
    temperature: Array,
    boost_compensates: bool,
) -> Factor:
    """The factor to use on this engine: 1 where boost control already makes up for the weather.

    A turbocharged engine held to an *absolute* manifold pressure makes the same power at altitude;
    multiplying that by the factor would count the weather twice. Pa absolute (dry), K.
    Source: UNECE GRPE-70-02 (2014), proposal on UN Regulation 85: no redundant correction.
    """
    if boost_compensates:
        ones = np.ones_like(np.asarray(dry_pressure, dtype=np.float64))[()]
        return Factor(ones, np.ones_like(ones, dtype=bool)[()], 1.0, 1.0)
    if method == "ISO 1585":
        return correction_iso1585(dry_pressure=dry_pressure, temperature=temperature)
    return correction_j1349(dry_pressure=dry_pressure, temperature=temperature)


def wheel_power(*, crank_power: Array, driveline_efficiency: Array) -> Array:
    """Power at the wheels (W): crank power less the driveline's loss, as one share. Any shape.

    Loss in truth is part drag, part proportional; one share holds near full load only.
    Source: definition; Gillespie, Fundamentals of Vehicle Dynamics, chapter 2.
    """
    return crank_power * driveline_efficiency


def idle_air_flow(
    *,
    idle_speed: Array,
    idle_manifold_pressure: Array,
    idle_volumetric_efficiency: Array,
    displacement: Array,
    temperature: Array,
) -> Array:
    """Air flow at warm idle (kg/s). rad/s, Pa absolute, m3, K. Any shape.

    Source: speed-density, as ``air_flow``.
    """
    return air_flow(
        volumetric_efficiency=idle_volumetric_efficiency,
        manifold_pressure=idle_manifold_pressure,
        manifold_temperature=temperature,
        displacement=displacement,
        engine_speed=idle_speed,
    )
