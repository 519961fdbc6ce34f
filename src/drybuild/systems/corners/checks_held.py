"""Figures that the corners' checks are about, and limits that they are held to.

Each is asked for twice: by the check, and by whoever shows what the check was between.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from drybuild.build.thread_marking import Thread
from drybuild.findings import FormulaRefused

from . import formulas as tyre
from . import formulas_wheel as wheel
from .results_holding import PermittedRims

GRAVITY = 9.80665
NORMAL_SHARE = 0.94
"""Share of a tyre's load at its pressure that the standing load may take (49 CFR 571.110)."""

SPIGOT_LEFT = 3.0e-3
"""Least length of spigot that must stand out of a plain spacer to centre the wheel."""


def as_marked(rim_width: Any) -> Any:
    """Rim width to the nearest half inch: the marking, whatever the rim measures."""
    return np.rint(np.asanyarray(rim_width) / tyre.INCH * 2.0) / 2.0 * tyre.INCH


def narrowest(rims: PermittedRims) -> Any:
    """Rim that the tyre may have, m."""
    return rims.least


def widest(rims: PermittedRims) -> Any:
    """Rim that the tyre may have, m."""
    return rims.greatest


def half_of_axle(axle_limit: Any) -> Any:
    """Of the permitted axle load, kg."""
    return axle_limit / 2.0


def carried_standing(capacity: Any) -> Any:
    """What the tyre may carry standing, at its pressure, kg."""
    return NORMAL_SHARE * capacity


def standing(load: Any) -> Any:
    """Mass on the wheel, kg."""
    return load / GRAVITY


def play_centred(
    bore: Any, spigot: Any, spacer: Any, spacer_spigot: Any, spigot_length: Any,
    ring: bool | None, ring_inner: Any, ring_outer: Any,
) -> Any:  # fmt: skip
    """Play of the wheel on what centres it, spigot, spacer's spigot or ring, m."""
    carried: Any = spigot
    play: Any = 0.0
    if np.any(np.asarray(spacer) > 0.0):
        if spacer_spigot is not None:
            carried = spacer_spigot
        elif spigot_length is None:
            raise FormulaRefused("how far the hub's spigot stands out, behind the spacer")
        else:
            covered = np.asarray(spigot_length) - spacer < SPIGOT_LEFT
            carried = np.where(covered, 0.0, spigot)
    if ring:
        if ring_inner is None or ring_outer is None:
            raise FormulaRefused("both diameters of the centring ring")
        play = np.abs(ring_inner - carried)
        carried = ring_outer
    return np.abs(bore - carried) + play


def circles_apart(wheel_circle: Any, hub_circle: Any) -> Any:
    """Difference of the two bolt circles, m."""
    return np.abs(wheel_circle - hub_circle)


def one_thread(thread: Thread) -> Any:
    """Diameter of the thread, m."""
    return thread.diameter


def turns_on(engagement: Any, thread: Thread) -> Any:
    """Turns of thread that hold."""
    return wheel.turns(engagement=engagement, pitch=thread.pitch)


def turns_least(thread: Thread) -> Any:
    """Of the table for this thread."""
    return wheel.least_turns(diameter=thread.diameter, pitch=thread.pitch)


def stud_in_nut(stud_length: Any, seat_depth: Any, spacer: Any) -> Any:
    """How far the stud reaches into a closed nut, m."""
    return stud_length - seat_depth - spacer


def rolling_apart(front_left: Any, front_right: Any, rear_left: Any, rear_right: Any) -> Any:
    """Share of the rear's rolling radius by which the front's differs."""
    front, rear = front_left + front_right, rear_left + rear_right
    return np.abs(front - rear) / rear


def scrub_moved(
    axle_shift_left: Any, axle_shift_right: Any, radius: Any, radius_then: Any, kpi: Any
) -> Any:
    """Shift of scrub radius, the worse side of the front axle, m."""
    change = [
        wheel.scrub_change(outboard=shift, radius_growth=radius - radius_then, kpi=kpi)
        for shift in (axle_shift_left, axle_shift_right)
    ]
    return np.maximum(np.abs(change[0]), np.abs(change[1]))
