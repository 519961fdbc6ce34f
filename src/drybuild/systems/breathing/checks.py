"""The breathing room's checks: what the compressor, the air path and the exhaust leave."""

from __future__ import annotations

from typing import Any

import numpy as np
import numpy.typing as npt

from drybuild.findings import (
    NOT_APPLICABLE,
    PRACTICE,
    Along,
    Room,
    Source,
    inside,
    matches,
    not_above,
    not_below,
)
from drybuild.systems.breathing.air import Air
from drybuild.systems.breathing.checks_held import (
    factor,
    factor_high,
    factor_low,
    gauge_charge,
    highest_power,
    settled_boost,
)
from drybuild.systems.breathing.compressor_map import MapGrid
from drybuild.systems.breathing.exhaust import ExhaustState
from drybuild.systems.breathing.results_parts import Corrections, PowerCurve
from drybuild.systems.breathing.solve import Operating
from drybuild.values import Array

FloatArray = npt.NDArray[np.float64]

MAP_READING = Source("SAE J1826", edition="2022", clause="surge, choke, speed", how="memory")
MAKER = Source("maker's data of the part", how="practice")
ISO_1585 = Source("ISO 1585", edition="2020", clause="6, range 0.93 to 1.07", how="memory")

BOOSTED = 1.15
"""Pressure ratio above which a point counts as under boost."""
PLENTY = 10.0
"""Slack written where a point is not under boost, so that it is never the worst one."""

FAR = 1000.0
"""As ``PLENTY``, in kelvin."""

CHARGE_LIMIT = 333.15
COOLER_LOSS = 14_000.0
DEPRESSION = 5_000.0
BACK_PRESSURE = 30_000.0

POSE = "full throttle, steady, engine warm, in the site's air"
RATED = (
    "The maker's data of the turbocharger rule; a burst wheel throws parts: hood shut, keep away."
)
HOT = (
    "Exhaust parts burn and set fire: let them cool, keep shields on, gap to fuel and brake lines."
)
DYNO = "Only the person who writes the calibration, on the dyno, decides on boost and ignition."


def _boosted(operating: Operating, slack: Array, **held: Any) -> Along:
    """Slack along engine speed, only where there is boost; unsolved draws stay NaN.

    held: what was found, and its limit, as ``Along`` takes them.
    """
    calm = operating.pressure_ratio < BOOSTED
    return Along(
        np.where(calm, PLENTY, slack), operating.engine_speed, "rotation_speed", **held
    )


def _by_speed(operating: Operating, found: Any, limit: Any, kind: str = "") -> Along:
    """Limit less what is found, along engine speed."""
    return Along(
        limit - found, operating.engine_speed, "rotation_speed", found=found, high=limit,
        found_kind=kind,
    )  # fmt: skip


def surge(
    *, operating: Operating, grid: MapGrid, target: Array | None, turbo: bool | None
) -> Any:
    """Corrected flow over that of the surge line at the same pressure ratio, less 1."""
    if turbo is False:
        return NOT_APPLICABLE
    with np.errstate(divide="ignore"):
        return _boosted(
            operating, operating.corrected_flow / operating.surge_flow - 1.0,
            found=operating.corrected_flow, low=operating.surge_flow, found_kind="flow_mass",
        )  # fmt: skip


def choke(
    *, operating: Operating, grid: MapGrid, target: Array | None, turbo: bool | None
) -> Any:
    """1 less corrected flow over that of the choke end at the same pressure ratio."""
    if turbo is False:
        return NOT_APPLICABLE
    with np.errstate(divide="ignore", invalid="ignore"):
        return _boosted(
            operating, 1.0 - operating.corrected_flow / operating.choke_flow,
            found=operating.corrected_flow, high=operating.choke_flow, found_kind="flow_mass",
        )  # fmt: skip


def turbo_speed(
    *,
    operating: Operating,
    grid: MapGrid,
    target: Array | None,
    limit: Array,
    turbo: bool | None,
) -> Any:
    """1 less shaft speed over its limit."""
    if turbo is False:
        return NOT_APPLICABLE
    slack = 1.0 - operating.compressor_speed / limit
    return Along(
        np.atleast_2d(slack), operating.engine_speed, "rotation_speed",
        found=operating.compressor_speed, high=limit, found_kind="rotation_speed",
    )  # fmt: skip


def boost_within_map(
    *, operating: Operating, grid: MapGrid, target: Array | None, turbo: bool | None
) -> Any:
    """Highest pressure ratio that the map shows at the flow, less the one wanted."""
    if turbo is False:
        return NOT_APPLICABLE
    return _boosted(
        operating, operating.highest_ratio - operating.pressure_ratio,
        found=operating.pressure_ratio, high=operating.highest_ratio, found_kind="number",
    )  # fmt: skip


def charge_temperature(*, operating: Operating, limit: Array | None) -> Along:
    """Limit less manifold air temperature, K."""
    top = CHARGE_LIMIT if limit is None else limit
    return _by_speed(operating, operating.manifold_temperature, top, "temperature")


def cooler_pressure_loss(
    *, operating: Operating, allowed: Array | None, present: bool | None
) -> Any:
    """Allowed loss less the loss of the charge cooler, Pa."""
    if present is False:
        return NOT_APPLICABLE
    most = COOLER_LOSS if allowed is None else allowed
    return _by_speed(operating, operating.cooler_loss, most)


def intake_depression(*, operating: Operating, air: Air, limit: Array | None) -> Along:
    """Allowed suction less the suction at the compressor or throttle, Pa."""
    most = DEPRESSION if limit is None else limit
    suction = air.pressure - operating.compressor_inlet_pressure
    return _by_speed(operating, suction, most)


def exhaust_back_pressure(
    *, exhaust: ExhaustState, limit: Array | None, used: bool | None
) -> Any:
    """Allowed pressure behind the turbine less what the exhaust makes, Pa."""
    if used is False:
        return NOT_APPLICABLE
    most = BACK_PRESSURE if limit is None else limit
    slack = np.atleast_2d(most - exhaust.back_pressure)
    return Along(
        slack, exhaust.engine_speed, "rotation_speed", found=exhaust.back_pressure, high=most
    )


def catalyst_temperature(
    *, exhaust: ExhaustState, limit: Array, catalyst: bool | None, used: bool | None
) -> Any:
    """Limit of the catalyst less the gas temperature behind the turbine, K.

    Only where at least half of the greatest flow passes: that is where the gas is as hot as the
    temperature stated before the turbine.
    """
    if used is False or catalyst is False:
        return NOT_APPLICABLE
    flow = np.atleast_2d(exhaust.flow)
    little = flow < 0.5 * flow.max(axis=0)
    after = np.asarray(exhaust.temperature_after_turbine)
    return Along(
        np.where(little, FAR, limit - after), exhaust.engine_speed, "rotation_speed", found=after,
        high=limit, found_kind="temperature",
    )  # fmt: skip


def exhaust_temperature(*, temperature: Array, limit: Array, turbo: bool | None) -> Any:
    """Limit of the turbine less the exhaust temperature before it, K."""
    return NOT_APPLICABLE if turbo is False else limit - temperature


def air_meter_range(*, peak: Array, max_flow: Array, meter: bool | None) -> Any:
    """Flow at the end of the meter's span over the highest air flow, less 1."""
    return NOT_APPLICABLE if meter is False else max_flow / peak - 1.0


def relief_valve_metered(*, discharge: str, valve: bool | None, meter: bool) -> Any:
    """A meter has counted the air that a venting valve lets go."""
    if valve is False:
        return NOT_APPLICABLE
    return matches(not (discharge == "vents" and meter))


def power_goal(*, power: PowerCurve, wanted: Array | None, used: bool | None) -> Any:
    """Highest crank power less the power wanted, W; nothing where nobody wants any."""
    if used is False or wanted is None:
        return NOT_APPLICABLE
    return highest_power(power) - wanted


def boost_goal(*, peak: Array, air: Air, wanted: Array | None, turbo: bool | None) -> Any:
    """Highest settled gauge boost less the boost wanted, Pa; nothing where nobody wants any."""
    if turbo is False or wanted is None:
        return NOT_APPLICABLE
    return settled_boost(peak, air) - wanted


def boost_ceiling(*, peak: Array, ceiling: Array | None, turbo: bool | None) -> Any:
    """Owner's ceiling less the highest gauge boost with overshoot, Pa."""
    if turbo is False or ceiling is None:
        return NOT_APPLICABLE
    return ceiling - peak


def charge_rating(
    *, operating: Operating, air: Air, overshoot: Array | None, rating: Array, cooler: bool | None
) -> Any:
    """Rating of cooler, hoses and clamps less the gauge pressure behind the compressor, Pa."""
    if cooler is False:
        return NOT_APPLICABLE
    return rating - gauge_charge(operating, air, overshoot)


def correction_in_range(*, corrections: Corrections) -> Any:
    """Distance of the ISO 1585 factor from the nearer end of its range."""
    if corrections.boost_compensates:
        return NOT_APPLICABLE
    iso = corrections.iso1585
    return np.minimum(iso.value - iso.low, iso.high - iso.value)


def register(room: Room) -> None:
    """Offer the checks."""
    _compressor(room)
    _air_path(room)
    _exhaust(room)
    _goals(room)
    _dyno(room)


def _compressor(room: Room) -> None:
    # Armed by another turbocharger or another boost; what a freer intake or a larger cooler moves
    # is carried, but asks nobody for a map.
    common = {
        "operating": "~breathing.operating", "grid": "breathing.map_grid",
        "target": "?breathing.boost_target", "turbo": "?turbo.present",
    }  # fmt: skip
    room.check(
        "breathing.surge", title="flow above the compressor's surge line", slack=surge,
        share_of="the flow at the surge line",
        kind="ratio", needs=common,
        gap_wanted=0.10, consequence="damage", stops=("full load",), source=MAP_READING,
        formula="slack = corrected flow/surge flow − 1", pose=POSE,
        when_short="the compressor may surge",
        do="less boost at low engine speed, by the person who writes the map; or a smaller "
        "compressor wheel",
        safety=DYNO,
    )  # fmt: skip
    room.check(
        "breathing.choke", title="flow below the compressor's choke line", slack=choke,
        share_of="the flow at the choke line",
        kind="ratio", needs=common, gap_wanted=0.03, consequence="damage", stops=("full load",),
        source=MAP_READING, formula="slack = 1 − corrected flow/choke flow", pose=POSE,
        when_short="the compressor runs past the flow end of its map",
        do="a larger compressor, less boost, or less loss before it", safety=DYNO,
    )  # fmt: skip
    room.check(
        "breathing.turbo_speed", title="turbocharger speed", slack=turbo_speed, kind="ratio",
        share_of="its speed limit",
        needs={**common, "limit": "turbo.speed_limit"}, gap_wanted=0.03, consequence="engine",
        stops=("full load",), source=MAKER, formula="slack = 1 − shaft speed/limit", pose=POSE,
        when_short="the turbocharger may turn too fast",
        do="less boost, less intake and cooler loss, or a larger compressor", safety=RATED,
    )  # fmt: skip
    room.check(
        "breathing.boost_within_map", title="pressure ratio within the compressor's map",
        share_of="the pressure before the compressor",
        slack=boost_within_map, kind="ratio", needs=common, gap_wanted=0.05,
        consequence="damage", stops=("full load",), source=MAP_READING,
        formula="slack = highest ratio of the map at that flow − ratio wanted", pose=POSE,
        when_short="the boost wanted lies above the compressor's map",
        do="less boost, or another compressor; at altitude the same gauge boost is a higher ratio",
        safety=DYNO,
    )  # fmt: skip


def _air_path(room: Room) -> None:
    room.check(
        "breathing.charge_temperature", title="charge air temperature in the manifold",
        slack=charge_temperature, kind="temperature_difference",
        needs={
            "operating": "breathing.operating", "limit": "?engine.charge_temperature_limit"
        },
        gap_wanted=3.0, consequence="engine", stops=("full load",), source=PRACTICE,
        formula="slack = limit − T_m; 60 °C where the map states no limit", pose=POSE,
        when_short="charge air may be too hot", do="a larger charge cooler, more air through it, "
        "or less boost", safety=DYNO,
    )  # fmt: skip
    room.check(
        "breathing.cooler_pressure_loss", title="pressure loss of the charge cooler",
        slack=cooler_pressure_loss, kind="pressure_difference",
        needs={
            "operating": "breathing.operating", "allowed": "?charge_cooler.loss_allowed",
            "present": "?charge_cooler.present",
        },
        consequence="nuisance", stops=(), source=PRACTICE,
        formula="slack = allowed − Δp; 14 kPa where nobody states it", pose=POSE,
        when_short="the charge cooler takes much pressure", do="a core with more or larger rows",
    )  # fmt: skip
    room.check(
        "breathing.intake_depression", title="suction before the compressor",
        slack=intake_depression, kind="pressure_difference",
        needs={
            "operating": "breathing.operating", "air": "~breathing.air",
            "limit": "?turbo.inlet_depression_limit",
        },
        consequence="nuisance", stops=(), source=PRACTICE,
        formula="slack = limit − (barometer − p₁); 5 kPa where nobody states it",
        pose=POSE + ", filter as measured", when_short="the intake holds the engine back",
        do="a larger or cleaner filter, a wider duct",
    )  # fmt: skip
    room.check(
        "breathing.charge_rating", title="pressure rating of charge cooler and hoses",
        between=not_above(gauge_charge, "rating", kind="pressure_gauge"),
        slack=charge_rating, kind="pressure_difference",
        needs={
            "operating": "breathing.operating", "air": "~breathing.air",
            "overshoot": "?boost_control.overshoot", "rating": "charge_cooler.pressure_limit",
            "cooler": "?charge_cooler.present",
        },
        gap_wanted=10_000.0, consequence="damage", stops=("full load",), source=MAKER,
        formula="slack = rating − (p₂ − barometer + overshoot)", pose=POSE,
        when_short="charge cooler or hoses may burst or blow off",
        do="hoses, clamps and core rated for the boost with its overshoot", safety=DYNO,
    )  # fmt: skip
    room.check(
        "breathing.air_meter_range", title="air meter against the highest air flow",
        between=not_above("peak", "max_flow", kind="flow_mass"), share_of="the highest air flow",
        slack=air_meter_range, kind="ratio",
        needs={
            "peak": "breathing.peak_air_flow", "max_flow": "air_meter.max_flow",
            "meter": "?air_meter.present",
        },
        gap_wanted=0.05, consequence="engine", stops=("full load",), source=MAKER,
        formula="slack = flow at the end of its span/highest flow − 1", pose=POSE,
        when_short="the air meter comes to the end of its span: past it fuel no longer follows air",
        do="a wider housing with a map made for it, or less boost", safety=DYNO,
    )  # fmt: skip
    room.check(
        "breathing.relief_valve_metered", title="relief valve suits the metered air",
        slack=relief_valve_metered, kind="match",
        needs={
            "discharge": "relief_valve.discharge", "valve": "?relief_valve.present",
            "meter": "air_meter.present",
        },
        consequence="nuisance", stops=(), source=PRACTICE,
        formula="a valve that vents lets go air that the meter has counted",
        pose="lifting off under boost",
        when_short="the relief valve vents air that the meter has counted: rich on every lift, it "
        "may stall",
        do="a valve that returns to the intake behind the meter, or fuelling by manifold pressure "
        "in a map made for it",
        safety="Unburned fuel burns on in the catalyst and heats it: mind dry grass and what lies "
        "near it.",
    )  # fmt: skip


def _exhaust(room: Room) -> None:
    room.check(
        "breathing.exhaust_back_pressure", title="back pressure of the exhaust",
        slack=exhaust_back_pressure, per="blend", kind="pressure_difference",
        needs={
            "exhaust": "breathing.exhaust.{blend}", "limit": "?turbo.back_pressure_limit",
            "used": "?blend.{blend}.used",
        },
        consequence="nuisance", stops=(), source=PRACTICE,
        formula="slack = limit − back pressure; 30 kPa where nobody states it", pose=POSE,
        when_short="the exhaust holds the engine back",
        do="a wider dump pipe, catalyst or silencer",
    )  # fmt: skip
    room.check(
        "breathing.catalyst_temperature", title="gas temperature into the catalyst",
        slack=catalyst_temperature, per="blend", kind="temperature_difference",
        needs={
            "exhaust": "breathing.exhaust.{blend}", "limit": "catalyst.temperature_limit",
            "catalyst": "?catalyst.present", "used": "?blend.{blend}.used",
        },
        gap_wanted=20.0, consequence="damage", stops=("full load",), source=MAKER,
        formula="slack = limit − T₄, no heat lost in the turbine's housing", pose=POSE,
        when_short="the catalyst may melt", do="a catalyst farther back or rated higher; the "
        "person who writes the map can cool the gas", safety=HOT,
    )  # fmt: skip
    room.check(
        "breathing.exhaust_temperature", title="exhaust temperature before the turbine",
        between=not_above("temperature", "limit", kind="temperature"),
        slack=exhaust_temperature, kind="temperature_difference",
        needs={
            "temperature": "engine.exhaust_temperature",
            "limit": "turbo.turbine_temperature_limit", "turbo": "?turbo.present",
        },
        gap_wanted=10.0, consequence="engine", stops=("full load",), source=MAKER,
        formula="slack = limit − T₃", pose="full load, as the gas was measured or is assumed",
        when_short="the turbine may run too hot",
        do="a turbine of hotter material; the person who writes the map can cool the gas",
        safety=HOT,
    )  # fmt: skip


def _goals(room: Room) -> None:
    room.check(
        "breathing.power_goal", title="power against the goal", slack=power_goal, per="blend",
        between=not_below(highest_power, "wanted"),
        kind="power",
        needs={
            "power": "breathing.power.{blend}", "wanted": "?goal.power",
            "used": "?blend.{blend}.used",
        },
        consequence="nuisance", stops=(), source=PRACTICE,
        formula="slack = highest crank power − goal", pose=POSE + ", uncorrected",
        when_short="less power than wanted",
        do="a lower goal, or parts that lose less air; what boost and ignition may be is decided "
        "by the calibrator on the dyno",
    )  # fmt: skip
    room.check(
        "breathing.boost_goal", title="boost against the goal", slack=boost_goal,
        between=not_below(settled_boost, "wanted", kind="pressure_gauge"),
        kind="pressure_difference",
        needs={
            "peak": "breathing.peak_manifold_pressure", "air": "~breathing.air",
            "wanted": "?goal.boost", "turbo": "?turbo.present",
        },
        gap_wanted=-5_000.0, consequence="nuisance", stops=(), source=PRACTICE,
        formula="slack = highest settled boost − goal, 0.05 bar allowed", pose=POSE,
        when_short="less boost than wanted",
        do="nothing on the car: a cautious map asks less on purpose; the calibrator decides",
    )  # fmt: skip
    room.check(
        "breathing.boost_ceiling", title="boost with overshoot against the owner's ceiling",
        between=not_above("peak", "ceiling", kind="pressure_gauge"),
        slack=boost_ceiling, kind="pressure_difference",
        needs={
            "peak": "breathing.peak_boost_overshoot", "ceiling": "?goal.boost_ceiling",
            "turbo": "?turbo.present",
        },
        consequence="engine", stops=("full load",), source=MAKER,
        formula="slack = ceiling − (highest boost + overshoot)",
        pose=POSE + ", moment of overshoot",
        when_short="boost may go over the owner's ceiling",
        do="a lower target, or boost control that overshoots less", safety=DYNO,
    )  # fmt: skip


def _dyno(room: Room) -> None:
    room.check(
        "breathing.correction_in_range", title="dyno correction at the site",
        between=inside(factor, factor_low, factor_high, kind="number"),
        share_of="the power as observed",
        slack=correction_in_range, kind="ratio", needs={"corrections": "~breathing.corrections"},
        consequence="nuisance", stops=(), source=ISO_1585,
        formula="slack = distance of (99 kPa/p_dry)^1.2·(T/298)^0.6 from 0.93 and 1.07",
        pose="a dyno figure taken in the site's air",
        when_short="a corrected dyno figure from here lies outside its standard",
        do="give the power as observed, with dry pressure and temperature beside it; compare only "
        "runs on the same dyno in like weather",
    )  # fmt: skip
