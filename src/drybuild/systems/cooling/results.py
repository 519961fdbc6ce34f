"""What the cooling room offers: heats, and where coolant, oil and charge settle."""

from __future__ import annotations

from typing import Any

import numpy as np

from drybuild.findings import NOT_APPLICABLE, Room, Source
from drybuild.systems.cooling import formulas
from drybuild.values import Array, DrawnCurve

BALANCE = Source("first law, steady", how="computed")
HEYWOOD = Source(
    "Heywood, Internal Combustion Engine Fundamentals", edition="1988", clause="12.1",
    how="memory",
)  # fmt: skip
GILLESPIE = Source(
    "Gillespie, Fundamentals of Vehicle Dynamics", edition="1992", clause="chapters 2 and 4",
    how="memory",
)  # fmt: skip

ENERGY_PER_AIR = 43.44e6 / 14.7
"""J per kg of air that petrol gives (US DOE AFDC table)."""
IDLE_SHARE = 0.35
"""Share of the fuel's energy into the coolant at idle: practice, 0.3 to 0.4."""


def charge_air_heat(*, operating: Any) -> Array:
    """Greatest heat (N,) that the charge cooler takes, W."""
    heat = formulas.charge_heat(
        flow=operating.air_flow,
        temperature_in=operating.compressor_outlet_temperature,
        temperature_out=operating.manifold_temperature,
    )
    return np.asarray(np.max(heat, axis=0))


def rise_before_radiator(
    *, heat: Array, share: Array, road_speed: Array, air: Any, cooler: Any, covered: Array
) -> Array:
    """How much warmer the air into the radiator is for the charge cooler before it, K."""
    speed = formulas.face_speed(road_speed=road_speed, ram_share=cooler.ram_share)
    after = formulas.air_after_core(
        temperature=air.temperature, heat=heat * share, face_area=cooler.face_area,
        air_speed=speed, density=air.density,
    )  # fmt: skip
    mixed = formulas.air_into_radiator(
        outside=air.temperature, after_charge_cooler=after, covered=covered
    )
    return np.asarray(mixed - air.temperature)


def coolant_at_full_load(
    *,
    power: Any,
    ratio: Array,
    share: Array,
    road_speed: Array,
    hot_day: Array,
    rise: Array | None,
    conductance: DrawnCurve,
    ram_share: Array,
    fan_air_speed: Array | None,
    fan: bool | None,
) -> Array:
    """Coolant temperature (N,) that a timed hill climb settles at, K."""
    air_speed = formulas.face_speed(
        road_speed=road_speed, ram_share=ram_share,
        fan_air_speed=None if fan is False else fan_air_speed,
    )  # fmt: skip
    heat = formulas.coolant_heat(brake_power=power.power.max(axis=0) * share, ratio=ratio)
    return formulas.fluid_temperature(
        sink=hot_day + (0.0 if rise is None else rise), heat=heat,
        conductance=conductance.at(air_speed),
    )  # fmt: skip


def coolant_on_climb(
    *,
    mass: Array,
    gradient: Array,
    speed: Array,
    road_load: Any,
    driveline_efficiency: Array,
    ratio: Array,
    hot_day: Array,
    conductance: DrawnCurve,
    ram_share: Array,
    fan_air_speed: Array | None,
    fan: bool | None,
) -> Array:
    """Coolant temperature (N,) that a long road climb at a held speed settles at, K."""
    power = formulas.climb_power(
        mass=mass, gradient=gradient, speed=speed, road_load=road_load.force(speed),
        driveline_efficiency=driveline_efficiency,
    )  # fmt: skip
    air_speed = formulas.face_speed(
        road_speed=speed, ram_share=ram_share,
        fan_air_speed=None if fan is False else fan_air_speed,
    )  # fmt: skip
    return formulas.fluid_temperature(
        sink=hot_day, heat=formulas.coolant_heat(brake_power=power, ratio=ratio),
        conductance=conductance.at(air_speed),
    )  # fmt: skip


def coolant_standing(
    *,
    air_flow: Array,
    hot_day: Array,
    conductance: DrawnCurve,
    fan_air_speed: Array | None,
    fan: bool | None,
) -> Any:
    """Coolant temperature (N,) at idle in traffic with the fan on, K."""
    if fan is False or fan_air_speed is None:
        return NOT_APPLICABLE
    heat = formulas.idle_heat(
        air_flow=air_flow, energy_per_air=ENERGY_PER_AIR, coolant_share=IDLE_SHARE
    )
    return formulas.fluid_temperature(
        sink=hot_day, heat=heat, conductance=conductance.at(fan_air_speed)
    )


def oil_at_full_load(
    *,
    power: Any,
    ratio: Array,
    share: Array,
    medium: str,
    conductance: Array,
    coolant: Array,
    hot_day: Array,
) -> Array:
    """Oil temperature (N,) that a timed hill climb settles at, K."""
    return formulas.fluid_temperature(
        sink=coolant if medium == "coolant" else hot_day,
        heat=formulas.coolant_heat(brake_power=power.power.max(axis=0) * share, ratio=ratio),
        conductance=conductance,
    )


def charge_when_slow(
    *, operating: Any, cooler: Any, road_speed: Array, hot_day: Array, air: Any
) -> Array:
    """Charge temperature (K, N) at full load, low road speed, hottest day, K."""
    return np.asarray(
        cooler.temperature_at(
            operating=operating, road_speed=road_speed, air_rise=hot_day - air.temperature
        )
    )


RADIATOR = {
    "conductance": "radiator.conductance",
    "ram_share": "radiator.ram_share",
    "fan_air_speed": "?radiator.fan_air_speed",
    "fan": "?fan.present",
}


def register(room: Room) -> None:
    """Offer the results."""
    room.result(
        "cooling.charge_air_heat", of=charge_air_heat, kind="power",
        needs={"operating": "breathing.operating"}, formula="Q = ṁ·c_p·(T₂ − T_m)",
        source=BALANCE,
    )  # fmt: skip
    room.result(
        "cooling.rise_before_radiator", of=rise_before_radiator, kind="temperature_difference",
        needs={
            "heat": "cooling.charge_air_heat", "share": "goal.full_load_share",
            "road_speed": "goal.full_load_road_speed", "air": "~breathing.air",
            "cooler": "breathing.charge_cooler", "covered": "radiator.covered",
        },
        formula="ΔT = covered·Q/(ρ·A·v·c_p)", source=BALANCE,
    )  # fmt: skip
    room.result(
        "cooling.coolant_at_full_load", of=coolant_at_full_load, kind="temperature",
        needs={
            "power": "breathing.best_power", "ratio": "engine.coolant_heat_ratio",
            "share": "goal.full_load_share", "road_speed": "goal.full_load_road_speed",
            "hot_day": "site.hot_day", "rise": "?cooling.rise_before_radiator", **RADIATOR,
        },
        formula="T = T_hot + ΔT + ratio·share·P/G(v)", source=HEYWOOD,
    )  # fmt: skip
    room.result(
        "cooling.coolant_on_climb", of=coolant_on_climb, kind="temperature",
        needs={
            "mass": "~ride.total_mass", "gradient": "goal.climb_gradient",
            "speed": "goal.climb_speed", "road_load": "driveline.road_load",
            "driveline_efficiency": "engine.driveline_efficiency",
            "ratio": "engine.coolant_heat_ratio_part_load", "hot_day": "site.hot_day", **RADIATOR,
        },
        formula="T = T_hot + ratio·(m·g·s + F)·v/η/G(v)", source=GILLESPIE,
        valid={"gradient": (0.0, 0.3)},
    )  # fmt: skip
    standing = {key: need for key, need in RADIATOR.items() if key != "ram_share"}
    room.result(
        "cooling.coolant_standing", of=coolant_standing, kind="temperature",
        needs={"air_flow": "breathing.idle_air_flow", "hot_day": "site.hot_day", **standing},
        formula="T = T_hot + 0.35·ṁ·H/L₀/G(fan)", source=BALANCE,
    )  # fmt: skip
    room.result(
        "cooling.oil_at_full_load", of=oil_at_full_load, kind="temperature",
        needs={
            "power": "breathing.best_power", "ratio": "engine.oil_heat_ratio",
            "share": "goal.full_load_share", "medium": "oil_cooler.medium",
            "conductance": "oil_cooler.conductance", "coolant": "cooling.coolant_at_full_load",
            "hot_day": "site.hot_day",
        },
        formula="T = T_sink + ratio·share·P/G", source=HEYWOOD,
    )  # fmt: skip
    room.result(
        "cooling.charge_when_slow", of=charge_when_slow, kind="temperature",
        needs={
            "operating": "breathing.operating", "cooler": "breathing.charge_cooler",
            "road_speed": "goal.slow_road_speed", "hot_day": "site.hot_day",
            "air": "~breathing.air",
        },
        formula="T = T₂ − ε(v)·(T₂ − T_air)", source=BALANCE,
    )  # fmt: skip
