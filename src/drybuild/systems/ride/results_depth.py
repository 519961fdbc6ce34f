"""Results of the ride room, third part: spring stacks, bump rubber, damper curves, body swings.
All of it only where its facts are stated."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from drybuild.findings import PRACTICE, FormulaRefused, NotWorkedOut, Source
from drybuild.systems.ride import (
    body_modes,
    damper_curve,
    linkage,
    motion,
    stacks,
)
from drybuild.systems.ride import results_inputs as given
from drybuild.systems.ride.results import (
    DAMPER_RATIO,
    GILLESPIE_5,
    LINKAGE,
    PERCH,
    RATE,
    STATICS,
    VIRTUAL_WORK,
    room,
)
from drybuild.values import Array

OLLEY = Source("Olley's flat ride rule, as in Gillespie ch. 5", how="memory")
DYNO = Source("force over speed, as measured", how="computed")
DEN_HARTOG = Source("Den Hartog, Mechanical Vibrations", clause="ch. 8", how="memory")
LOW_SPEED = 0.1  # m/s: where makers state the slope of a damper

STACK = {
    "plain": "?spring.{corner}.rate|ride.coil_rate.{corner}",
    "curve": "?spring.{corner}.force_curve",
    "helper_rate": "?spring.{corner}.helper_rate",
    "helper_free": "?spring.{corner}.helper_free_length",
    "helper_solid": "?spring.{corner}.helper_solid_length",
}


@dataclass(frozen=True)
class Stack:
    """A main spring, straight or by its curve, with a helper that may still give."""

    plain: Array | None
    curve: Any
    helper_rate: Array | None
    helper_free: Array | None
    helper_solid: Array | None

    @property
    def helper_travel(self) -> Array:
        return given.or_zero(self.helper_free) - given.or_zero(self.helper_solid)  # type: ignore[no-any-return]

    @property
    def helper_length(self) -> Array:
        """What the helper adds to the free length: solid where its rate is not known."""
        length: Array = given.or_zero(
            self.helper_solid if self.helper_rate is None else self.helper_free
        )
        return length

    def squeeze(self, *, force: Array) -> Array:
        """Squeeze of all of it under a force, m."""
        if self.curve is not None:
            main = stacks.squeeze_on_curve(curve=self.curve, force=force)
        elif self.plain is not None:
            main = force / self.plain
        else:
            raise FormulaRefused("the rate of the main spring")
        if self.helper_rate is None:
            return main
        return stacks.stack_squeeze(
            force=force, main_squeeze=main, helper_rate=self.helper_rate,
            helper_travel=self.helper_travel,
        )  # fmt: skip

    def rate(self, *, force: Array) -> Array:
        """Rate of all of it where it carries a force, N/m."""
        if self.curve is not None:
            main = stacks.rate_on_curve(curve=self.curve, force=force)
        elif self.plain is not None:
            main = self.plain
        else:
            raise FormulaRefused("the rate of the main spring")
        if self.helper_rate is None:
            return main
        return stacks.stack_rate(
            force=force, main_rate=main, helper_rate=self.helper_rate,
            helper_travel=self.helper_travel,
        )  # fmt: skip


def stack_of(taken: dict[str, Any]) -> Stack:
    """The stack of a corner; refused where it is one straight line that others already work out."""
    stack = Stack(*(taken[name] for name in STACK))
    if stack.curve is None and stack.helper_rate is None:
        raise FormulaRefused("a force curve, or the rate of a helper spring")
    if stack.helper_rate is not None and stack.helper_free is None:
        raise FormulaRefused("the helper's free and solid lengths")
    return stack


def _said(function: Any, **arguments: Any) -> Any:
    """A formula whose ValueError is a word to the reader."""
    try:
        return function(**arguments)
    except ValueError as error:
        raise NotWorkedOut(str(error)) from None


def stack_rate(*, weight: Array, motion_ratio: Array, **taken: Any) -> Array:
    """Rate of a progressive or two-spring stack at its load, N/m."""
    stack = stack_of(taken)
    rate: Array = _said(stack.rate, force=weight / np.asarray(motion_ratio))
    return rate


def drop_as_stated(*, stated: Array, perch: Array | None, perch_found: Array | None) -> Array:
    """What the spring's maker says that the car comes down, m: with the perch where it was."""
    if not np.array_equal(given.or_zero(perch), given.or_zero(perch_found)):
        raise NotWorkedOut("the spring perch was moved")
    return stated


def rest_on_stack(
    *, free_length: Array, seat_distance: Array, weight: Array, motion_ratio: Array,
    slope: Array | None, perch: Array | None, perch_found: Array | None, **taken: Any,
) -> Array:  # fmt: skip
    """Rest position on a progressive or two-spring stack, m."""
    stack = stack_of(taken)
    raised = given.or_zero(perch) - given.or_zero(perch_found)
    rest: Array = _said(
        stacks.rest_on_stack, squeeze_under=stack.squeeze,
        squeeze_at_zero=free_length + stack.helper_length + raised - seat_distance,
        sprung_weight=weight, motion_ratio=motion_ratio, slope=given.or_zero(slope),
    )  # fmt: skip
    return rest


def seat_distance_on_stack(
    *, free_length: Array, weight: Array, motion_ratio: Array, **taken: Any
) -> Array:
    """Distance between the seats as found, from the stack as found, m."""
    stack = stack_of(taken)
    force = linkage.spring_force_at_rest(sprung_weight=weight, motion_ratio=motion_ratio)
    squeezed: Array = _said(stack.squeeze, force=force)
    return free_length + stack.helper_length - squeezed


def droop_preload(
    *, free_length: Array, seats: Array, rate: Array, helper_rate: Array | None,
    helper_free: Array | None, helper_solid: Array | None,
) -> Array:  # fmt: skip
    """Force of the spring stack at full droop, N."""
    if helper_rate is None:
        held = seats - np.asarray(given.or_zero(helper_solid))
        return stacks.preload(force_rate=rate, free_length=free_length, held_length=held)
    return stacks.linear_stack_force(
        squeeze=free_length + given.or_zero(helper_free) - seats, main_rate=rate,
        helper_rate=helper_rate,
        helper_travel=given.or_zero(helper_free) - given.or_zero(helper_solid),
    )  # fmt: skip


@dataclass(frozen=True)
class WheelForce:
    """Force at the wheel from rest to full bump, along its travel.

    part (K,) 0 at rest to 1 at full bump; travel m, force N, rate N/m: (K, N).
    """

    part: Array
    travel: Array
    force: Array
    rate: Array


def wheel_force(
    *, rest: Array, full: Array, touch: Array, rate: Array, weight: Array, rubber: Any,
    damper_ratio: Array, motion_ratio: Array, slope: Array | None,
) -> WheelForce:  # fmt: skip
    """Spring and bump rubber at the wheel; the rate is the slope between the points."""
    part = np.linspace(0.0, 1.0, 21)
    travel = rest + part[:, None] * (np.asarray(full) - rest)
    bend = given.or_zero(slope)
    ratio = linkage.motion_ratio_at(motion_ratio=motion_ratio, slope=bend, travel=travel)
    at_rest = linkage.motion_ratio_at(motion_ratio=motion_ratio, slope=bend, travel=rest)
    more = linkage.spring_squeeze(
        motion_ratio=motion_ratio, slope=bend, travel=travel
    ) - linkage.spring_squeeze(motion_ratio=motion_ratio, slope=bend, travel=rest)
    spring = weight / at_rest + rate * more
    squeezed = (travel - touch) * damper_ratio
    force = np.asarray(stacks.force_at_wheel(
        spring_force=spring, motion_ratio=ratio,
        rubber=stacks.rubber_force(curve=rubber, squeeze=squeezed), rubber_ratio=damper_ratio,
    ))  # fmt: skip
    steps = np.gradient(force, axis=0) / np.gradient(travel, axis=0)
    return WheelForce(part, travel, force, steps)


def from_curve(*, curve: Any) -> Array:
    """Slope of a damper's curve at 0.1 m/s, N·s/m."""
    slope: Array = np.asarray(curve.at(LOW_SPEED)) / LOW_SPEED
    return slope


@dataclass(frozen=True)
class DampingAlong:
    """Damping ratio in bump and in rebound along shaft speed (K,), m/s: each (K, N)."""

    speed: Array
    bump: Array
    rebound: Array

    @property
    def mean(self) -> Array:
        return 0.5 * (self.bump + self.rebound)


def damping_along(
    *, bump: Any, rebound: Any, motion_ratio: Array, rate: Array, mass: Array
) -> DampingAlong:
    """Damping ratio across shaft speed from the measured curves."""
    low = max(bump.x[0], rebound.x[0], 0.02)
    high = min(bump.x[-1], rebound.x[-1])
    if not high > low:
        raise FormulaRefused("damper curves that overlap in speed, from 0.02 m/s up")
    speed = np.geomspace(low, high, 13)
    found = []
    for curve in (bump, rebound):
        force = np.asarray(curve.at(speed[:, None]))
        force = force if force.ndim == 2 else force[:, None]
        at_wheel = damper_curve.damping_at_speed(
            force=force, shaft_speed=speed[:, None], motion_ratio=motion_ratio
        )
        found.append(motion.damping_ratio(wheel_damping_rate=at_wheel, rate=rate, mass=mass))
    return DampingAlong(speed, *np.broadcast_arrays(*found))


SWING_SPEED = 0.3  # m/s at the shaft: a firm undulation on a road


def damping_in_swing(
    *, bump: Any, rebound: Any, motion_ratio: Array, rate: Array, mass: Array
) -> Array:
    """Damping ratio of a swing that reaches 0.3 m/s at the shaft, by its energy."""
    both = [
        damper_curve.equivalent_damping(curve=curve, peak_speed=SWING_SPEED)
        for curve in (bump, rebound)
    ]
    at_wheel = motion.wheel_damping(bump=both[0], rebound=both[1], motion_ratio=motion_ratio)
    return motion.damping_ratio(wheel_damping_rate=at_wheel, rate=rate, mass=mass)


def flat_ride(
    *, front_left: Array, front_right: Array, rear_left: Array, rear_right: Array
) -> Array:
    """Rear over front ride frequency, means of both sides."""
    return body_modes.flat_ride_ratio(
        front=0.5 * (front_left + front_right), rear=0.5 * (rear_left + rear_right)
    )


def flat_ride_speed(
    *, front_left: Array, front_right: Array, rear_left: Array, rear_right: Array, wheelbase: Array
) -> Array:
    """Speed at which the flat-ride rule comes out even, m/s."""
    return body_modes.flat_ride_speed(
        front=0.5 * (front_left + front_right), rear=0.5 * (rear_left + rear_right),
        wheelbase=wheelbase,
    )  # fmt: skip


def pitch_modes(
    *, front: Array, rear: Array, front_mass: Array, rear_mass: Array, wheelbase: Array,
    inertia: Array,
) -> tuple[Array, Array]:  # fmt: skip
    """Frequencies of bounce and pitch, Hz; front, rear: rates of one wheel with its tyre."""
    total = front_mass + np.asarray(rear_mass)
    return body_modes.bounce_and_pitch(
        front_rate=2.0 * front, rear_rate=2.0 * rear, to_front=wheelbase * rear_mass / total,
        to_rear=wheelbase * front_mass / total, sprung_mass=total, pitch_inertia=inertia,
    )  # fmt: skip


def roll_frequency(
    *, front: Array, rear: Array, front_mass: Array, rear_mass: Array, arm: Array, inertia: Array
) -> Array:
    """Frequency of the body in roll, Hz."""
    return body_modes.roll_frequency(
        stiffness=front + rear, sprung_mass=front_mass + rear_mass, arm=arm, roll_inertia=inertia
    )


def _stacks() -> None:
    room.result(
        "ride.stack_rate", of=stack_rate, per="corner", kind="spring_rate",
        needs={"weight": "~ride.laden_sprung_weight.{corner}", "motion_ratio": LINKAGE[
            "motion_ratio"], **STACK},
        formula="slope of the curve at W/MR; with a helper 1/k = 1/k1 + 1/k2 until it is solid",
        source=VIRTUAL_WORK,
    )  # fmt: skip
    room.result(
        "ride.rest_on_stack", of=rest_on_stack, per="corner", kind="length",
        needs={
            "free_length": "spring.{corner}.free_length",
            "seat_distance": "ride.seat_distance.{corner}",
            "weight": "~ride.kerb_sprung_weight.{corner}", **LINKAGE, **PERCH, **STACK,
        },
        formula="squeeze between the seats = squeeze under W/MR(z)", source=VIRTUAL_WORK,
    )  # fmt: skip
    room.result(
        "ride.drop_as_stated", of=drop_as_stated, per="corner", kind="length",
        needs={"stated": "spring.{corner}.stated_drop", **PERCH},
        formula="as the spring's maker states, the perch where it was",
        source=PRACTICE,
    )  # fmt: skip
    base = {name: f"?base:{need.removeprefix('?')}" for name, need in STACK.items()}
    room.result(
        "ride.seat_distance_on_stack", of=seat_distance_on_stack, per="corner", kind="length",
        needs={
            "free_length": "base:spring.{corner}.free_length",
            "weight": "base:ride.kerb_sprung_weight.{corner}",
            "motion_ratio": LINKAGE["motion_ratio"], **base,
        },
        formula="L = L0 − squeeze under W/MR, with the stack as found", source=STATICS,
    )  # fmt: skip
    room.result(
        "ride.droop_preload", of=droop_preload, per="corner", kind="force",
        needs={
            "free_length": "spring.{corner}.free_length",
            "seats": "ride.seats_at_droop.{corner}", "rate": RATE,
            **{k: STACK[k] for k in ("helper_rate", "helper_free", "helper_solid")},
        },
        formula="F = k·squeeze at full droop; in series until the helper is solid", source=STATICS,
    )  # fmt: skip
    room.result(
        "ride.wheel_force", of=wheel_force, per="corner", kind="object",
        needs={
            "rest": "ride.laden_travel.{corner}", "full": "ride.full_bump.{corner}",
            "touch": "ride.stop_touch.{corner}", "rate": RATE,
            "weight": "~ride.laden_sprung_weight.{corner}",
            "rubber": "bump_stop.{corner}.force_curve", "damper_ratio": DAMPER_RATIO, **LINKAGE,
        },
        formula="F = F_spring·MR + F_rubber·MR_d, from rest to full bump", source=VIRTUAL_WORK,
    )  # fmt: skip


def _dampers() -> None:
    for way in ("bump", "rebound"):
        room.result(
            f"ride.{way}_from_curve", of=from_curve, per="corner", kind="damping",
            needs={"curve": f"damper.{{corner}}.{way}_curve"},
            formula="c = F/v at 0.1 m/s", source=DYNO,
        )  # fmt: skip
    room.result(
        "ride.damping_along", of=damping_along, per="corner", kind="object",
        needs={
            "bump": "damper.{corner}.bump_curve", "rebound": "damper.{corner}.rebound_curve",
            "motion_ratio": DAMPER_RATIO, "rate": "ride.wheel_rate.{corner}",
            "mass": "~ride.sprung_mass.{corner}",
        },
        formula="ζ = MR²·F/v/(2·sqrt(k_w·m_s)), along shaft speed", source=GILLESPIE_5,
    )  # fmt: skip
    room.result(
        "ride.damping_in_swing", of=damping_in_swing, per="corner", kind="ratio",
        needs={
            "bump": "damper.{corner}.bump_curve", "rebound": "damper.{corner}.rebound_curve",
            "motion_ratio": DAMPER_RATIO, "rate": "ride.wheel_rate.{corner}",
            "mass": "~ride.sprung_mass.{corner}",
        },
        formula="ζ of the straight damper that takes as much energy at 0.3 m/s", source=DEN_HARTOG,
    )  # fmt: skip
    room.result(
        "ride.rebound_over_bump", of=damper_curve.rebound_over_bump, per="corner", kind="ratio",
        needs={
            "bump": "damper.{corner}.bump_damping|ride.bump_from_curve.{corner}",
            "rebound": "damper.{corner}.rebound_damping|ride.rebound_from_curve.{corner}",
        },
        formula="rebound/bump at low speed", source=DYNO,
    )  # fmt: skip


def _swings() -> None:
    both = {f"{a}_{s}": f"ride.frequency.{a}.{s}" for a in ("front", "rear")
            for s in ("left", "right")}  # fmt: skip
    room.result(
        "ride.flat_ride", of=flat_ride, kind="ratio", needs=both,
        formula="f_rear/f_front", source=OLLEY,
    )  # fmt: skip
    room.result(
        "ride.flat_ride_speed", of=flat_ride_speed, kind="speed",
        needs={**both, "wheelbase": "~car.wheelbase"},
        formula="L/v = 1/f_front − 1/f_rear", source=OLLEY,
    )  # fmt: skip
    masses = {f"{axle}_mass": f"~ride.axle_sprung_mass.{axle}" for axle in ("front", "rear")}
    for axle in ("front", "rear"):
        room.result(
            f"ride.rate_with_tyre_{axle}", of=given.mean_of, kind="spring_rate",
            needs={s: f"ride.rate_with_tyre.{axle}.{s}" for s in ("left", "right")},
            formula="mean of both sides", source=STATICS,
        )  # fmt: skip
    room.result(
        "ride.pitch_modes", of=pitch_modes, kind="object",
        needs={
            "front": "ride.rate_with_tyre_front", "rear": "ride.rate_with_tyre_rear", **masses,
            "wheelbase": "~car.wheelbase", "inertia": "car.pitch_inertia",
        },
        formula="ω² = (α + γ)/2 ∓ sqrt(((α − γ)/2)² + β²·m/I)", source=GILLESPIE_5,
    )  # fmt: skip
    room.result(
        "ride.roll_frequency", of=roll_frequency, kind="frequency",
        needs={
            "front": "ride.roll_stiffness.front", "rear": "ride.roll_stiffness.rear", **masses,
            "arm": "ride.roll_arm", "inertia": "car.roll_inertia",
        },
        formula="f = sqrt((K − m_s·g·d)/(I + m_s·d²))/2π", source=GILLESPIE_5,
    )  # fmt: skip


_stacks()
_dampers()
_swings()
