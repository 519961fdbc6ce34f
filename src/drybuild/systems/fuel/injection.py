"""Injectors: flow at the actual pressure difference, dead time, duty, smallest pulse."""

from __future__ import annotations

import numpy as np

from drybuild.values import Array


def pressure_difference(
    *, rail_gauge: Array, manifold_absolute: Array, barometric_pressure: Array
) -> Array:
    """Pressure difference across an injector, Pa: rail (gauge) minus manifold (gauge).

    Holds for referenced and unreferenced rails alike, since both pressures are the actual ones.
    Source: definition.
    """
    return rail_gauge - (manifold_absolute - barometric_pressure)


def rail_set_pressure(
    *, base_pressure: Array, manifold_absolute: Array, barometric_pressure: Array, referenced: bool
) -> Array:
    """Rail gauge pressure that the regulator holds, Pa.

    A referenced (1:1) regulator adds the manifold's gauge pressure to its base; an unreferenced
    one holds the base whatever the manifold does. Source: definition.
    """
    if not referenced:
        return base_pressure + 0.0 * manifold_absolute
    return base_pressure + (manifold_absolute - barometric_pressure)


def volume_flow(
    *,
    rated_flow: Array,
    rated_difference: Array,
    test_density: Array,
    difference: Array,
    fuel_density: Array,
) -> Array:
    """Volume flow of an open injector on this fuel, m3/s.

    rated_flow m3/s at rated_difference (Pa) on a test fluid of test_density (kg/m3, n-heptane
    684 at 20 °C unless the maker says). Q = Q₀·√(Δp/Δp₀)·√(ρ_test/ρ). NaN where Δp < 0.
    Source: orifice equation; SAE J1832 rates on n-heptane (from memory).
    """
    with np.errstate(invalid="ignore"):
        ratio = difference / rated_difference * (test_density / fuel_density)
        return rated_flow * np.sqrt(ratio)


def mass_flow(
    *,
    rated_flow: Array,
    rated_difference: Array,
    test_density: Array,
    difference: Array,
    fuel_density: Array,
) -> Array:
    """Mass flow of an open injector on this fuel, kg/s: m = Q₀·√(Δp/Δp₀)·√(ρ_test·ρ).

    Arguments as in ``volume_flow``. Source: orifice equation.
    """
    with np.errstate(invalid="ignore"):
        ratio = difference / rated_difference * (test_density * fuel_density)
        return rated_flow * np.sqrt(ratio)


def dead_time_at(
    *,
    dead_time: Array,
    difference: Array,
    rated_difference: Array,
    pressure_slope: Array = 0.0,
) -> Array:
    """Dead time (time lost in opening over closing) at the actual pressure difference, s.

    dead_time: at the actual voltage and rated difference; pressure_slope: relative rise per
    relative rise in pressure difference, 0 where the maker gives none. Never below zero.
    Source: linear reading of makers' tables; SAE J1832 calls it time offset.
    """
    return np.maximum(dead_time * (1 + pressure_slope * (difference / rated_difference - 1)), 0.0)


def injection_window(*, engine_speed: Array, injections: Array = 1.0) -> Array:
    """Time for one injection, s: the 720° cycle, 4π/ω, that is 120/rpm, over the injections in it.

    engine_speed rad/s. Sequential port injection gives one; batch fire two. Source: definition.
    """
    return 4 * np.pi / (engine_speed * injections)


def fuel_per_injection(
    *, fuel_flow: Array, engine_speed: Array, injectors: Array, injections: Array = 1.0
) -> Array:
    """Fuel mass of one injection, kg, from the engine's fuel flow (kg/s). Source: definition."""
    window = injection_window(engine_speed=engine_speed, injections=injections)
    return fuel_flow / injectors * window


def pulse_width(*, fuel_mass: Array, injector_flow: Array, dead_time: Array) -> Array:
    """Commanded pulse, s: dead time first, then the time the fuel takes to pass.

    fuel_mass kg, injector_flow kg/s. The linear part of SAE J1832's line, Qd = m·(PW − X).
    """
    return dead_time + fuel_mass / injector_flow


def duty(*, pulse: Array, window: Array) -> Array:
    """Share of the cycle that the injector is commanded open. Source: definition."""
    return pulse / window


def static_flow_needed(
    *, power: Array, specific_fuel: Array, injectors: Array, duty_limit: Array, density: Array
) -> Array:
    """Rated volume flow each injector needs, m3/s, by the usual sizing rule.

    power W, specific_fuel kg/J, density kg/m3 of the fuel the rating is read for. Leaves dead
    time out: use ``duty`` to decide. Source: definition, form as in textbooks.
    """
    return power * specific_fuel / (injectors * duty_limit * density)


def rated_volume_flow(*, rated_mass_flow: Array, test_density: Array) -> Array:
    """Volume rating of an injector rated by mass (lb/h as kg/s), m3/s. Source: unit identity."""
    return rated_mass_flow / test_density
