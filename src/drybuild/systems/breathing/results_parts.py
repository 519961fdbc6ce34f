"""From facts to the solver's objects, and from its answer to what the room offers."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from drybuild.build.kinds.breathing import CompressorMap
from drybuild.findings import FormulaRefused, NotWorkedOut
from drybuild.systems.breathing import compressor, engine, exchange, exhaust, solve
from drybuild.systems.breathing.air import CP_DRY, R_DRY, Air, air_state
from drybuild.systems.breathing.compressor_map import MapGrid, SpeedLine, make_grid
from drybuild.systems.breathing.exhaust import ExhaustState, Piece
from drybuild.values import Array

FloatArray = npt.NDArray[np.float64]

POINTS = 16
LOWEST_SPEED = 1500.0 * np.pi / 30.0
SEA_LEVEL = 101_325.0

MOST_ENERGY_PER_AIR = 26.95e6 / 9.0
"""J per kg of dry air that neat ethanol gives: the most of all petrol and ethanol blends."""


def stated(**facts: Any) -> None:
    """Refuse with the names of all facts that nobody stated (keyword a__b is address a.b)."""
    absent = [name.replace("__", ".") for name, value in facts.items() if value is None]
    if absent:
        raise FormulaRefused(", ".join(absent))


def air_at_site(
    *,
    temperature: Array,
    humidity: Array,
    altitude: Array | None,
    barometer: Array | None,
    weather: Array | None,
) -> Air:
    """``air.air_state``; refuses when neither altitude nor barometer is stated."""
    if altitude is None and barometer is None:
        raise FormulaRefused("site.altitude")
    return air_state(
        temperature=temperature, humidity=humidity, altitude=altitude, barometer=barometer,
        weather=weather,
    )  # fmt: skip


_GRIDS: dict[int, tuple[CompressorMap, MapGrid]] = {}


def grid_of(*, map: CompressorMap) -> MapGrid:
    """The map on its regular grid; made once for each map that was read."""
    kept = _GRIDS.get(id(map))
    if kept is not None and kept[0] is map:
        return kept[1]
    lines = [
        SpeedLine(
            line.speed.centre, tuple(flow.centre for flow in line.flow),
            line.pressure_ratio, line.efficiency,
        )
        for line in map.lines
    ]  # fmt: skip
    try:
        grid = make_grid(
            lines=lines,
            temperature=map.reference_temperature.centre,
            pressure=map.reference_pressure.centre,
        )
    except ValueError as error:
        raise NotWorkedOut(f"turbo.map: {error}") from error
    if len(_GRIDS) >= 64:
        _GRIDS.clear()
    _GRIDS[id(map)] = (map, grid)
    return grid


def boost_target(
    *, air: Air, boost: Array, reference: str | None, scatter: Array | None
) -> Array:
    """Absolute manifold pressure asked for (Pa), from a gauge target.

    Held over the barometer (gauge, as a plain actuator does it) the absolute pressure falls with
    altitude; held absolute it is the target over sea-level pressure, wherever the car is.
    """
    over = SEA_LEVEL if reference == "absolute" else air.pressure
    target = over + boost
    return target if scatter is None else target + scatter


def charge_cooler(
    *,
    present: bool | None,
    air: Air,
    road_speed: Any,
    effectiveness: Any,
    effectiveness_flow: Any,
    effectiveness_air_speed: Any,
    face_area: Any,
    ram_share: Any,
    pressure_loss: Any,
    loss_flow: Any,
    loss_pressure: Any,
    loss_temperature: Any,
) -> solve.ChargeCooler | None:
    """The charge cooler as it stands in the air of a road speed; None when the car has none."""
    if present is False:
        return None
    stated(
        charge_cooler__effectiveness=effectiveness,
        charge_cooler__effectiveness_flow=effectiveness_flow,
        charge_cooler__effectiveness_air_speed=effectiveness_air_speed,
        charge_cooler__face_area=face_area, charge_cooler__ram_share=ram_share,
        charge_cooler__pressure_loss=pressure_loss, charge_cooler__loss_flow=loss_flow,
        charge_cooler__loss_pressure=loss_pressure,
        charge_cooler__loss_temperature=loss_temperature, goal__full_load_road_speed=road_speed,
    )  # fmt: skip
    per_speed = air.density * face_area * CP_DRY
    conductance = exchange.conductance_from_effectiveness(
        effectiveness=effectiveness,
        hot_capacity=effectiveness_flow * CP_DRY,
        cold_capacity=per_speed * effectiveness_air_speed,
    )
    through = ram_share * road_speed
    return solve.ChargeCooler(
        conductance=exchange.conductance_at_air_speed(
            conductance=conductance,
            air_speed=through,
            rated_air_speed=effectiveness_air_speed,
        ),
        cold_capacity=per_speed * through,
        loss=solve.Loss(
            pressure_loss,
            loss_flow,
            loss_pressure / (R_DRY * loss_temperature),
        ),
        air_speed=through,
        ram_share=ram_share,
        face_area=face_area,
    )


def speed_grid(*, rev_limit: Array, map_limit: Array | None = None) -> FloatArray:
    """The sixteen engine speeds (rad/s) of all curves, from 1500 rpm to the lower limit."""
    top = float(np.median(rev_limit))
    if map_limit is not None:
        top = min(top, float(np.median(map_limit)))
    return np.linspace(min(LOWEST_SPEED, 0.5 * top), top, POINTS)


def reach_along(
    *, speeds: FloatArray, target_ratio: Array, reach: Any, full_boost_speed: Any
) -> Array:
    """Highest pressure ratio at each engine speed: the curve, or a straight rise to full boost.

    With only the speed of full boost known, the ratio rises from 1 at half that speed.
    """
    at = speeds[:, None]
    if reach is not None:
        return np.asarray(np.maximum(reach.clip_at(at), 1.0))
    stated(turbo__reach=full_boost_speed)
    way = (2.0 * at / full_boost_speed - 1.0).clip(0.0)
    return np.asarray(1.0 + way * (target_ratio - 1.0))


def operating(
    *,
    air: Air,
    displacement: Array,
    volumetric_efficiency: Any,
    rev_limit: Array,
    map_limit: Any,
    turbo_present: bool | None,
    target: Any,
    grid: MapGrid | None,
    efficiency: Any,
    flow_scale: Any,
    efficiency_scale: Any,
    reach: Any,
    full_boost_speed: Any,
    cooler: solve.ChargeCooler | None,
    cooler_present: bool | None,
    intake_loss: Any,
    intake_flow: Any,
    intake_rise: Any,
    throttle_loss: Any,
    throttle_flow: Any,
    throttle_pressure: Any,
    throttle_temperature: Any,
) -> solve.Operating:
    """Full throttle along engine speed: the facts put into ``solve.solve``."""
    stated(intake__pressure_loss=intake_loss, intake__loss_flow=intake_flow)
    speeds = speed_grid(rev_limit=rev_limit, map_limit=map_limit)
    machine = None
    if turbo_present is not False:
        stated(map__boost_target=target)
        if grid is None and efficiency is None:
            raise FormulaRefused("turbo.map")
        if cooler is None and cooler_present is not False:
            raise FormulaRefused("charge_cooler.effectiveness")
        ratio = 1.05 * target / air.pressure
        machine = solve.Compressor(
            reach=reach_along(
                speeds=speeds, target_ratio=ratio, reach=reach, full_boost_speed=full_boost_speed
            ),
            map=grid,
            efficiency=efficiency,
            flow_scale=1.0 if flow_scale is None else flow_scale,
            efficiency_scale=1.0 if efficiency_scale is None else efficiency_scale,
        )
    throttle = None
    if throttle_loss is not None:
        stated(
            throttle__loss_flow=throttle_flow, throttle__loss_pressure=throttle_pressure,
            throttle__loss_temperature=throttle_temperature,
        )  # fmt: skip
        throttle = solve.Loss(
            throttle_loss,
            throttle_flow,
            throttle_pressure / (R_DRY * throttle_temperature),
        )
    return solve.solve(
        air=air,
        engine_speed=speeds,
        volumetric_efficiency=volumetric_efficiency.at(speeds[:, None]),
        displacement=displacement,
        target_pressure=air.pressure if target is None else target,
        # the intake's point was taken in outside air: its density cancels against the site's
        intake_loss=solve.Loss(intake_loss, intake_flow, air.density),
        intake_temperature_rise=0.0 if intake_rise is None else intake_rise,
        compressor_=machine,
        cooler=cooler if machine is not None else None,
        throttle_loss=throttle,
    )


@dataclass(frozen=True)
class PowerCurve:
    """Full throttle on one fuel: engine_speed (K,) rad/s, the rest (K, N), SI.

    power, torque: at the crank, as the site's weather gives them, uncorrected. wheel_power: NaN
    where the driveline's efficiency is not stated.
    """

    engine_speed: FloatArray
    torque: FloatArray
    power: FloatArray
    wheel_power: FloatArray
    fuel_flow: FloatArray


def power_curve(
    *,
    operating: solve.Operating,
    lambda_: Array,
    stoich: Array,
    heating_value: Array,
    brake_efficiency: Array,
    driveline_efficiency: Array | None,
) -> PowerCurve:
    """Torque and power on a fuel of this stoichiometric ratio and heating value."""
    fuel = engine.fuel_flow(
        air_flow=operating.dry_air_flow, lambda_=lambda_, stoichiometric_ratio=stoich
    )
    power = engine.power_from_efficiency(
        fuel_flow=fuel, heating_value=heating_value,
        brake_efficiency=engine.efficiency_at_lambda(efficiency=brake_efficiency, lambda_=lambda_),
    )  # fmt: skip
    at = operating.engine_speed[:, None]
    share = np.nan if driveline_efficiency is None else driveline_efficiency
    wheels = engine.wheel_power(crank_power=power, driveline_efficiency=share)
    return PowerCurve(
        engine_speed=operating.engine_speed,
        torque=np.asarray(engine.torque_from_power(power=power, engine_speed=at)),
        power=np.asarray(power),
        wheel_power=np.asarray(wheels),
        fuel_flow=np.asarray(fuel),
    )


def power_on_blend(
    *,
    operating: solve.Operating,
    properties: Any,
    lambda_: Array,
    brake_efficiency: Array,
    driveline_efficiency: Array | None,
) -> PowerCurve:
    """``power_curve`` with a blend's properties."""
    return power_curve(
        operating=operating, lambda_=lambda_, stoich=properties.stoich,
        heating_value=properties.heating_value, brake_efficiency=brake_efficiency,
        driveline_efficiency=driveline_efficiency,
    )  # fmt: skip


def torque_along(*, operating: solve.Operating, brake_efficiency: Array) -> FloatArray:
    """Crank torque (K, N), N·m, on the fuel that gives most per kg of air."""
    power = operating.dry_air_flow * (MOST_ENERGY_PER_AIR * brake_efficiency)
    return power / operating.engine_speed[:, None]


def _highest(along: FloatArray) -> FloatArray:
    return np.asarray(along.max(axis=0))


def peak_torque(*, operating: solve.Operating, brake_efficiency: Array) -> Array:
    """Highest steady crank torque (N,), N·m: on whichever blend gives most per kg of air."""
    along = torque_along(operating=operating, brake_efficiency=brake_efficiency)
    return _highest(along)


def peak_torque_overshoot(
    *, operating: solve.Operating, brake_efficiency: Array, overshoot: Array | None
) -> Array:
    """Highest crank torque (N,) with boost above its target for a moment, N·m.

    At one engine speed torque goes as manifold pressure; where the turbine cannot reach the
    target there is no overshoot.
    """
    along = torque_along(operating=operating, brake_efficiency=brake_efficiency)
    if overshoot is None:
        return _highest(along)
    reached = 1.0 - operating.limited
    return _highest(along * (1.0 + reached * overshoot / operating.manifold_pressure))


def best_power(
    *, operating: solve.Operating, brake_efficiency: Array, driveline_efficiency: Array | None
) -> PowerCurve:
    """Torque and power on the fuel that gives most per kg of air; its fuel flow is left out."""
    torque = torque_along(operating=operating, brake_efficiency=brake_efficiency)
    power = torque * operating.engine_speed[:, None]
    share = np.nan if driveline_efficiency is None else driveline_efficiency
    return PowerCurve(
        operating.engine_speed, torque, power, power * share, np.full_like(power, np.nan)
    )


def peak_manifold_pressure(*, operating: solve.Operating) -> Array:
    """Highest settled manifold pressure (N,), Pa absolute."""
    return _highest(operating.manifold_pressure)


def peak_manifold_pressure_overshoot(
    *, operating: solve.Operating, overshoot: Array | None
) -> Array:
    """Highest manifold pressure (N,), Pa absolute, with boost above its target for a moment."""
    if overshoot is None:
        return _highest(operating.manifold_pressure)
    reached = 1.0 - operating.limited
    return _highest(operating.manifold_pressure + reached * overshoot)


def peak_boost_overshoot(*, pressure: Array, air: Air) -> Array:
    """Highest manifold pressure over the barometer (N,), Pa gauge, overshoot included."""
    return pressure - air.pressure


def peak_air_flow(*, operating: solve.Operating) -> Array:
    """Highest air flow (N,), kg/s, with its moisture, as an air meter sees it."""
    return _highest(operating.air_flow)


@dataclass(frozen=True)
class Corrections:
    """The two factors for a dyno figure taken in the site's air; see ``engine.correction``."""

    iso1585: engine.Factor
    j1349: engine.Factor
    boost_compensates: bool


def corrections(
    *, air: Air, turbo_present: bool | None, reference: str | None
) -> Corrections:
    """Correction factors, 1 where boost control already makes up for altitude."""
    compensates = turbo_present is not False and reference == "absolute"
    iso, sae = (
        engine.correction(
            method=method, dry_pressure=air.dry_pressure, temperature=air.temperature,
            boost_compensates=compensates,
        )
        for method in ("ISO 1585", "SAE J1349")
    )  # fmt: skip
    return Corrections(iso, sae, compensates)


def exhaust_on_blend(
    *,
    operating: solve.Operating,
    air: Air,
    power: PowerCurve,
    temperature: Array,
    turbo_present: bool | None,
    mechanical_efficiency: Array | None,
    **facts: Any,
) -> ExhaustState:
    """Exhaust flow, temperature behind the turbine and back pressure at full load on a blend."""
    flow = exhaust.exhaust_flow(air_flow=operating.air_flow, fuel_flow=power.fuel_flow)
    after: Array = temperature
    if turbo_present is not False:
        work = compressor.compressor_power(
            flow=operating.air_flow,
            inlet_temperature=operating.compressor_inlet_temperature,
            outlet_temperature=operating.compressor_outlet_temperature,
        )
        after = compressor.turbine_outlet_temperature(
            inlet_temperature=temperature, exhaust_flow=flow, compressor_power=work,
            specific_heat=exhaust.CP_EXHAUST,
            mechanical_efficiency=1.0 if mechanical_efficiency is None else mechanical_efficiency,
        )  # fmt: skip
    names, pieces = _pieces(facts)
    total, shares = exhaust.back_pressure(
        pieces=pieces, flow=flow, temperature=after, barometer=air.pressure
    )
    return ExhaustState(
        operating.engine_speed, flow, temperature, after, total, names, shares
    )


def _pieces(facts: Mapping[str, Any]) -> tuple[tuple[str, ...], list[Piece]]:
    """The lengths of exhaust from the tail forward; a length that is absent loses nothing."""
    names: list[str] = []
    pieces: list[Piece] = []
    for name in ("exhaust", "catalyst", "dump_pipe"):
        if facts[f"{name}_present"] is False:
            continue
        keys = ("pressure_loss", "loss_flow", "loss_pressure", "loss_temperature")
        given = {key: facts[f"{name}_{key}"] for key in keys}
        stated(**{f"{name}__{key}": value for key, value in given.items()})
        names.append(name)
        loss, flow, pressure, temperature = given.values()
        pieces.append(Piece(loss, flow, pressure, temperature, cold=name == "exhaust"))
    return tuple(names), pieces


def idle_air_flow(
    *, air: Air, displacement: Array, speed: Array, pressure: Array, efficiency: Array
) -> Array:
    """Air flow at warm idle (kg/s), manifold air as warm as the site's."""
    return engine.idle_air_flow(
        idle_speed=speed, idle_manifold_pressure=pressure, idle_volumetric_efficiency=efficiency,
        displacement=displacement, temperature=air.temperature,
    )  # fmt: skip
