"""Margin functions of the fuel room: each gives the slack in SI that its check names."""

from __future__ import annotations

from collections.abc import Callable
from functools import wraps
from inspect import Parameter, signature
from typing import Any

import numpy as np

from drybuild.findings import NOT_APPLICABLE, Along
from drybuild.systems.fuel import hydraulics, properties
from drybuild.systems.fuel.network import WorkingPoint
from drybuild.systems.fuel.properties import FuelProperties, HotFuel
from drybuild.systems.fuel.results_parts import Injection, Rail
from drybuild.systems.fuel.rules_materials import ethanol_limit
from drybuild.values import Array

DUTY_LIMIT = 0.85
IDLE_RISE_SHARE = 0.05
"""Practice: rail pressure steady within 5 % of base."""
SUPPLY_LOSS_ALLOWED = 0.6e5
"""Practice: more than half a bar or so between pump and rail is a line too small."""
BALANCE_ALLOWED = 0.01
SPEED = "rotation_speed"
Function = Callable[..., Any]


def _for_what_is_there(slack: Function) -> Function:
    """No finding for a fuel that is not used, or a part that is known not to be there."""

    @wraps(slack)
    def only(*, used: bool | None = None, present: bool | None = None, **inputs: Any) -> Any:
        if used is False or present is False:
            return NOT_APPLICABLE
        return slack(**inputs)

    known = signature(slack)
    more = [Parameter(n, Parameter.KEYWORD_ONLY, default=None) for n in ("used", "present")]
    only.__signature__ = known.replace(  # type: ignore[attr-defined]
        parameters=[*known.parameters.values(), *more]
    )
    return only


@_for_what_is_there
def injector_duty(*, injection: Injection, limit: Array | None = None) -> Along:
    """Limit less duty along engine speed."""
    most = DUTY_LIMIT if limit is None else limit
    return Along(
        most - injection.duty, np.asarray(injection.engine_speed), SPEED, found=injection.duty,
        high=most,
    )  # fmt: skip


@_for_what_is_there
def idle_pulse(*, injection: Injection, smallest: Array) -> Array:
    """Pulse at idle less the smallest that repeats, s."""
    return np.asarray(pulse_at_idle(injection) - smallest)


def pulse_at_idle(injection: Injection) -> Array:
    """How long the injectors are open, s."""
    return np.asarray(injection.pulse[0])


@_for_what_is_there
def injector_pressure_ceiling(
    *, injection: Injection, idle_injection: Injection, limit: Array
) -> Array:
    """Limit less the highest pressure difference, Pa."""
    return np.asarray(limit - highest_difference(injection, idle_injection))


def highest_difference(injection: Injection, idle_injection: Injection) -> Array:
    """Rail less manifold, at full load and idle, Pa."""
    highest = np.max(injection.difference, axis=0)
    return np.asarray(np.maximum(highest, idle_injection.difference[0]))


@_for_what_is_there
def pump_flow(*, point: WorkingPoint, rail: Rail) -> Along:
    """Flow available at the regulator's pressure over what the engine takes, less 1."""
    return Along(
        point.available / point.demand - 1, rail.engine_speed, SPEED, found=point.available,
        low=point.demand, found_kind="flow_volume",
    )  # fmt: skip


@_for_what_is_there
def return_flow(*, rail_pressure: Array, held: Array, base: Array, flow_back: Array) -> Array:
    """Allowed less actual rise of the idle rail over what the regulator should hold, Pa.

    flow_back (m3/s) is shown in the workings only.
    """
    return IDLE_RISE_SHARE * base - (rail_pressure - held)


def idle_rail_most(held: Array, base: Array) -> Array:
    """What the regulator should hold at idle, and the rise that is allowed, gauge, Pa."""
    return held + IDLE_RISE_SHARE * base


@_for_what_is_there
def supply_loss(*, point: WorkingPoint, rail: Rail) -> Along:
    """Allowed less actual pressure between pump and rail, Pa."""
    lost = point.pump_pressure - point.rail_pressure
    return Along(
        SUPPLY_LOSS_ALLOWED - lost, rail.engine_speed, SPEED, found=lost, high=SUPPLY_LOSS_ALLOWED
    )


@_for_what_is_there
def filter_flow(*, point: WorkingPoint, idle: WorkingPoint, limit: Array) -> Array:
    """Filter's limit less the highest pump flow, m3/s."""
    return np.asarray(limit - highest_flow(point, idle))


def highest_flow(point: WorkingPoint, idle: WorkingPoint) -> Array:
    """Of the pump, at full load and idle, m3/s."""
    return np.asarray(np.maximum(np.max(point.pump_flow, axis=0), idle.pump_flow[0]))


@_for_what_is_there
def suction(
    *,
    air: Any,
    fuel: HotFuel,
    properties: FuelProperties,
    point: WorkingPoint,
    vapour_pressure: Array,
    height: Array,
    strainer_loss: Array,
    strainer_flow: Array,
    needed: Array,
) -> Array:
    """Pressure over vapour pressure at the inlet less what the pump needs, Pa."""
    there = over_vapour(
        air, fuel, properties, point, vapour_pressure, height, strainer_loss, strainer_flow
    )
    return there - needed


def over_vapour(
    air: Any, fuel: HotFuel, properties: FuelProperties, point: WorkingPoint,
    vapour_pressure: Array, height: Array, strainer_loss: Array, strainer_flow: Array,
) -> Array:  # fmt: skip
    """Pressure over vapour pressure at the pump's inlet, Pa."""
    flow = np.max(point.pump_flow, axis=0)
    lost = hydraulics.scaled_loss(flow=flow, rated_flow=strainer_flow, rated_loss=strainer_loss)
    return hydraulics.net_positive_suction(
        surface_pressure=air.pressure,
        vapour_pressure=_vapour(fuel, properties, vapour_pressure),
        density=fuel.density, height=height, loss=lost,
    )  # fmt: skip


def _vapour(fuel: HotFuel, blend: FuelProperties, at_38: Array) -> Array:
    return properties.vapour_pressure_at(
        vapour_pressure_38=at_38, temperature=fuel.temperature,
        ethanol_volume_fraction=blend.ethanol_volume_fraction,
    )  # fmt: skip


@_for_what_is_there
def rail_balance(
    *,
    injection: Injection,
    point: WorkingPoint,
    fuel: HotFuel,
    rails: Array,
    arrangement: str,
    bore: Array,
    length: Array,
) -> Along:
    """Allowed less actual spread of injector flow along the rails: ½·Δp/p."""
    drop = hydraulics.rail_drop(
        injected=point.demand, passing=point.return_flow, bore=bore, length=length,
        density=fuel.density, viscosity=fuel.viscosity, rails=int(np.median(rails)),
        in_series=arrangement == "series",
    )  # fmt: skip
    spread = 0.5 * drop / injection.difference
    return Along(
        BALANCE_ALLOWED - spread, np.asarray(injection.engine_speed), SPEED, found=spread,
        high=BALANCE_ALLOWED,
    )  # fmt: skip


def below(*, limit: Array, highest: Array) -> Array:
    """Limit less the highest pressure, Pa."""
    return limit - highest


filter_below = _for_what_is_there(below)


@_for_what_is_there
def return_hose(*, limit: Array, rail_pressure: Array) -> Array:
    """Rating less the idle rail pressure, which the return line cannot exceed, Pa."""
    return limit - rail_pressure


@_for_what_is_there
def ethanol_fit(*, ethanol: Array, stands: Any) -> Array:
    """What the part stands less the blend's content, by volume."""
    return stood(stands) - ethanol


def stood(stands: Any) -> Array:
    """Ethanol that the part stands, by volume."""
    return ethanol_limit(stands)


@_for_what_is_there
def octane(*, octane: Array, required: Array) -> Array:
    """Research octane over what is required."""
    return octane - required


@_for_what_is_there
def sensor_range(*, ethanol: Array, low: Array, high: Array) -> Array:
    """Room inside the sensor's range, by volume."""
    return np.minimum(ethanol - low, high - ethanol)


@_for_what_is_there
def distance(*, range: Array, wanted: Array) -> Array:
    """Range less what is wanted, m."""
    return range - wanted
