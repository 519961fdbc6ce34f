"""The one joint solver of breathing: boost, losses, compressor, charge temperature, air flow.

They depend on each other: the flow sets the losses and the compressor's efficiency, these set the
charge temperature, and that sets the flow. For each engine speed a fixed number of passes is made;
each pass works out everything from the last one's flow and charge temperature, and before the last
pass the flow is carried to where the passes head (Aitken). What still moves by more than
``TOLERANCE`` in the last pass is not solved and becomes NaN.
"""

from __future__ import annotations

from dataclasses import dataclass, fields
from math import pi
from typing import Any

import numpy as np
import numpy.typing as npt

from drybuild.systems.breathing import compressor, compressor_map
from drybuild.systems.breathing.air import CP_DRY, R_DRY, R_VAPOUR, Air
from drybuild.systems.breathing.compressor_map import MapGrid, Row
from drybuild.systems.breathing.exchange import (
    charge_temperature,
    effectiveness_crossflow,
    scaled_pressure_loss,
)
from drybuild.values import Array

FloatArray = npt.NDArray[np.float64]

PASSES = 3
MORE_PASSES = 4
"""Passes added for draws that are not solved after ``PASSES``; then they are given up."""
TOLERANCE = 2e-3
"""Relative change in the last pass that counts as solved; the error left is about a fifth."""


@dataclass(frozen=True)
class Loss:
    """A measured point of a duct or core: loss Pa at flow kg/s and density kg/m3."""

    loss: Array
    flow: Array
    density: Array


@dataclass(frozen=True)
class ChargeCooler:
    """conductance UA W/K as it stands in the cooling air; cold_capacity of that air, W/K.

    air_speed: of the cooling air through the face, m/s; ram_share: that over road speed.
    """

    conductance: Array
    cold_capacity: Array
    loss: Loss
    air_speed: Array = np.nan
    ram_share: Array = np.nan
    face_area: Array = np.nan

    def temperature_at(
        self, *, operating: Operating, road_speed: Array, air_rise: Array
    ) -> FloatArray:
        """Charge temperature (K, N) at another road speed (m/s) and in warmer air (K more)."""
        return np.asarray(
            charge_temperature(
                flow=operating.air_flow,
                temperature_in=operating.compressor_outlet_temperature + air_rise,
                air_temperature=operating.outside_temperature + air_rise,
                conductance=self.conductance,
                cold_capacity=self.cold_capacity,
                air_speed=road_speed * self.ram_share,
                rated_air_speed=self.air_speed,
            )
        )


@dataclass(frozen=True)
class Compressor:
    """Its map, or one efficiency for all points when nobody has the map.

    reach: (K,) or (K, N), highest pressure ratio the turbine can drive it to at each engine speed.
    flow_scale, efficiency_scale: this compressor against its map (1 = as the map).
    """

    reach: Array
    map: MapGrid | None = None
    efficiency: Array | None = None
    flow_scale: Array = 1.0
    efficiency_scale: Array = 1.0


@dataclass(frozen=True)
class Operating:
    """Full throttle along engine speed: (K,) rad/s, the rest (K, N), SI, pressures absolute.

    corrected_flow, compressor_speed (true shaft speed, rad/s), surge_flow, choke_flow,
    highest_ratio are NaN without a map; the flows are corrected ones at the map's references.
    boost_target: absolute pressure asked for; limited: the turbine cannot reach the target.
    residual: relative change in the last pass.
    """

    engine_speed: FloatArray
    outside_temperature: FloatArray
    manifold_pressure: FloatArray
    manifold_temperature: FloatArray
    air_flow: FloatArray
    dry_air_flow: FloatArray
    pressure_ratio: FloatArray
    compressor_inlet_pressure: FloatArray
    compressor_inlet_temperature: FloatArray
    compressor_outlet_pressure: FloatArray
    compressor_outlet_temperature: FloatArray
    corrected_flow: FloatArray
    compressor_speed: FloatArray
    efficiency: FloatArray
    surge_flow: FloatArray
    choke_flow: FloatArray
    highest_ratio: FloatArray
    cooler_loss: FloatArray
    cooler_effectiveness: FloatArray
    boost_target: FloatArray
    limited: FloatArray
    residual: FloatArray


def solve(
    *,
    air: Air,
    engine_speed: FloatArray,
    volumetric_efficiency: Array,
    displacement: Array,
    target_pressure: Array,
    intake_loss: Loss | None = None,
    intake_temperature_rise: Array = 0.0,
    compressor_: Compressor | None = None,
    cooler: ChargeCooler | None = None,
    throttle_loss: Loss | None = None,
    passes: int = PASSES,
) -> Operating:
    """Solve full throttle along ``engine_speed`` (K,) rad/s. See ``Operating`` for what returns.

    volumetric_efficiency: (K, 1) or (K, N); displacement m3; target_pressure: absolute manifold
    pressure asked for, Pa, (N,) (ignored without a compressor). A loss not given counts as none.
    Valid for a warm engine, throttle wide open, steady speed: no transients, no heat soak.
    Raises ValueError without map and efficiency for a compressor.
    Source: the formulas of this room, by successive substitution.
    """
    if compressor_ is not None and compressor_.map is None and compressor_.efficiency is None:
        raise ValueError("needs the compressor's map, or its efficiency")
    speeds = np.asarray(engine_speed, dtype=np.float64)
    case = _case(
        air, displacement, target_pressure, air.temperature + intake_temperature_rise, intake_loss,
        compressor_, cooler, throttle_loss,
    )  # fmt: skip
    reach = 1.0 if compressor_ is None else compressor_.reach
    size = _size(case, (volumetric_efficiency, reach))
    same = {  # along engine speed: one row, seen sixteen times
        "outside_temperature": air.temperature,
        "compressor_inlet_temperature": case.inlet_temperature,
        "boost_target": air.pressure if compressor_ is None else target_pressure,
    }
    names = [f.name for f in fields(Operating) if f.name not in ("engine_speed", *same)]
    out = {name: np.empty((len(speeds), size)) for name in names}
    start: tuple[Array, ...] | None = None
    for k, n in enumerate(speeds):
        with np.errstate(all="ignore"):  # what cannot be becomes NaN, and is not solved
            ve = _at(volumetric_efficiency, k)
            row = _row(case, float(n), ve, k, passes, start)
            if not np.all(row["residual"] <= TOLERANCE):
                # the few that are not there get more passes; the others keep what they have
                more = _row(case, float(n), ve, k, passes + MORE_PASSES, start)
                there = row["residual"] <= TOLERANCE
                row = {name: np.where(there, value, more[name]) for name, value in row.items()}
        solved = row["residual"] <= TOLERANCE
        for name, value in row.items():
            out[name][k] = value
        if np.all(solved):
            start = _start(air, row) if compressor_ is not None else start
        else:
            for name in names:
                out[name][k, np.broadcast_to(~solved, (size,))] = np.nan
    shape = (len(speeds), size)
    views = {name: np.broadcast_to(np.asarray(v, float), shape) for name, v in same.items()}
    return Operating(engine_speed=speeds, **out, **views)


@dataclass(frozen=True, slots=True)
class _Case:
    """What does not change along engine speed.

    intake: Pa per square of flow; cooler_loss, throttle: the same, times temperature over
    pressure; to_map: corrected flow for flow over inlet pressure.
    """

    air: Air
    displacement: Array
    target: Array
    inlet_temperature: Array
    intake: Array
    compressor: Compressor | None
    to_map: Array
    cooler: ChargeCooler | None
    cooler_loss: Array
    throttle: Array
    gas_constant: Array


def _case(
    air: Air,
    displacement: Array,
    target: Array,
    inlet_temperature: Array,
    intake: Loss | None,
    machine: Compressor | None,
    cooler: ChargeCooler | None,
    throttle: Loss | None,
) -> _Case:
    gas = _gas_constant(air)
    to_map: Array = np.nan
    if machine is not None and machine.map is not None:
        to_map = compressor.corrected_flow(
            flow=1.0 / machine.flow_scale, inlet_temperature=inlet_temperature,
            inlet_pressure=1.0, map_temperature=machine.map.temperature,
            map_pressure=machine.map.pressure,
        )  # fmt: skip
    return _Case(
        air, displacement, target, inlet_temperature, _loss_at_one(intake, air.density), machine,
        to_map, cooler, _loss_at_one(None if cooler is None else cooler.loss, 1.0) * gas,
        _loss_at_one(throttle, 1.0) * gas, gas,
    )  # fmt: skip


def _loss_at_one(loss: Loss | None, density: Array) -> Array:
    """Loss at a flow of 1 kg/s and that density; it grows with the square of the flow."""
    if loss is None:
        return 0.0
    return scaled_pressure_loss(
        loss=loss.loss, at_flow=loss.flow, at_density=loss.density, flow=1.0, density=density
    )


def _row(
    case: _Case,
    speed: float,
    ve: Array,
    k: int,
    passes: int,
    start: tuple[Array, ...] | None,
) -> dict[str, Any]:
    """Solve at one engine speed. Arrays of one row stay in the processor's cache."""
    air, machine, t1 = case.air, case.compressor, case.inlet_temperature
    per_pressure = ve * case.displacement * (speed / (4.0 * pi)) / case.gas_constant
    reach = 1.0 if machine is None else _at(machine.reach, k)
    target = case.target if machine is not None else np.inf
    # The first guess takes efficiency, effectiveness and losses from the speed below: it saves
    # passes.
    cooler = case.cooler
    guess = (0.7, 0.0 if cooler is None else 0.8, 0.0, 0.0) if start is None else start
    efficiency, effectiveness, lost_before, lost_after = guess
    pressure = np.minimum(target, reach * air.pressure)
    hot = _hot(machine, t1, pressure / air.pressure, efficiency)
    temperature = hot - effectiveness * (hot - air.temperature)
    square = (per_pressure * pressure / temperature) ** 2
    pressure = np.minimum(
        target, reach * (air.pressure - lost_before * square) - lost_after * square
    )
    flow = per_pressure * pressure / temperature
    before = flow
    for step in range(passes):
        square = flow * flow
        p1 = air.pressure - case.intake * square
        over = square / pressure
        cooler_loss = case.cooler_loss * over * (0.5 * (hot + temperature))
        after = cooler_loss + case.throttle * over * temperature
        wanted = (target + after) / p1
        ratio = np.minimum(wanted, reach)
        pressure = ratio * p1 - after
        row, corrected, efficiency = _on_map(case, flow, ratio, p1)
        effectiveness = _effectiveness(cooler, flow)
        hot = _hot(machine, t1, ratio, efficiency)
        cooled = hot - effectiveness * (hot - air.temperature)
        new_flow = per_pressure * pressure / cooled
        if step == passes - 1:
            residual = np.maximum(
                np.abs(new_flow / flow - 1.0), np.abs(cooled / temperature - 1.0)
            )
        elif step == passes - 2:
            new_flow = _ahead(before, flow, new_flow)
        before, flow, temperature = flow, new_flow, cooled
    return {
        "manifold_pressure": pressure,
        "manifold_temperature": temperature,
        "air_flow": flow,
        "dry_air_flow": flow / (1.0 + air.humidity_ratio),
        "pressure_ratio": ratio,
        "compressor_inlet_pressure": p1,
        "compressor_outlet_pressure": pressure + after,
        "compressor_outlet_temperature": hot,
        "corrected_flow": corrected,
        "efficiency": efficiency,
        "cooler_loss": cooler_loss,
        "cooler_effectiveness": effectiveness,
        "limited": wanted > reach,
        "residual": residual,
        **_map_readings(machine, row, corrected, ratio, t1),
    }


def _hot(machine: Compressor | None, t1: Array, ratio: Array, efficiency: Array) -> Array:
    if machine is None:
        return t1
    return compressor.outlet_temperature(
        inlet_temperature=t1, pressure_ratio=ratio, efficiency=efficiency
    )


def _start(air: Air, row: dict[str, Any]) -> tuple[Array, ...]:
    """What the next speed's first guess takes over; losses per square of flow."""
    square = row["air_flow"] ** 2
    before = (air.pressure - row["compressor_inlet_pressure"]) / square
    after = (row["compressor_outlet_pressure"] - row["manifold_pressure"]) / square
    return row["efficiency"], row["cooler_effectiveness"], before, after


def _ahead(first: Array, second: Array, third: Array) -> Array:
    """Where three flows in a row are heading (Aitken): one more pass from there has it."""
    step = third - second
    turn = step - (second - first)
    settled = np.abs(turn) < 1e-9 * third
    jump = step * step / np.where(settled, 1.0, turn)
    near = np.abs(jump) < np.abs(step)  # so it is where the passes close in evenly
    return np.where(settled | ~near, third, third - jump)


def _on_map(
    case: _Case, flow: Array, ratio: Array, p1: Array
) -> tuple[Row | None, Array, Array]:
    """Row of the map, corrected flow on the map's own terms, and efficiency."""
    machine = case.compressor
    if machine is None:
        return None, np.nan, np.nan
    if machine.map is None:
        return None, np.nan, np.nan if machine.efficiency is None else machine.efficiency
    corrected = case.to_map * flow / p1
    row = compressor_map.find_row(machine.map, ratio)
    efficiency = compressor_map.read_efficiency(machine.map, row, corrected)
    return row, corrected, efficiency * machine.efficiency_scale


def _map_readings(
    machine: Compressor | None, row: Row | None, corrected: Array, ratio: Array, t1: Array
) -> dict[str, Any]:
    names = ("compressor_speed", "surge_flow", "choke_flow", "highest_ratio")
    if machine is None or machine.map is None or row is None:
        return dict.fromkeys(names, np.nan)
    grid = machine.map
    on_map = compressor_map.read_speed(grid, row, corrected, ratio)
    speed = compressor.shaft_speed(
        corrected_speed=on_map, inlet_temperature=t1, map_temperature=grid.temperature
    )
    return {
        "compressor_speed": speed,
        "surge_flow": compressor_map.surge_flow(grid, row),
        "choke_flow": compressor_map.choke_flow(grid, row),
        "highest_ratio": compressor_map.highest_ratio(grid, corrected),
    }


def _effectiveness(cooler: ChargeCooler | None, flow: Array) -> Array:
    if cooler is None:
        return 0.0
    charge = flow * CP_DRY
    least = np.minimum(charge, cooler.cold_capacity)
    ratio = least / np.maximum(charge, cooler.cold_capacity)
    found = effectiveness_crossflow(ntu=cooler.conductance / least, capacity_ratio=ratio)
    return found * (least / charge)


def _gas_constant(air: Air) -> Array:
    w = air.humidity_ratio
    return (R_DRY + w * R_VAPOUR) / (1.0 + w)


def _at(values: Array, k: int) -> Array:
    array = np.asarray(values)
    return values if array.ndim == 0 else array[k]


def _size(case: _Case, along: tuple[Array, ...]) -> int:
    """Number of draws: the longest last axis. ``along``: what has engine speed as first axis."""
    air, machine, cooler = case.air, case.compressor, case.cooler
    given: list[Any] = [case.displacement, case.inlet_temperature, case.gas_constant]
    given += [air.pressure, case.intake, case.throttle, case.cooler_loss, case.to_map]
    given += [cooler.conductance, cooler.cold_capacity] if cooler else []
    given += [case.target, machine.efficiency, machine.efficiency_scale] if machine else []
    sizes = [np.size(value) for value in given if value is not None]
    sizes += [np.shape(value)[1] for value in along if np.ndim(value) == 2]
    return max(sizes)
