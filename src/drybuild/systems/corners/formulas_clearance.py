"""Moves a clearance measured by hand to another wheel, tyre, camber and height. SI in, SI out.

The wheel with its tyre is a box of revolution about the axle: half widths in and out of the hub
face, and a radius. It is tilted by camber about the hub centre. Height is up from the hub centre,
lateral is outboard from it. Camber is positive with the top out. A point stands at ``height`` over
the hub centre in the pose in which it was measured, either on the upright (it moves with the hub)
or on the body (the hub rises past it in bump).
"""

from __future__ import annotations

import numpy as np

from drybuild.values import Array


def side_position(*, extent: Array, height: Array, camber: Array, towards: Array) -> Array:
    """Where a level line at ``height`` meets the tilted side of the tyre, towards the obstacle.

    extent: side of the box from the hub face (m); height over the hub centre (m); camber (rad);
    towards: +1 for the outer side, −1 for the inner. Returns m from the hub centre towards the
    obstacle. Exact for a flat side: extent/cos γ ± height·tan γ. Source: geometry.
    """
    return extent / np.cos(camber) + towards * height * np.tan(camber)


def top_position(*, radius: Array, extent: Array, camber: Array, towards: Array) -> Array:
    """Height of the tyre's shoulder on the obstacle's side over the hub centre.

    radius (m), extent (m), camber (rad), towards ±1. Returns m: r·cos γ ∓ extent·sin γ; more
    negative camber lifts the outer shoulder. Source: geometry.
    """
    return radius * np.cos(camber) - towards * extent * np.sin(camber)


def moved_side_gap(
    *,
    gap: Array,
    height: Array,
    extent_then: Array,
    camber_then: Array,
    extent: Array,
    camber: Array,
    rise: Array,
    outboard: Array,
    towards: Array,
) -> Array:
    """A gap beside the tyre, moved from the wheel and pose in which it was measured.

    gap: level distance from the tyre's side to the obstacle then (m, negative where the obstacle
    stands over the tread); height of the obstacle over the hub centre then (m); extent_then,
    extent: side of the tyre from the hub face then and now (m); cambers (rad); rise: the hub
    against the body since then, + up (m; 0 for a point on the upright); outboard: lateral
    movement of the hub against the obstacle since then, + out (m); towards: +1 outer side, −1
    inner side. Returns m; shapes broadcast. Good for camber within 8 degrees; tyre sides are
    taken as flat, which is on the careful side at the shoulder.
    Source: geometry.
    """
    then = side_position(extent=extent_then, height=height, camber=camber_then, towards=towards)
    now = side_position(extent=extent, height=height - rise, camber=camber, towards=towards)
    return gap + then - now - towards * outboard


def moved_over_gap(
    *,
    gap: Array,
    radius_then: Array,
    extent_then: Array,
    camber_then: Array,
    radius: Array,
    extent: Array,
    camber: Array,
    rise: Array,
    towards: Array,
) -> Array:
    """A gap over the tyre's shoulder, moved from the wheel and pose in which it was measured.

    gap: upright distance from shoulder to obstacle then (m); radius_then, radius: free radii (m),
    the new one grown; the rest as in moved_side_gap. Returns m; shapes broadcast.
    Source: geometry.
    """
    then = top_position(radius=radius_then, extent=extent_then, camber=camber_then, towards=towards)
    now = top_position(radius=radius, extent=extent, camber=camber, towards=towards)
    return gap + then - now - rise


def clear_of(*, side_gap: Array, over_gap: Array) -> Array:
    """Room between a tyre and a point that has a gap beside it and one over it: the larger.

    The point touches only where it is inside the tyre both ways. Both m; returns m. Where both
    are positive the true distance is larger. Source: geometry of a box and a point.
    """
    return np.maximum(side_gap, over_gap)
