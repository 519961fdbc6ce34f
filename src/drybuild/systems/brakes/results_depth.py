"""More of the brakes: swept area, balance along the braking rate, fade stop by stop, the
caliper's outline in the wheel. All of it only where its facts are stated."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from drybuild.findings import FormulaRefused, NotWorkedOut, Room, Source
from drybuild.systems.brakes.formulas import balance, fade, heat, hydraulics, swept
from drybuild.systems.brakes.results import (
    GEOMETRY,
    HEAT,
    LIMPERT_HEAT,
    ROAD_INTERVAL,
    ROAD_SPEED,
    ROAD_STOPS,
)
from drybuild.values import Array

GILLESPIE_3 = Source("Gillespie, Fundamentals of Vehicle Dynamics", "1992", "ch. 3", how="memory")
MOST_STOPS = 60
COLD = 373.15  # K: what pad makers call cold in their friction curves, about 100 °C


def disc_swept_area(*, diameter: Array, pad_height: Array) -> Array:
    """Swept area of one disc, both faces, m²."""
    return swept.swept_area(outer_diameter=diameter, pad_height=pad_height)


def stop_heat_per_area(
    *, mass: Array, wheels_fl: Array | None, wheels_fr: Array | None, wheels_rl: Array | None,
    wheels_rr: Array | None, share: Array, left: Array, right: Array, speed: Array | None,
) -> Array:  # fmt: skip
    """Energy of one stop of the event per swept area of the axle's discs, J/m²."""
    wheels = (wheels_fl, wheels_fr, wheels_rl, wheels_rr)
    rotating = sum(w for w in wheels if w is not None)
    energy = heat.stop_energy(
        mass=mass, speed=ROAD_SPEED if speed is None else speed, rotating_mass=rotating
    )
    return swept.heat_per_area(energy=energy, share=share, swept=0.5 * (left + np.asarray(right)))


def pad_pressure_at_100_bar(*, piston_area: Array, pad_area: Array) -> Array:
    """Pressure of a pad on its disc at 100 bar in the line, Pa."""
    clamp = hydraulics.clamp_force(line_pressure=100e5, piston_area=piston_area)
    return swept.pad_pressure(clamp=clamp, pad_area=pad_area)


@dataclass(frozen=True)
class BalanceAlong:
    """Front share along the braking rate (K,): that of the brakes, and the ideal one: (K, N).

    meets: rate at which they are alike, for brakes without a valve; above it the rear locks first.
    """

    rate: Array
    actual: Array
    ideal: Array
    meets: Array


def balance_along(
    *, front: Array, rear: Array, load_front: Array, load_rear: Array, cg_height: Array,
    wheelbase: Array, knee: Array | None, slope: Array | None,
) -> BalanceAlong:  # fmt: skip
    """How the brakes' share follows the load that moves forward."""
    rate = np.linspace(0.1, 1.0, 19)
    at = rate[:, None]
    pressure = balance.pressure_for_rate(
        rate=at, weight=load_front + load_rear, front_per_pressure=front,
        rear_per_pressure=rear, knee=knee, slope=slope,
    )  # fmt: skip
    behind = hydraulics.rear_pressure(front_pressure=pressure, knee=knee, slope=slope)
    actual = balance.front_share(front_force=front * pressure, rear_force=rear * behind)
    loads = {
        "front_load": load_front, "rear_load": load_rear, "cg_height": cg_height,
        "wheelbase": wheelbase,
    }  # fmt: skip
    ideal = fade.ideal_front_share(**loads, rate=at)
    plain = balance.front_share(front_force=front, rear_force=rear)
    meets = fade.meeting_rate(share=plain, **loads)
    actual, ideal = np.broadcast_arrays(np.asarray(actual), np.asarray(ideal))
    return BalanceAlong(rate, actual, ideal, meets)


@dataclass(frozen=True)
class Fade:
    """A row of stops: number (K,), disc temperature K just after each and friction kept: (K, N).

    kept is friction at that temperature over that at 100 °C; NaN beyond the pad maker's curve.
    """

    stop: Array
    temperature: Array
    kept: Array


def fade_in_row(
    *, rise: Array, cooling: Array, air: Array, friction: Any, stops: Array | None,
    interval: Array | None,
) -> Fade:  # fmt: skip
    """Temperature and friction stop by stop; the everyday row where the goal names none."""
    count = int(np.ceil(np.max(ROAD_STOPS if stops is None else stops)))
    if not 1 <= count <= MOST_STOPS:
        raise NotWorkedOut(f"a row of 1 to {MOST_STOPS} stops")
    above = np.asarray(fade.stop_by_stop(
        rise=rise, stops=count, interval=ROAD_INTERVAL if interval is None else interval,
        cooling=cooling,
    ))  # fmt: skip
    above = above if above.ndim == 2 else above[:, None]
    temperature = above + air
    cold = friction.at(COLD)
    kept = fade.friction_kept(friction=_at(friction, temperature), friction_cold=cold)
    return Fade(np.arange(1.0, count + 1.0), temperature, np.asarray(kept))


def _at(curve: Any, temperature: Any) -> Any:
    """A curve at temperatures (K, N) or (K, 1); below its first point the first counts."""
    return curve.at(np.maximum(temperature, curve.x[0]))


def caliper_rise(
    *, stated: Array | None, passed_on: Array | None, rise: Array | None
) -> Array:
    """How much hotter the caliper's body gets, K: as stated, else as the fluid."""
    if stated is not None:
        return stated
    if passed_on is None or rise is None:
        raise FormulaRefused("how hot the caliper gets, or the share of the disc's heat it takes")
    return passed_on * rise


def register(room: Room) -> None:
    """Offer the results."""
    room.result(
        "brakes.swept_area", of=disc_swept_area, per="corner", kind="area",
        needs={
            "diameter": "disc.{corner}.outer_diameter", "pad_height": "pads.{axle}.pad_height",
        },
        formula="A = 2·π·(ro² − ri²), both faces", source=GEOMETRY,
    )  # fmt: skip
    room.result(
        "brakes.heat_per_area", of=stop_heat_per_area, per="axle", kind="number",
        needs={
            "mass": "~ride.total_mass",
            "wheels_fl": "~?corners.inertia_equivalent_mass.front.left",
            "wheels_fr": "~?corners.inertia_equivalent_mass.front.right",
            "wheels_rl": "~?corners.inertia_equivalent_mass.rear.left",
            "wheels_rr": "~?corners.inertia_equivalent_mass.rear.right",
            "share": "brakes.share_{axle}", "left": "brakes.swept_area.{axle}.left",
            "right": "brakes.swept_area.{axle}.right", "speed": "?goal.event_stop_speed",
        },
        formula="E·share/(2·A_swept), J/m² in one stop of the event", source=LIMPERT_HEAT,
    )  # fmt: skip
    room.result(
        "brakes.pad_pressure", of=pad_pressure_at_100_bar, per="corner", kind="stress",
        needs={
            "piston_area": "brakes.piston_area.{corner}", "pad_area": "pads.{axle}.pad_area",
        },
        formula="p = clamp/A_pad at 100 bar in the line", source=GEOMETRY,
    )  # fmt: skip
    room.result(
        "brakes.balance_along", of=balance_along, kind="object",
        needs={
            "front": "brakes.force_per_pressure.front", "rear": "brakes.force_per_pressure.rear",
            "load_front": "~ride.axle_load.front", "load_rear": "~ride.axle_load.rear",
            "cg_height": "~ride.cg_height", "wheelbase": "~car.wheelbase",
            "knee": "?brake_valve.knee", "slope": "?brake_valve.slope",
        },
        formula="ideal: (N_f + W·z·h/L)/W, along the braking rate", source=GILLESPIE_3,
    )  # fmt: skip
    room.result(
        "brakes.fade", of=fade_in_row, per="axle", kind="object",
        needs={
            "rise": "brakes.event_stop_rise.{axle}", "cooling": "brakes.cooling_time.{axle}",
            "air": "~site.temperature", "friction": "pads.{axle}.friction_curve",
            "stops": "?goal.event_stops", "interval": "?goal.event_stop_interval",
        },
        formula="T after each stop: (T − air)·e^(−t/τ) + ΔT; μ(T)/μ(100 °C)", source=LIMPERT_HEAT,
    )  # fmt: skip
    room.result(
        "brakes.caliper_rise", of=caliper_rise, per="corner", kind="temperature_difference",
        needs={
            "stated": "?caliper.{corner}.heat_rise", "passed_on": "?caliper.{corner}.passed_on",
            "rise": "~?brakes.event_peak_rise.{axle}",
        },
        formula="as stated; else share reaching it · rise of the disc in the event", source=HEAT,
    )  # fmt: skip

