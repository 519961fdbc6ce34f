"""Brake hydraulics and torque: pistons, line pressure, torque at the wheel, fluid moved.

Plain functions in SI units; arguments broadcast.
"""

from __future__ import annotations

import numpy as np

from drybuild.values import Array


def piston_area_one_side(
    *,
    piston_diameter: Array,
    piston_count: Array,
    opposed: bool,
    second_diameter: Array | None = None,
) -> Array:
    """Area of the pistons on ONE side of the disc, in m².

    piston_diameter, second_diameter: bore, m. piston_count: all pistons of the caliper, 1.
    opposed: pistons on both sides of the disc, so that half of them stand on one side; a sliding
    caliper has all of its pistons on one side. With two diameters half of the pistons have each.

    The clamp on one face is balanced by the other face, whatever makes it: to count the pistons
    of both sides doubles the torque wrongly.
    Errors: a count that cannot be shared out raises ValueError.
    Source: static equilibrium of the caliper; Limpert, Brake Design and Safety (from memory).
    """
    count = float(np.max(piston_count))
    parts = (2 if opposed else 1) * (1 if second_diameter is None else 2)
    if count <= 0 or count % parts:
        raise ValueError(f"{count:g} pistons cannot be shared out in {parts} equal parts")
    one_side = count / 2 if opposed else count
    if second_diameter is None:
        return one_side * np.pi / 4 * np.square(piston_diameter)
    squares = np.square(piston_diameter) + np.square(second_diameter)
    return one_side / 2 * np.pi / 4 * squares


def clamp_force(*, line_pressure: Array, piston_area: Array) -> Array:
    """Force of a pad on its face of the disc, N.

    line_pressure: Pa gauge, at least 0. piston_area: pistons on one side, m².
    Source: p·A; friction of seals and pins left out.
    """
    return line_pressure * piston_area


def sweep_radius(*, outer_diameter: Array, pad_height: Array) -> Array:
    """Radius at which the pads act, m: the middle of the swept ring.

    outer_diameter: of the friction ring, m. pad_height: radial height of the pad, m; the pad is
    taken to reach the disc's edge. Within 1 % of the uniform-pressure radius while the pad is
    lower than a third of the disc's radius.
    Errors: none; a pad higher than the radius gives less than half the radius.
    Source: geometry; uniform wear, Shigley, Mechanical Engineering Design, ch. 16 (from memory).
    """
    return outer_diameter / 2 - pad_height / 2


def brake_torque(
    *, friction: Array, line_pressure: Array, piston_area: Array, effective_radius: Array
) -> Array:
    """Brake torque of one wheel, N·m: 2 μ p A r, two faces rubbed.

    friction: pad on disc, 1. line_pressure: Pa gauge. piston_area: one side, m².
    effective_radius: m. Linear in each; fade is not in it.
    Source: Limpert, Brake Design and Safety; Bosch Automotive Handbook (from memory).
    """
    return 2 * friction * line_pressure * piston_area * effective_radius


def line_pressure(
    *,
    pedal_force: Array,
    pedal_ratio: Array,
    servo_gain: Array,
    bore: Array,
    runout_pressure: Array | None = None,
) -> Array:
    """Line pressure at a pedal force, Pa gauge.

    pedal_force: N. pedal_ratio: pedal travel over rod travel, 1. servo_gain: rod force out over
    rod force in, 1 without a servo. bore: of the master cylinder, m. runout_pressure: where the
    servo has no more to give, Pa gauge; above it only the foot adds.
    Efficiency of pedal and cylinder is taken as 1: give a lower servo_gain where it is known.
    Source: force balance at the master cylinder.
    """
    area = np.pi / 4 * np.square(bore)
    foot = pedal_force * pedal_ratio / area
    helped = foot * servo_gain
    if runout_pressure is None:
        return helped
    foot_at_runout = runout_pressure / servo_gain
    above = runout_pressure + (foot - foot_at_runout)
    return np.where(helped > runout_pressure, above, helped)


def rear_pressure(
    *, front_pressure: Array, knee: Array | None = None, slope: Array | None = None
) -> Array:
    """Pressure at the rear brakes behind a pressure-limiting valve, Pa gauge.

    front_pressure: Pa gauge. knee: where the valve starts to hold back, Pa gauge. slope: rise of
    rear over front pressure above it, 0 to 1. Without both, rear equals front.
    Source: the valve's characteristic as makers draw it: two straight lines.
    """
    if knee is None or slope is None:
        return front_pressure
    return np.minimum(front_pressure, knee + slope * (front_pressure - knee))


def fluid_moved(
    *, piston_area: Array, pad_travel: Array, give: Array, line_pressure: Array
) -> Array:
    """Fluid that one caliper takes up to a line pressure, m³.

    piston_area: pistons on one side, m². pad_travel: running clearance of one pad, m: both pads
    have it, in a sliding caliper one piston makes both ways, in an opposed one two make one each,
    so that it is 2·A·x for either. give: volume by which caliper, pads and hose yield, m³/Pa.
    line_pressure: Pa gauge.
    Source: geometry.
    """
    return 2 * piston_area * pad_travel + give * line_pressure


def rod_stroke(*, volume: Array, bore: Array) -> Array:
    """Stroke of the master cylinder that moves a volume, m.

    volume: of all calipers together, m³. In a tandem cylinder both chambers have one bore, and
    their strokes add. bore: m.
    Source: geometry.
    """
    return volume / (np.pi / 4 * np.square(bore))
