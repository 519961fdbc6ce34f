"""Fasteners: thread sizes, proof loads, clamp from torque, seats, engagement. SI in, SI out.

Clamp is worked out from the torque that a maker gives, to see what it does to the fastener. The
other way round is not offered: a tightening figure is the maker's, or LOOK UP.
"""

from __future__ import annotations

from typing import Final

import numpy as np

from drybuild.values import Array

MM: Final = 1e-3
MPA: Final = 1e6

# Least proof stress, tensile strength and yield (0.2 %), MPa: up to M16, and above.
_CLASSES: Final = {
    "8.8": ((580.0, 800.0, 640.0), (600.0, 830.0, 660.0)),
    "10.9": ((830.0, 1040.0, 940.0),) * 2,
    "12.9": ((970.0, 1220.0, 1100.0),) * 2,
}

# Thread in the part, as diameters of the thread: common practice.
_LEAST_ENGAGED: Final = {"nut": 0.8, "steel": 1.0, "iron": 1.25, "aluminium": 2.0}

# Nut factor K by seat, from and to: Shigley's 0.15 to 0.25 as bounds; cones sit high in it.
_SEAT_FACTORS: Final = {
    "flat": (0.13, 0.23),
    "cone 60": (0.15, 0.27),
    "ball R12": (0.15, 0.27),
    "ball R13": (0.15, 0.27),
    "ball R14": (0.15, 0.27),
}

CLAMP_SCATTER: Final = 0.30
"""Share, 95 % half-width, by which clamp scatters about torque over K·d with a torque wrench:
25 to 30 % either way (Shigley, ch. 8; VDI 2230 tightening factor 1.4 to 1.8; from memory)."""


def pitch_diameter(*, diameter: Array, pitch: Array) -> Array:
    """Pitch diameter d2 of a metric thread, m: d − 0.649519·P. Source: ISO 724."""
    return diameter - 0.649519 * np.asarray(pitch)


def minor_diameter(*, diameter: Array, pitch: Array) -> Array:
    """Root diameter d3 of a metric bolt thread, m: d − 1.226869·P. Source: ISO 898-1, 9.1.6.1."""
    return diameter - 1.226869 * np.asarray(pitch)


def stress_area(*, diameter: Array, pitch: Array) -> Array:
    """Nominal stress area of a bolt's thread, m²: π/4·((d2 + d3)/2)².

    diameter, pitch m. Metric threads; inch threads of the same profile alike.
    Source: ISO 898-1, clause 9.1.6.1.
    """
    mean = 0.5 * (
        pitch_diameter(diameter=diameter, pitch=pitch)
        + minor_diameter(diameter=diameter, pitch=pitch)
    )
    return np.pi / 4.0 * np.square(mean)


def class_strength(*, property_class: str, diameter: float) -> tuple[float, float, float]:
    """Least proof stress, tensile strength and yield of a bolt's property class, Pa.

    property_class: 8.8, 10.9 or 12.9 as marked on the head; diameter m (8.8 differs above M16).
    Errors: ValueError that lists the classes known. Source: ISO 898-1:2009, tables 3 to 5.
    """
    rows = _CLASSES.get(property_class)
    if rows is None:
        raise ValueError(f"class {property_class!r}; known: {', '.join(_CLASSES)}")
    proof, tensile, yields = rows[bool(diameter > 16.0 * MM + 1e-9)]
    return proof * MPA, tensile * MPA, yields * MPA


def proof_load(*, property_class: str, diameter: float, pitch: float) -> Array:
    """Load that a bolt must stand without lasting stretch, N: stress area times proof stress.

    property_class as marked, diameter, pitch m. Source: ISO 898-1, clause 9.6 and table 6.
    """
    proof, _, _ = class_strength(property_class=property_class, diameter=diameter)
    return proof * stress_area(diameter=diameter, pitch=pitch)


def clamp_from_torque(*, torque: Array, diameter: Array, nut_factor: Array) -> Array:
    """Clamp that a tightening torque makes, N: T/(K·d).

    torque N·m as the maker gives it, diameter m, nut_factor K: about 0.2 dry, less oiled. It
    scatters by a quarter to a third with a torque wrench; say so beside it.
    Source: Shigley, Mechanical Engineering Design, ch. 8 (from memory).
    """
    return torque / (nut_factor * np.asarray(diameter))


def clamp_by_friction(
    *,
    torque: Array,
    diameter: Array,
    pitch: Array,
    thread_friction: Array,
    seat_friction: Array,
    seat_diameter: Array,
) -> Array:
    """Clamp that a torque makes when friction is known, N: T/(0.16·P + 0.58·d2·μ + D/2·μ).

    torque N·m, diameter, pitch m, frictions 1, seat_diameter m: the mean of the bearing ring, or
    `seat_lever` of a cone. Friction is seldom known to better than ±0.03.
    Source: VDI 2230 part 1 (from memory).
    """
    d2 = pitch_diameter(diameter=diameter, pitch=pitch)
    arm = 0.16 * np.asarray(pitch) + 0.58 * d2 * thread_friction
    return torque / (arm + 0.5 * np.asarray(seat_diameter) * seat_friction)


def clamp_at_yield_share(
    *,
    share: Array,
    yield_strength: Array,
    diameter: Array,
    pitch: Array,
    thread_friction: Array,
) -> Array:
    """Clamp at which pull and twist together use a share of the yield, N.

    share 0..1 (VDI 2230 uses 0.9), yield_strength Pa, diameter, pitch m, thread_friction 1.
    The most that tightening may do to a bolt; not a target.
    Source: VDI 2230 part 1 (from memory): σ = ν·Rp/√(1 + 3·(1.5·d2/d0·(P/(π·d2) + 1.155·μ))²).
    """
    d2 = pitch_diameter(diameter=diameter, pitch=pitch)
    d0 = 0.5 * (d2 + minor_diameter(diameter=diameter, pitch=pitch))
    climb = np.asarray(pitch) / (np.pi * d2) + 1.155 * np.asarray(thread_friction)
    twist = 1.5 * d2 / d0 * climb
    area = stress_area(diameter=diameter, pitch=pitch)
    return share * yield_strength * area / np.sqrt(1.0 + 3.0 * np.square(twist))


def seat_lever(*, mean_diameter: Array, cone_angle: Array) -> Array:
    """Diameter at which friction of a cone seat acts as if it were flat, m: D/sin(half angle).

    mean_diameter m of the contact ring, cone_angle rad between the flanks (60 deg: twice as much;
    a flat seat is 180 deg). Why a cone seat needs more torque for its clamp, and scatters more.
    Source: wedge; cone clutches in Shigley, ch. 16 (from memory).
    """
    lever: Array = mean_diameter / np.sin(0.5 * np.asarray(cone_angle))
    return lever


def seat_factor(*, seat: str) -> tuple[float, float]:
    """Nut factor K of a seat form, from and to, clean and dry.

    Errors: ValueError that lists the seats. Source: Shigley, ch. 8, 0.15 to 0.25 (from memory),
    with cones and balls towards the top; common practice.
    """
    found = _SEAT_FACTORS.get(seat)
    if found is None:
        raise ValueError(f"seat {seat!r}; known: {', '.join(_SEAT_FACTORS)}")
    return found


def least_engagement(*, diameter: Array, held_by: str) -> Array:
    """Least thread that holds a joint, m, by what holds it.

    diameter m; held_by: nut (a full nut of ISO 4032 is 0.8 to 0.9 diameters high), steel, iron or
    aluminium. Errors: ValueError that lists them. Source: common practice; nuts after ISO 4032.
    """
    share = _LEAST_ENGAGED.get(held_by)
    if share is None:
        raise ValueError(f"held by {held_by!r}; known: {', '.join(_LEAST_ENGAGED)}")
    return share * np.asarray(diameter)
