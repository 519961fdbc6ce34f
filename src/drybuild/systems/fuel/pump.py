"""Fuel pump: flow at its own terminal voltage, current, power, and the affinity laws."""

from __future__ import annotations

import numpy as np

from drybuild.values import Array


def hydraulic_power(*, flow: Array, pressure: Array) -> Array:
    """Power in the fuel, W: Q·Δp. flow m3/s, pressure Pa. Source: definition."""
    return flow * pressure


def electric_current(*, power: Array, efficiency: Array, voltage: Array) -> Array:
    """Current for a hydraulic power (W) at an overall efficiency, A. Source: definition."""
    return power / efficiency / voltage


def affinity_flow(*, flow: Array, speed_ratio: Array) -> Array:
    """Flow of a rotary pump at another speed: ∝ n. Source: Crane TP-410, affinity laws."""
    return flow * speed_ratio


def affinity_pressure(*, pressure: Array, speed_ratio: Array) -> Array:
    """Pressure (or head) of a dynamic pump at another speed: ∝ n²."""
    return pressure * speed_ratio**2


def affinity_power(*, power: Array, speed_ratio: Array) -> Array:
    """Power of a dynamic pump at another speed: ∝ n³."""
    return power * speed_ratio**3


def terminal_voltage(*, supply_voltage: Array, current: Array, circuit_resistance: Array) -> Array:
    """Voltage at the pump itself, V: supply less the drop both ways. Source: Ohm's law."""
    return supply_voltage - current * circuit_resistance


def speed_ratio(
    *, voltage: Array, rated_voltage: Array, current: Array, winding_resistance: Array = 0.0
) -> Array:
    """Motor speed over that on the rated curve at the same pressure, 1.

    A permanent-magnet motor turns in proportion to V − I·R_winding; at one pressure the torque,
    and so the current, is the same at either voltage. 0 where it stalls. Source: motor equation.
    """
    back = voltage - current * winding_resistance
    rated = rated_voltage - current * winding_resistance
    return np.maximum(back / rated, 0.0)


def flow_at_voltage(*, rated_flow: Array, rated_free_flow: Array, ratio: Array) -> Array:
    """Flow of a displacement pump at another speed, m3/s, at the same pressure.

    rated_flow on the rated curve, rated_free_flow on it at no pressure, ratio the speed ratio.
    The inner leakage belongs to the pressure and does not change: Q = Q_rated − Q_free·(1 − n/n₀).
    That is why a pump loses more than in proportion. Never negative. Source: displacement pump.
    """
    return np.maximum(rated_flow - rated_free_flow * (1 - ratio), 0.0)
