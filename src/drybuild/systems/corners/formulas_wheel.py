"""Wheel formulas: where the wheel stands, how it is held, what it clears. SI in, SI out.

Axial distances are counted from the hub face, outboard positive. Offset (ET) is the distance from
the wheel's mounting face to its rim centre line, positive when the face lies outboard of it.
"""

from __future__ import annotations

import math
from typing import Final

import numpy as np

from drybuild.values import Array

from .formulas import MM, SPECIFIED_RIM_DIAMETER_MM

# Common practice for J flanges: together one inch over the bead seats.
FLANGE_ALLOWANCE: Final = 25.4 * MM
J_FLANGE_HEIGHT: Final = 17.3 * MM

# Least turns of wheel nuts, installation table of a wheel hardware maker; by (diameter, pitch).
_LEAST_TURNS: Final = {
    (12.0, 1.5): 6.5,
    (12.0, 1.25): 8.0,
    (14.0, 1.5): 7.5,
    (14.0, 1.25): 9.0,
    (12.7, 1.27): 8.0,
}


def least_turns(*, diameter: float, pitch: float) -> float:
    """Least turns of engagement of a wheel nut or bolt; one diameter's worth if not tabulated.

    diameter, pitch: of the thread (m). Returns turns.
    Source: installation table of a wheel hardware maker; one diameter as rule elsewhere.
    """
    key = (round(diameter / MM, 2), round(pitch / MM, 3))
    return _LEAST_TURNS.get(key, diameter / pitch)


def thread_engagement(
    *, shank: Array, taken_up: Array, thread_length: Array, thread_starts: Array = 0.0
) -> Array:
    """Length of thread that holds: what stands beyond the seat, but no more than there is.

    shank: stud from hub face to tip, or bolt from its seat to tip (m); taken_up: seat depth of
    the wheel plus spacers between hub face and seat (m); thread_length: thread in the nut, or in
    the hub for a bolt (m); thread_starts: unthreaded lead of the nut or hub (m). Returns m, at
    least 0; shapes broadcast. Source: geometry.
    """
    return np.clip(shank - taken_up - thread_starts, 0.0, thread_length)


def turns(*, engagement: Array, pitch: float) -> Array:
    """Turns of thread in a length of engagement (m) at a pitch (m)."""
    return engagement / pitch


def wheel_overall_width(*, rim_width: Array, flanges: Array = FLANGE_ALLOWANCE) -> Array:
    """Width over both flanges from the nominal width between bead seats, both m. Returns m.

    Source: ISO 4000-2, J flanges of about 13 mm each (from memory).
    """
    return rim_width + flanges


def backspace(*, overall_width: Array, offset: Array) -> Array:
    """From the inner flange lip to the mounting face, measured with a straightedge. m in, m out.

    Source: geometry.
    """
    return overall_width / 2.0 + offset


def outer_extent(*, width: Array, offset: Array, spacer: Array) -> Array:
    """How far a tyre or wheel of ``width`` stands outboard of the hub face. m in, m out.

    Source: geometry; offset as in ISO 4000-2.
    """
    return width / 2.0 - offset + spacer


def inner_extent(*, width: Array, offset: Array, spacer: Array) -> Array:
    """How far a tyre or wheel of ``width`` stands inboard of the hub face. m in, m out.

    Source: geometry; offset as in ISO 4000-2.
    """
    return width / 2.0 + offset - spacer


def track_change(
    *, offset_before: Array, offset: Array, spacer_before: Array, spacer: Array
) -> Array:
    """Outboard movement of one wheel's centre line: less offset and more spacer widen. m.

    The axle's track changes by the sum of both sides. Camber, which moves the contact patch
    against the wheel centre, is not in it. Source: definition of offset, ISO 4000-2.
    """
    return (offset_before - offset) + (spacer - spacer_before)


def scrub_change(*, outboard: Array, radius_growth: Array, kpi: Array) -> Array:
    """Change of scrub radius: outboard movement less larger radius times tan of KPI.

    outboard (m), radius_growth: loaded radius after less before (m), kpi (rad, leaning in at the
    top positive). Returns m, positive when the contact patch moves out of the steering axis.
    Source: geometry of the steering axis.
    """
    return outboard - radius_growth * np.tan(kpi)


def bolt_circle(*, count: int, spacing: Array) -> Array:
    """Bolt circle diameter from the distance of neighbouring stud centres: s/sin(π/n).

    count: studs, 3 to 10; spacing (m). Returns m. Source: geometry of the regular polygon.
    """
    return spacing / math.sin(math.pi / count)


def rim_outer_diameter(*, rim_code: int, flange_height: float = J_FLANGE_HEIGHT) -> float:
    """Diameter over the flanges of a 5 degree drop-centre rim. Returns m.

    rim_code: 13 to 22. Source: ISO 4000-2, specified rim diameter and J flange (from memory).
    """
    return SPECIFIED_RIM_DIAMETER_MM[rim_code] * MM + 2.0 * flange_height
