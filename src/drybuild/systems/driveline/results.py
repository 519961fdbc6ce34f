"""What the driveline room offers: gearing, speeds, road load, clutch and shaft torques."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from drybuild.findings import FormulaRefused, Room, Source
from drybuild.systems.driveline.formulas import clutch, gearing, limits, roadload
from drybuild.values import Array

GEOMETRY = Source("geometry", how="computed")
SHIGLEY = Source("Shigley, Mechanical Engineering Design", clause="ch. 16", how="memory")
GILLESPIE = Source("Gillespie, Fundamentals of Vehicle Dynamics", clause="ch. 2", how="memory")
BOSCH = Source("Bosch Automotive Handbook", clause="driving resistances", how="memory")
VDI = Source("VDI 2230 part 1", clause="tightening factor", how="memory")

GRIP = 1.1  # a warm road tyre on dry asphalt: what a shaft may be asked to carry


@dataclass(frozen=True)
class RoadLoad:
    """Road load A + B v + C v²: N, N s/m, N s²/m²."""

    a: Array
    b: Array
    c: Array

    def force(self, speed: Array) -> Array:
        """Road load at a speed, N."""
        return roadload.road_force(speed=speed, a=self.a, b=self.b, c=self.c)


def axles_of(drive: str) -> tuple[str, ...]:
    """Axles that the word of ``car.drive`` or ``speedo.axle`` means."""
    return {"front": ("front",), "rear": ("rear",)}.get(drive, ("front", "rear"))


def driven_radius(*, drive: str, fl: Array, fr: Array, rl: Array, rr: Array) -> Array:
    """Mean rolling radius of the driven wheels, m."""
    radii = {"front": (fl, fr), "rear": (rl, rr)}
    wheels = [r for axle in axles_of(drive) for r in radii[axle]]
    return np.asarray(sum(np.asarray(w) for w in wheels) / len(wheels))


def counted_turns(*, axle: str, fl: Array, fr: Array, rl: Array, rr: Array) -> Array:
    """Wheel turns per metre as the speedometer's sensors count them, 1/m."""
    radii = {"front": (fl, fr), "rear": (rl, rr)}
    turns = [gearing.turns_per_metre(rolling_radius=r) for a in axles_of(axle) for r in radii[a]]
    return np.asarray(sum(np.asarray(t) for t in turns) / len(turns))


def reading_ratio(*, now: Array, before: Array, correction: Array | None) -> Array:
    """Reading now over as found at one true speed, 1."""
    return gearing.speed_ratio(
        turns_new=now, turns_old=before, correction=1.0 if correction is None else correction
    )


def load_of_the_road(*, mass: Array, rolling: Array, drag_area: Array, air: Any) -> RoadLoad:
    """Road load on the level, no wind."""
    return RoadLoad(
        *roadload.load_coefficients(
            mass=mass, rolling=rolling, drag_area=drag_area, air_density=air.density
        )
    )


def fastest(
    *, power: Any, efficiency: Array, ratios: tuple[float, ...], final: Array, radius: Array,
    rev_limit: Array, road_load: RoadLoad,
) -> Array:  # fmt: skip
    """Top speed, m/s."""
    return roadload.top_speed(
        engine_speed=power.engine_speed, power=power.power, efficiency=efficiency,
        gear_ratios=tuple(ratios), final_ratio=final, rolling_radius=radius, rev_limit=rev_limit,
        a=road_load.a, b=road_load.b, c=road_load.c,
    )  # fmt: skip


def first_of(ratios: tuple[float, ...]) -> float:
    """First gear."""
    if not ratios:
        raise FormulaRefused("gearbox.ratios names no gear")
    return ratios[0]


def motorway_engine_speed(
    *, speed: Array | None, ratios: tuple[float, ...], final: Array, radius: Array
) -> Array:
    """Engine speed in top gear at the motorway speed of the goal, or at 120 km/h, rad/s."""
    first_of(ratios)
    return gearing.engine_speed(
        speed=120 / 3.6 if speed is None else speed,
        gear_ratio=ratios[-1],
        final_ratio=final,
        rolling_radius=radius,
    )


def shaft_load(
    *, drive: str, torque: Array, ratios: tuple[float, ...], final: Array, bias: Array | None,
    load_front: Array, load_rear: Array, mass: Array, cg_height: Array, wheelbase: Array,
    radius: Array,
) -> Array:  # fmt: skip
    """Torque in the harder loaded driven shaft, first gear, full throttle, N·m.

    With all wheels driven each axle may get all of the torque that its tyres hold: the greater.
    """
    end = {"rear": 1, "front": -1}.get(drive, 0)
    static = {"front": load_front, "rear": load_rear}
    loads = [
        limits.driven_axle_load(
            static_load=static[axle], weight=mass * roadload.G, cg_height=cg_height,
            wheelbase=wheelbase, grip=GRIP, end=end,
        )
        for axle in axles_of(drive)
    ]  # fmt: skip
    axle_load = np.maximum(loads[0], loads[-1])
    share = limits.bias_share(torque_bias=1.0 if bias is None else bias)
    return limits.shaft_torque(
        engine_torque=torque, first_gear=first_of(ratios), final_ratio=final, shaft_share=share,
        grip_torque=GRIP * axle_load * share * radius,
    )  # fmt: skip


def final_drive_load(*, torque: Array, ratios: tuple[float, ...]) -> Array:
    """Torque at the input of the final drive in first gear, N·m."""
    return np.asarray(torque) * first_of(ratios)


def flange_holds(
    *, bolts: Array, clamp: Array, factor: Array, friction: Array, circle: Array
) -> Array:
    """Torque that one shaft's flange carries by friction with the least likely clamp, N·m."""
    least = limits.least_clamp(most_clamp=clamp, tightening_factor=factor)
    return limits.flange_capacity(
        bolts=bolts, least_clamp=least, friction=friction, circle_radius=circle / 2
    )


def bearing_growth(
    *, load: Array, load_before: Array, track: Array, track_before: Array, left: Array,
    right: Array, left_before: Array, right_before: Array,
) -> Array:  # fmt: skip
    """Tilting moment on the wheel bearings of an axle over that as found, 1.

    The bearing's middle is taken to lie at the tyre's middle as found, as makers aim for.
    """
    before = limits.bearing_moment(
        load=load_before / 2, moved_out=0.0, side_force_ratio=0.3,
        rolling_radius=(np.asarray(left_before) + right_before) / 2,
    )  # fmt: skip
    now = limits.bearing_moment(
        load=load / 2, moved_out=(np.asarray(track) - track_before) / 2, side_force_ratio=0.3,
        rolling_radius=(np.asarray(left) + right) / 2,
    )  # fmt: skip
    return now / before


def register(room: Room) -> None:
    """Offer the results."""
    _gearing(room)
    _torques(room)


RADII = {
    "fl": "corners.rolling_radius.front.left",
    "fr": "corners.rolling_radius.front.right",
    "rl": "corners.rolling_radius.rear.left",
    "rr": "corners.rolling_radius.rear.right",
}


def _gearing(room: Room) -> None:
    room.result(
        "driveline.driven_radius", of=driven_radius, kind="positive_length",
        needs={"drive": "car.drive", **RADII},
        formula="mean rolling radius of the driven wheels", source=GEOMETRY,
    )  # fmt: skip
    room.result(
        "driveline.wheel_turns_per_metre", of=counted_turns, kind="per_length",
        needs={"axle": "speedo.axle", **RADII}, formula="1/(2·π·r_roll)", source=GEOMETRY,
    )  # fmt: skip
    room.result(
        "driveline.speed_ratio", of=reading_ratio, kind="ratio",
        needs={
            "now": "driveline.wheel_turns_per_metre",
            "before": "~base:driveline.wheel_turns_per_metre",
            "correction": "?speedo.correction",
        },
        formula="turns now/turns as found·correction", source=GEOMETRY,
    )  # fmt: skip
    room.result(
        "driveline.road_load", of=load_of_the_road, kind="object",
        needs={
            "mass": "~ride.total_mass",
            "rolling": "car.rolling_resistance",
            "drag_area": "car.drag_area",
            "air": "~breathing.air",
        },
        formula="F = c_rr·m·g + ½·ρ·c_d·A·v²", source=BOSCH,
    )  # fmt: skip
    room.result(
        "driveline.top_speed", of=fastest, kind="speed",
        needs={
            "power": "breathing.best_power",
            "efficiency": "engine.driveline_efficiency",
            "ratios": "gearbox.ratios",
            "final": "final_drive.ratio",
            "radius": "driveline.driven_radius",
            "rev_limit": "map.rev_limit|engine.rev_limit",
            "road_load": "driveline.road_load",
        },
        formula="greatest v with η·P(v) ≥ F(v)·v, revs below the limit", source=GILLESPIE,
    )  # fmt: skip
    room.result(
        "driveline.motorway_revs", of=motorway_engine_speed, kind="rotation_speed",
        needs={
            "speed": "?goal.motorway_speed",
            "ratios": "gearbox.ratios",
            "final": "final_drive.ratio",
            "radius": "driveline.driven_radius",
        },
        formula="ω = v/r·i·i_final, top gear", source=GEOMETRY,
    )  # fmt: skip


def _torques(room: Room) -> None:
    room.result(
        "driveline.clutch_by_lining", of=clutch.capacity_from_lining, kind="torque",
        needs={
            "faces": "clutch.faces",
            "friction": "clutch.friction",
            "clamp": "clutch.clamp",
            "outer_diameter": "clutch.outer_diameter",
            "inner_diameter": "clutch.inner_diameter",
        },
        formula="T = N·μ·F·(ro + ri)/2, uniform wear", source=SHIGLEY,
        valid={"friction": (0.1, 0.6)},
    )  # fmt: skip
    room.result(
        "driveline.shaft_torque", of=shaft_load, kind="torque",
        needs={
            "drive": "car.drive",
            "torque": "breathing.peak_torque_overshoot",
            "ratios": "gearbox.ratios",
            "final": "final_drive.ratio",
            "bias": "?final_drive.torque_bias",
            "load_front": "~ride.axle_load.front",
            "load_rear": "~ride.axle_load.rear",
            "mass": "~ride.total_mass",
            "cg_height": "~ride.cg_height",
            "wheelbase": "~car.wheelbase",
            "radius": "~driveline.driven_radius",
        },
        formula="the lesser of T·i1·i_final·share and 1.1·N·r·share", source=GILLESPIE,
    )  # fmt: skip
    room.result(
        "driveline.final_drive_torque", of=final_drive_load, kind="torque",
        needs={"torque": "breathing.peak_torque_overshoot", "ratios": "gearbox.ratios"},
        formula="T·i1", source=GEOMETRY,
    )  # fmt: skip
    room.result(
        "driveline.flange_capacity", of=flange_holds, kind="torque",
        needs={
            "bolts": "drive_shaft.flange_bolts",
            "clamp": "drive_shaft.flange_clamp",
            "factor": "drive_shaft.tightening_factor",
            "friction": "drive_shaft.flange_friction",
            "circle": "drive_shaft.flange_circle",
        },
        formula="n·(F/α)·μ·D/2", source=VDI,
    )  # fmt: skip
    room.result(
        "driveline.piston_speed", of=limits.mean_piston_speed, kind="speed",
        needs={"stroke": "engine.stroke", "rotation_speed": "map.rev_limit|engine.rev_limit"},
        formula="2·s·n", source=Source("definition", how="computed"),
    )  # fmt: skip
    room.result(
        "driveline.bearing_growth", of=bearing_growth, per="axle", kind="ratio",
        needs={
            "load": "~ride.axle_load.{axle}",
            "load_before": "~base:ride.axle_load.{axle}",
            "track": "corners.track_width.{axle}",
            "track_before": "~base:corners.track_width.{axle}",
            "left": "corners.rolling_radius.{axle}.left",
            "right": "corners.rolling_radius.{axle}.right",
            "left_before": "~base:corners.rolling_radius.{axle}.left",
            "right_before": "~base:corners.rolling_radius.{axle}.right",
        },
        formula="W·(e + 0.3·r) now over as found, e: half the track change", source=GEOMETRY,
    )  # fmt: skip
