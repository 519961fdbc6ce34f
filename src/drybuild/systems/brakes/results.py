"""What the brakes room offers to others: torque, balance, temperatures, pedal stroke."""

from __future__ import annotations

from typing import Any

import numpy as np

from drybuild.findings import PRACTICE, NotWorkedOut, Room, Source
from drybuild.systems.brakes.formulas import balance, heat, hydraulics
from drybuild.values import Array

LIMPERT = Source("Limpert, Brake Design and Safety", clause="ch. 2 and 5", how="memory")
LIMPERT_HEAT = Source("Limpert, Brake Design and Safety", clause="ch. 3", how="memory")
GEOMETRY = Source("geometry", how="computed")
BALANCE = Source("force and moment balance", how="computed")
HEAT = Source("heat balance", how="computed")

ROAD_SPEED = 100 / 3.6  # the everyday test: stops from 100 km/h
ROAD_STOPS = 3.0
ROAD_INTERVAL = 45.0  # stop, drive up again to 100 km/h, stop


def one_side(*, diameter: Array, second: Array | None, count: Array, layout: str) -> Array:
    """Area of the pistons on one side, m²; see ``hydraulics.piston_area_one_side``."""
    try:
        return hydraulics.piston_area_one_side(
            piston_diameter=diameter,
            second_diameter=second,
            piston_count=count,
            opposed=layout == "opposed",
        )
    except ValueError as error:
        raise NotWorkedOut(str(error)) from None


def torque_per_pressure(*, friction: Array, piston_area: Array, radius: Array) -> Array:
    """Torque of one wheel per pascal of line pressure, N·m/Pa."""
    return hydraulics.brake_torque(
        friction=friction, line_pressure=1.0, piston_area=piston_area, effective_radius=radius
    )


def axle_force(*, left: Array, right: Array, radius_left: Array, radius_right: Array) -> Array:
    """Braking force of an axle per pascal of line pressure, N/Pa."""
    return balance.force_per_pressure(
        torque_per_pressure=left, rolling_radius=radius_left
    ) + balance.force_per_pressure(torque_per_pressure=right, rolling_radius=radius_right)


def share_at(
    *, front: Array, rear: Array, weight: Array, knee: Array | None, slope: Array | None
) -> Array:
    """Front share of the braking force at the braking rate of the road test, 0.65, 0..1."""
    pressure = balance.pressure_for_rate(
        rate=0.65, weight=weight * heat.G, front_per_pressure=front, rear_per_pressure=rear,
        knee=knee, slope=slope,
    )  # fmt: skip
    behind = hydraulics.rear_pressure(front_pressure=pressure, knee=knee, slope=slope)
    return balance.front_share(front_force=front * pressure, rear_force=rear * behind)


def rear_share(*, share: Array) -> Array:
    """The rest, 0..1."""
    return 1 - np.asarray(share)


def stop_rise(
    *,
    speed: Array,
    mass: Array,
    wheels: tuple[Array | None, ...],
    share: Array,
    ring_left: Array,
    ring_right: Array,
    capacity: Array,
) -> Array:
    """Rise of the lighter of the two discs of an axle in one stop, K."""
    rotating = sum(w for w in wheels if w is not None)
    energy = heat.stop_energy(mass=mass, speed=speed, rotating_mass=rotating)
    return heat.one_stop_rise(
        energy=energy, share=share, disc_mass=np.minimum(ring_left, ring_right), discs=2.0,
        heat_capacity=capacity,
    )  # fmt: skip


def road_rise(
    *, mass: Array, fl: Array, fr: Array, rl: Array, rr: Array, share: Array, left: Array,
    right: Array, capacity: Array,
) -> Array:  # fmt: skip
    """One stop from 100 km/h, K."""
    return stop_rise(
        speed=ROAD_SPEED, mass=mass, wheels=(fl, fr, rl, rr), share=share,
        ring_left=left, ring_right=right, capacity=capacity,
    )  # fmt: skip


def event_rise(
    *, mass: Array, fl: Array, fr: Array, rl: Array, rr: Array, share: Array, left: Array,
    right: Array, capacity: Array, speed: Array | None,
) -> Array:  # fmt: skip
    """One stop of the event, K; the everyday stop where the goal names none."""
    return stop_rise(
        speed=ROAD_SPEED if speed is None else speed, mass=mass, wheels=(fl, fr, rl, rr),
        share=share,
        ring_left=left, ring_right=right, capacity=capacity,
    )  # fmt: skip


def ring_cooling(*, left: Array, right: Array, capacity: Array, shed: Array) -> Array:
    """Time constant of the heavier ring, s: it keeps its heat the longest."""
    return heat.cooling_time(disc_mass=np.maximum(left, right), heat_capacity=capacity, shed=shed)


def peak_road_rise(
    *,
    rise: Array,
    cooling: Array,
    mass: Array,
    share: Array,
    shed: Array,
    height: Array | None,
    length: Array | None,
    speed: Array | None,
    road_load: Any,
) -> Array:
    """Rise above the air after three stops, or at the foot of the descent, whichever is more, K."""
    stops = heat.after_stops(rise=rise, stops=ROAD_STOPS, interval=ROAD_INTERVAL, cooling=cooling)
    if height is None or length is None or speed is None:
        return stops
    drag = 0.0 if road_load is None else road_load.force(speed)
    try:
        down = heat.descent_rise(
            mass=mass, height=height, road_length=length, speed=speed, drag=drag, share=share,
            discs=2.0, shed=shed, cooling=cooling,
        )  # fmt: skip
    except ValueError as error:
        raise NotWorkedOut(str(error)) from None
    return np.maximum(stops, down)


def peak_event_rise(
    *, rise: Array, cooling: Array, stops: Array | None, interval: Array | None
) -> Array:
    """Rise above the air after the stops of the event, K; the everyday row where none is stated."""
    return heat.after_stops(
        rise=rise,
        stops=ROAD_STOPS if stops is None else stops,
        interval=ROAD_INTERVAL if interval is None else interval,
        cooling=cooling,
    )


def disc_temperature(*, air: Array, rise: Array) -> Array:
    """Temperature of the disc, K."""
    return air + rise


def pedal_pressure(*, ratio: Array, gain: Array, bore: Array, runout: Array | None) -> Array:
    """Line pressure at 500 N on the pedal, the most that the basic test allows, Pa gauge."""
    return hydraulics.line_pressure(
        pedal_force=500.0, pedal_ratio=ratio, servo_gain=gain, bore=bore, runout_pressure=runout
    )


def available(
    *, pressure: Array, front: Array, rear: Array, mass: Array, knee: Array | None,
    slope: Array | None,
) -> Array:  # fmt: skip
    """Deceleration that the brakes could make at 500 N, whatever the tyres hold, m/s²."""
    behind = hydraulics.rear_pressure(front_pressure=pressure, knee=knee, slope=slope)
    return balance.deceleration(force=front * pressure + rear * behind, mass=mass)


def caliper_fluid(*, area: Array, travel: Array, give: Array) -> Array:
    """Fluid that one caliper takes up at 100 bar, m³."""
    return hydraulics.fluid_moved(
        piston_area=area, pad_travel=travel, give=give / 100e5, line_pressure=100e5
    )


def stroke_used(*, fl: Array, fr: Array, rl: Array, rr: Array, bore: Array) -> Array:
    """Stroke of the master cylinder at 100 bar, m."""
    return hydraulics.rod_stroke(volume=fl + fr + rl + rr, bore=bore)


def stroke_kept(*, stroke: Array) -> Array:
    """A third of the stroke: what is to be left at 100 bar, m."""
    return np.asarray(stroke) / 3


def register(room: Room) -> None:
    """Offer the results."""
    _torque(room)
    _heat(room)
    _pedal(room)


def _torque(room: Room) -> None:
    room.result(
        "brakes.piston_area", of=one_side, per="corner", kind="area",
        needs={
            "diameter": "caliper.{corner}.piston_diameter",
            "second": "?caliper.{corner}.second_piston_diameter",
            "count": "caliper.{corner}.piston_count",
            "layout": "caliper.{corner}.layout",
        },
        formula="A = n·π/4·d², pistons of one side", source=GEOMETRY,
    )  # fmt: skip
    room.result(
        "brakes.sweep_radius", of=hydraulics.sweep_radius, per="corner", kind="positive_length",
        needs={
            "outer_diameter": "disc.{corner}.outer_diameter",
            "pad_height": "pads.{axle}.pad_height",
        },
        formula="r = D/2 − h/2", source=GEOMETRY,
    )  # fmt: skip
    room.result(
        "brakes.torque_per_pressure", of=torque_per_pressure, per="corner", kind="volume",
        needs={
            "friction": "pads.{axle}.friction",
            "piston_area": "brakes.piston_area.{corner}",
            "radius": "disc.{corner}.effective_radius|brakes.sweep_radius.{corner}",
        },
        formula="T/p = 2·μ·A·r", source=LIMPERT,
        valid={"friction": (0.1, 0.8)},
    )  # fmt: skip
    room.result(
        "brakes.force_per_pressure", of=axle_force, per="axle", kind="area",
        needs={
            "left": "brakes.torque_per_pressure.{axle}.left",
            "right": "brakes.torque_per_pressure.{axle}.right",
            "radius_left": "~corners.rolling_radius.{axle}.left",
            "radius_right": "~corners.rolling_radius.{axle}.right",
        },
        formula="F/p = Σ T/p / r_roll", source=BALANCE,
    )  # fmt: skip
    room.result(
        "brakes.share_front", of=share_at, kind="fraction",
        needs={
            "front": "brakes.force_per_pressure.front",
            "rear": "brakes.force_per_pressure.rear",
            "weight": "~ride.total_mass",
            "knee": "?brake_valve.knee", "slope": "?brake_valve.slope",
        },
        formula="F_front / (F_front + F_rear) at z = 0.65", source=BALANCE,
    )  # fmt: skip
    room.result(
        "brakes.share_rear", of=rear_share, kind="fraction",
        needs={"share": "brakes.share_front"}, formula="1 − front share", source=BALANCE,
    )  # fmt: skip


def _heat(room: Room) -> None:
    ring = {
        "left": "disc.{axle}.left.ring_mass",
        "right": "disc.{axle}.right.ring_mass",
        "capacity": "disc.{axle}.left.heat_capacity",
    }
    stop = {
        "mass": "~ride.total_mass",
        "fl": "~?corners.inertia_equivalent_mass.front.left",
        "fr": "~?corners.inertia_equivalent_mass.front.right",
        "rl": "~?corners.inertia_equivalent_mass.rear.left",
        "rr": "~?corners.inertia_equivalent_mass.rear.right",
        "share": "brakes.share_{axle}",
        **ring,
    }
    room.result(
        "brakes.one_stop_rise", of=road_rise, per="axle", kind="temperature_difference",
        needs=stop, formula="ΔT = share·(m + m_rot)·v²/(2·2·m_ring·c), v = 100 km/h",
        source=HEAT,
    )  # fmt: skip
    room.result(
        "brakes.event_stop_rise", of=event_rise, per="axle", kind="temperature_difference",
        needs={**stop, "speed": "?goal.event_stop_speed"},
        formula="ΔT = share·(m + m_rot)·v²/(2·2·m_ring·c)", source=HEAT,
        valid={"speed": (0.0, 70.0)},
    )  # fmt: skip
    room.result(
        "brakes.cooling_time", of=ring_cooling, per="axle", kind="time",
        needs={**ring, "shed": "disc.{axle}.left.shed"},
        formula="τ = m_ring·c/(h·A)", source=HEAT,
    )  # fmt: skip
    room.result(
        "brakes.road_peak_rise", of=peak_road_rise, per="axle", kind="temperature_difference",
        needs={
            "rise": "brakes.one_stop_rise.{axle}",
            "cooling": "brakes.cooling_time.{axle}",
            "mass": "~ride.total_mass",
            "share": "brakes.share_{axle}",
            "shed": "disc.{axle}.left.shed",
            "height": "?goal.descent_height",
            "length": "?goal.descent_length",
            "speed": "?goal.descent_speed",
            "road_load": "~?driveline.road_load",
        },
        formula="the greater of ΔT·(1 − e^(−3t/τ))/(1 − e^(−t/τ)) and the descent",
        source=LIMPERT_HEAT,
    )  # fmt: skip
    room.result(
        "brakes.event_peak_rise", of=peak_event_rise, per="axle", kind="temperature_difference",
        needs={
            "rise": "brakes.event_stop_rise.{axle}",
            "cooling": "brakes.cooling_time.{axle}",
            "stops": "?goal.event_stops",
            "interval": "?goal.event_stop_interval",
        },
        formula="ΔT·(1 − e^(−n·t/τ))/(1 − e^(−t/τ))", source=LIMPERT_HEAT,
    )  # fmt: skip
    for which, words in (("road", "three stops or descent"), ("event", "stops of the event")):
        room.result(
            f"brakes.{which}_disc_temperature", of=disc_temperature, per="axle",
            kind="temperature",
            needs={"air": "~site.temperature", "rise": f"brakes.{which}_peak_rise.{{axle}}"},
            formula=f"T = air + rise, {words}", source=HEAT,
        )  # fmt: skip
        room.result(
            f"brakes.{which}_fluid_temperature", of=heat.fluid_temperature, per="axle",
            kind="temperature",
            needs={
                "air": "~site.temperature",
                "disc_rise": f"brakes.{which}_peak_rise.{{axle}}",
                "passed_on": "caliper.{axle}.left.passed_on",
            },
            formula=f"T = air + share·rise, {words}", source=PRACTICE,
        )  # fmt: skip


def _pedal(room: Room) -> None:
    room.result(
        "brakes.line_pressure", of=pedal_pressure, kind="pressure_gauge",
        needs={
            "ratio": "brake_pedal.ratio",
            "gain": "master_cylinder.servo_gain",
            "bore": "master_cylinder.bore",
            "runout": "?master_cylinder.servo_runout",
        },
        formula="p = F·i·g/(π/4·d²), only the foot above the servo's end; F = 500 N",
        source=BALANCE,
    )  # fmt: skip
    room.result(
        "brakes.deceleration_available", of=available, kind="acceleration",
        needs={
            "pressure": "brakes.line_pressure",
            "front": "brakes.force_per_pressure.front",
            "rear": "brakes.force_per_pressure.rear",
            "mass": "~ride.total_mass",
            "knee": "?brake_valve.knee", "slope": "?brake_valve.slope",
        },
        formula="a = Σ F / m", source=BALANCE,
    )  # fmt: skip
    room.result(
        "brakes.caliper_fluid", of=caliper_fluid, per="corner", kind="volume",
        needs={
            "area": "brakes.piston_area.{corner}",
            "travel": "caliper.{corner}.pad_travel",
            "give": "caliper.{corner}.give_at_100_bar",
        },
        formula="V = 2·A·x + give", source=GEOMETRY,
    )  # fmt: skip
    room.result(
        "brakes.stroke_used", of=stroke_used, kind="positive_length",
        needs={
            "fl": "brakes.caliper_fluid.front.left", "fr": "brakes.caliper_fluid.front.right",
            "rl": "brakes.caliper_fluid.rear.left", "rr": "brakes.caliper_fluid.rear.right",
            "bore": "master_cylinder.bore",
        },
        formula="s = ΣV/(π/4·d²) at 100 bar", source=GEOMETRY,
    )  # fmt: skip
    room.result(
        "brakes.stroke_kept", of=stroke_kept, kind="positive_length",
        needs={"stroke": "master_cylinder.stroke"},
        formula="a third of the stroke", source=PRACTICE,
    )  # fmt: skip
