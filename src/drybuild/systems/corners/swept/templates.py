"""Obstacles without a scan: points measured by hand, and profiles off a drawing.

They go into the same fold as a scan's points, so that one look-up answers for all of them.
"""

from __future__ import annotations

from itertools import pairwise
from typing import Any

import numpy as np
from numpy.typing import NDArray

from drybuild.systems.corners.formulas_clearance import side_position

Floats = NDArray[np.floating[Any]]


def hand_point(
    *, gap: float, height: float, extent: float, camber: float, towards: float, reach: float = 0.0
) -> Floats:
    """Where a gap measured by hand puts the obstacle: points (N, 3) in the corner's frame, m.

    gap: level distance from the tyre's side (m, − where the point stands over the tread); height
    over the hub centre (m); extent: the tyre's side from the hub face then (m); camber then (rad);
    towards: +1 outer side, −1 inner. reach: how far the obstacle goes on alike to the front and
    to the rear of the axle (m): nobody measured there, 0 keeps the one point.
    Source: geometry, as the move of hand measurements to another wheel.
    """
    side = side_position(extent=extent, height=height, camber=camber, towards=towards)
    count = 1 if reach == 0.0 else 2 * int(np.ceil(reach / 0.001)) + 1
    along = np.linspace(-reach, reach, count)
    across = towards * (float(side) + gap)
    return np.stack([along, np.full(count, across), np.full(count, height)], axis=1)


def arc_of_profile(
    *, profile: Floats, clock: float, half_angle: float, spacing: float = 0.001
) -> Floats:
    """Points on a caliper's outside, from its profile off a drawing (N, 3), m.

    profile (K, 2): corners of the line around it, axial position from the hub face, + outboard,
    and radius from the axle (m), not closed; clock: of its middle, rad from straight up towards
    the front; half_angle: what it covers each way (rad); spacing: between points (m). It turns
    with the upright: fold it in the one pose. Add the template's own gap before folding.
    Source: geometry.
    """
    line = np.asarray(profile, dtype=float)
    if line.ndim != 2 or line.shape[1] != 2 or len(line) < 2 or np.any(line[:, 1] <= 0.0):
        raise ValueError("a profile has two corners or more, each with a radius above 0")
    if not (spacing > 0.0 and 0.0 < half_angle <= np.pi):
        raise ValueError("spacing is above 0 and half_angle between 0 and half a turn")
    parts = []
    for start, end in pairwise(line):
        steps = max(1, int(np.ceil(np.linalg.norm(end - start) / spacing)))
        parts.append(start + (end - start) * (np.arange(steps) / steps)[:, None])
    a, r = np.concatenate([*parts, line[-1:]]).T
    steps = max(2, int(np.ceil(2.0 * half_angle * float(r.max()) / spacing)) + 1)
    turn = clock + np.linspace(-half_angle, half_angle, steps)
    shape = (steps, len(a))
    return np.stack(
        [
            np.sin(turn)[:, None] * r,
            np.broadcast_to(a, shape),
            np.cos(turn)[:, None] * r,
        ],
        axis=-1,
    ).reshape(-1, 3)
