"""The compressor: corrected flow and speed, outlet temperature, work, and the turbine's drop."""

from __future__ import annotations

import numpy as np

from drybuild.systems.breathing.air import CP_DRY, GAMMA
from drybuild.values import Array

EXPONENT = (GAMMA - 1.0) / GAMMA


def corrected_flow(
    *,
    flow: Array,
    inlet_temperature: Array,
    inlet_pressure: Array,
    map_temperature: float,
    map_pressure: float,
) -> Array:
    """Flow (kg/s) as a map shows it: ṁ·√(T/T_map)/(p/p_map). Pa absolute, K. Any shape.

    Temperature and pressure are those at the compressor's inlet; the references are the map's own,
    and differ by up to 8 % of flow from map to map: take them from the map in hand.
    Source: definition (SAE J1826, J922; any turbomachinery text).
    """
    return flow * np.sqrt(inlet_temperature / map_temperature) * (map_pressure / inlet_pressure)


def corrected_speed(*, speed: Array, inlet_temperature: Array, map_temperature: float) -> Array:
    """Shaft speed (rad/s) as a map shows it: N/√(T/T_map). K at the compressor's inlet. Any shape.

    Source: definition (SAE J1826, J922).
    """
    return speed / np.sqrt(inlet_temperature / map_temperature)


def shaft_speed(
    *, corrected_speed: Array, inlet_temperature: Array, map_temperature: float
) -> Array:
    """True shaft speed (rad/s) from a map's corrected speed; ``corrected_speed`` turned round."""
    return corrected_speed * np.sqrt(inlet_temperature / map_temperature)


def pressure_ratio(
    *,
    boost_gauge: Array,
    barometer: Array,
    loss_after: Array = 0.0,
    loss_before: Array = 0.0,
) -> Array:
    """Ratio the compressor must make for a gauge boost in the manifold. All Pa, any shape.

    (boost + barometer + cooler and throttle loss)/(barometer − intake loss), total pressures taken
    as static. Equal gauge boost is a higher ratio at altitude, since only the barometer falls.
    NaN where the intake loss leaves no pressure.
    Source: definition.
    """
    inlet = np.asarray(barometer - loss_before, dtype=np.float64)
    inlet = np.where(inlet > 0.0, inlet, np.nan)
    return ((boost_gauge + barometer + loss_after) / inlet)[()]


def outlet_temperature(
    *, inlet_temperature: Array, pressure_ratio: Array, efficiency: Array
) -> Array:
    """Temperature (K) after the compressor, isentropic efficiency as on its map. Any shape.

    T₂ = T₁·(1 + (Π^0.2857 − 1)/η), total temperatures, air as ideal gas.
    Source: isentropic relation; SAE J1826.
    """
    head = np.exp(EXPONENT * np.log(pressure_ratio)) - 1.0  # twice as fast as **
    return inlet_temperature * (1.0 + head / efficiency)


def compressor_power(
    *, flow: Array, inlet_temperature: Array, outlet_temperature: Array
) -> Array:
    """Power taken up by the compressor (W): ṁ·c_p·ΔT. kg/s, K. Any shape.

    Source: first law, c_p of dry air 1005 J/(kg K).
    """
    return flow * CP_DRY * (outlet_temperature - inlet_temperature)


def turbine_outlet_temperature(
    *,
    inlet_temperature: Array,
    exhaust_flow: Array,
    compressor_power: Array,
    specific_heat: Array,
    mechanical_efficiency: Array,
) -> Array:
    """Temperature (K) of all exhaust gas after turbine and wastegate, from the work taken out.

    T₄ = T₃ − P_c/(η_m·ṁ·c_p). W, kg/s, J/(kg K). Any shape. Heat lost through the housing is left
    out, so the true temperature is some tens of kelvin lower.
    Source: first law.
    """
    return inlet_temperature - compressor_power / (
        mechanical_efficiency * exhaust_flow * specific_heat
    )


def turbine_expansion_ratio(
    *,
    inlet_temperature: Array,
    outlet_temperature: Array,
    turbine_efficiency: Array,
    gamma: Array,
) -> Array:
    """Least expansion ratio p₃/p₄ of the turbine for its temperature drop. K. Any shape.

    With the wastegate open less gas does the work and the ratio is higher: this is the floor.
    NaN where the drop is more than the gas holds.
    Source: isentropic relation.
    """
    left = 1.0 - (1.0 - outlet_temperature / inlet_temperature) / turbine_efficiency
    left = np.where(np.asarray(left) > 0.0, left, np.nan)
    return (left ** (-gamma / (gamma - 1.0)))[()]
