"""Clamp of wheel and suspension joints from the maker's torque, and what their bolts stand."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from drybuild.build.kinds.fastening import FASTENER_PLACES
from drybuild.build.thread_marking import parse_thread
from drybuild.findings import FormulaRefused, NotWorkedOut, Source
from drybuild.values import Array

from . import formulas_fasteners as fasten
from .results_room import room

ISO_898 = Source("ISO 898-1", "2009", "tables 3 to 6", how="read")
SHIGLEY_8 = Source("Shigley, Mechanical Engineering Design", clause="ch. 8", how="memory")

FRICTION_APART = 0.03
"""How far friction of one coating lies apart from joint to joint (VDI 2230 classes, memory)."""

JOINTS = tuple(place.root for place in FASTENER_PLACES)

# What is undone when its neighbour is changed.
HOSTS = {
    "caliper_bolts": "caliper",
    "damper_bolts": "damper",
    "arm_bolts": "arm",
    "ball_joint_nuts": "arm",
    "tie_rod_nuts": "arm",
    "stub_axle_bolts": "stub_shim",
}


@dataclass(frozen=True)
class Clamp:
    """Clamp of one fastener, N: as reckoned, and its least and most with the wrench's scatter.

    Each a float or (N,). proof: load that the bolt stands without lasting stretch, N.
    """

    least: Array
    middle: Array
    most: Array
    proof: Array


def clamp(
    *, thread: str, property_class: str, torque: Array, factor: Array | None,
    condition: str | None, seat: str | None,
) -> Clamp:  # fmt: skip
    """Clamp from the maker's torque; the seat's usual factor where nobody measured one.

    The scatter of 30 % is in it once: as the two ends where K is measured, and within K's own
    range where it is not.
    """
    size = parse_thread(thread)
    try:
        proof = fasten.proof_load(
            property_class=property_class, diameter=size.diameter, pitch=size.pitch
        )
        if factor is not None:
            middle = fasten.clamp_from_torque(
                torque=torque, diameter=size.diameter, nut_factor=factor
            )
            ends = (middle * (1 - fasten.CLAMP_SCATTER), middle * (1 + fasten.CLAMP_SCATTER))
        else:
            if condition not in (None, "dry"):
                raise FormulaRefused("the nut factor of this thread condition")
            low, high = fasten.seat_factor(seat="flat" if seat is None else seat)
            most, middle, least = (
                fasten.clamp_from_torque(torque=torque, diameter=size.diameter, nut_factor=k)
                for k in (low, 0.5 * (low + high), high)
            )
            ends = (least, most)
    except ValueError as error:
        raise NotWorkedOut(str(error)) from None
    return Clamp(ends[0], middle, ends[1], proof)


def engagement_wanted(*, thread: str, held_by: str) -> Array:
    """Least thread for what holds it, m."""
    return fasten.least_engagement(diameter=parse_thread(thread).diameter, held_by=held_by)


def on_flat(
    *, turn: Array | None, friction: Array | None, seat_diameter: Array | None, **given: Any
) -> Clamp:
    """As `clamp`, on a flat seat; by friction where its maker states it.

    A figure with an angle after it is not reckoned by torque. With friction known the bolt's
    limit is the lesser of its proof load and of yield under pull and twist together.
    """
    if turn is not None:
        raise NotWorkedOut("torque and angle: the maker's figure alone holds, clamp is not said")
    plain = clamp(**given, seat="flat")
    if friction is None or seat_diameter is None:
        return plain
    size = parse_thread(given["thread"])
    ends = (friction + FRICTION_APART, friction, np.maximum(friction - FRICTION_APART, 0.02))
    least, middle, most = (
        fasten.clamp_by_friction(
            torque=given["torque"], diameter=size.diameter, pitch=size.pitch,
            thread_friction=mu, seat_friction=mu, seat_diameter=seat_diameter,
        )
        for mu in ends
    )  # fmt: skip
    strength = fasten.class_strength(property_class=given["property_class"], diameter=size.diameter)
    limit = fasten.clamp_at_yield_share(
        share=1.0, yield_strength=strength[2], diameter=size.diameter, pitch=size.pitch,
        thread_friction=friction,
    )  # fmt: skip
    return Clamp(least, middle, most, np.minimum(plain.proof, limit))


def _joint(root: str, of: Any, more: dict[str, str]) -> None:
    at = f"{root}.{{corner}}"
    room.result(
        f"corners.clamp_of_{root}", of=of, per="corner", kind="object",
        needs={
            "thread": f"{at}.thread", "property_class": f"{at}.property_class",
            "torque": f"{at}.torque", "factor": f"?{at}.nut_factor",
            "condition": f"?{at}.thread_condition", **more,
        },
        formula="F = T/(K·d), ± 30 % or K by the seat, or by friction; proof = Sp·As",
        source=SHIGLEY_8,
    )  # fmt: skip


_joint("wheel_nuts", clamp, {"seat": "?wheel.{corner}.seat"})
for _root in JOINTS:
    _joint(_root, on_flat, {
        name: f"?{_root}.{{corner}}.{name}" for name in ("turn", "friction", "seat_diameter")
    })  # fmt: skip
