"""Springs that are not one straight line: progressive, main with helper, bump rubber.

Squeeze is how far a spring is shorter than free, m; force N. Curves are tables of force against
squeeze with ``x`` (K,) and ``y`` (K,) or (K, N), rising from nothing.
"""

from __future__ import annotations

from typing import Any, Protocol

import numpy as np

from drybuild.systems.ride import linkage
from drybuild.values import Array

_HALVINGS = 60


class ForceCurve(Protocol):
    """A drawn curve of force (N) against squeeze (m) or shaft speed (m/s)."""

    x: Any
    y: Any

    def at(self, xq: Any) -> Any:
        """Force at a squeeze or speed, nan outside the points."""
        ...


def _columns(curve: ForceCurve) -> tuple[Any, Any]:
    """Points of a curve as (K, 1) and (K, N); force must rise with squeeze."""
    x = np.asarray(curve.x, dtype=np.float64)[:, None]
    y = np.asarray(curve.y, dtype=np.float64)
    y = y[:, None] if y.ndim == 1 else y
    if x.shape[0] < 2 or np.any(np.diff(y, axis=0) <= 0.0):
        raise ValueError("a force curve rises from point to point")
    return x, y


def _segment(curve: ForceCurve, force: Array) -> tuple[Any, Any, Any, Any, Any]:
    """Force, and the ends (x0, y0, slope, inside) of the segment that it lies in."""
    x, y = _columns(curve)
    wanted = np.asarray(force, dtype=np.float64)
    y, wanted = np.broadcast_arrays(y, wanted[None] if wanted.ndim else wanted[None, None])
    wanted = wanted[0]
    # Each draw has its own column of forces, so the segment is counted and not searched.
    left = np.clip(np.sum(y <= wanted, axis=0) - 1, 0, y.shape[0] - 2)[None]
    low, high = (np.take_along_axis(y, left + k, axis=0)[0] for k in (0, 1))
    start, end = x[left[0], 0], x[left[0] + 1, 0]
    inside = (wanted >= y[0]) & (wanted <= y[-1])
    return wanted, start, low, (high - low) / (end - start), inside


def squeeze_on_curve(*, curve: ForceCurve, force: Array) -> Array:
    """Squeeze of a progressive spring under a force, m: its measured curve read backwards.

    curve: force against squeeze; force N, a float or (N,). Straight between the points, NaN
    beyond them. Errors: ValueError when the force does not rise from point to point.
    Source: definition; the curve is the maker's or measured on a press.
    """
    wanted, start, low, slope, inside = _segment(curve, force)
    return _plain(np.where(inside, start + (wanted - low) / slope, np.nan), force, curve)


def rate_on_curve(*, curve: ForceCurve, force: Array) -> Array:
    """Rate of a progressive spring where it carries a force, N/m: slope of its curve there.

    Same arguments and errors as `squeeze_on_curve`. Source: definition.
    """
    _, _, _, slope, inside = _segment(curve, force)
    return _plain(np.where(inside, slope, np.nan), force, curve)


def _plain(found: Any, force: Array, curve: ForceCurve) -> Array:
    """A float where all that went in was one."""
    one = np.ndim(force) == 0 and np.ndim(curve.y) == 1
    return float(found.reshape(-1)[0]) if one else found


def helper_squeeze(*, force: Array, helper_rate: Array, helper_travel: Array) -> Array:
    """Squeeze of a helper or tender spring under a force, m; no more than until it is solid.

    force N, helper_rate N/m, helper_travel m from free to solid.
    Source: Hooke, with the solid length as its end.
    """
    squeeze: Array = np.minimum(np.asarray(force) / helper_rate, helper_travel)
    return squeeze


def helper_solid_force(*, helper_rate: Array, helper_travel: Array) -> Array:
    """Force at which a helper goes solid, N: below it both springs give, above it one.

    helper_rate N/m, helper_travel m from free to solid. Source: Hooke.
    """
    return helper_rate * helper_travel


def stack_squeeze(
    *, force: Array, main_squeeze: Array, helper_rate: Array, helper_travel: Array
) -> Array:
    """Squeeze of a main spring and a helper in one stack, m.

    Both carry the same force, N, so that their squeezes add; main_squeeze m is that of the main
    spring under it. Source: springs in series.
    """
    return main_squeeze + helper_squeeze(
        force=force, helper_rate=helper_rate, helper_travel=helper_travel
    )


def stack_rate(
    *, force: Array, main_rate: Array, helper_rate: Array, helper_travel: Array
) -> Array:
    """Rate of a main spring and a helper in one stack where they carry a force, N/m.

    In series until the helper is solid, then that of the main spring. Rates N/m, main_rate at
    that force; helper_travel m from free to solid. Source: springs in series; dual-rate practice.
    """
    both = linkage.series_rate(first=main_rate, second=helper_rate)
    solid = helper_solid_force(helper_rate=helper_rate, helper_travel=helper_travel)
    found: Array = np.where(np.asarray(force) < solid, both, main_rate)[()]
    return found


def linear_stack_force(
    *, squeeze: Array, main_rate: Array, helper_rate: Array, helper_travel: Array
) -> Array:
    """Force of a straight main spring with a helper at a squeeze of the stack, N.

    squeeze m of both together, rates N/m, helper_travel m from free to solid; nothing below no
    squeeze. Two straight lines that meet where the helper goes solid.
    Source: springs in series.
    """
    s = np.maximum(squeeze, 0.0)
    both = linkage.series_rate(first=main_rate, second=helper_rate)
    # Series below, main alone with the helper's travel taken off above: the lesser squeeze counts.
    force: Array = np.maximum(
        np.minimum(both * s, helper_solid_force(
            helper_rate=helper_rate, helper_travel=helper_travel)),
        main_rate * (s - helper_travel),
    )  # fmt: skip
    return force


def rest_on_stack(
    *,
    squeeze_under: Any,
    squeeze_at_zero: Array,
    sprung_weight: Array,
    motion_ratio: Array,
    slope: Array = 0.0,
    reach: float = 0.3,
) -> Array:
    """Wheel travel at which a spring of any curve carries the corner, m; + sits lower.

    squeeze_under: function from force N to squeeze m, rising. squeeze_at_zero m that the stack has
    at zero travel, sprung_weight N, motion_ratio at zero travel, slope 1/m. Halved 60 times within
    ±reach m; NaN where the rest position is not in there or the curve ends before it.
    Bump stop and bushes carry nothing. Source: virtual work and statics.
    """

    def miss(travel: Any) -> Any:
        ratio = linkage.motion_ratio_at(motion_ratio=motion_ratio, slope=slope, travel=travel)
        have = squeeze_at_zero + linkage.spring_squeeze(
            motion_ratio=motion_ratio, slope=slope, travel=travel
        )
        return np.asarray(have - squeeze_under(force=sprung_weight / ratio))

    with np.errstate(all="ignore"):
        shape = np.shape(miss(0.0))
        low, high = np.full(shape, -reach), np.full(shape, reach)
        # The far ends may lie off the curve; they count by their side of it.
        for _ in range(_HALVINGS):
            middle = 0.5 * (low + high)
            gap = miss(middle)
            below = np.where(np.isnan(gap), middle < 0.0, gap < 0.0)
            low, high = np.where(below, middle, low), np.where(below, high, middle)
        rest = 0.5 * (low + high)
        found: Array = np.where(np.abs(miss(rest)) < 1e-6, rest, np.nan)[()]
    return found


def preload(*, force_rate: Array, free_length: Array, held_length: Array) -> Array:
    """Force of a spring held between its seats at full droop, N; 0 where it is loose.

    force_rate N/m at that squeeze (of the stack, while a helper is not solid), lengths m of the
    whole stack. Preload does not stiffen a spring: it only sets where it begins to move.
    Source: Hooke.
    """
    force: Array = force_rate * np.maximum(np.asarray(free_length) - held_length, 0.0)
    return force


def rubber_force(*, curve: ForceCurve, squeeze: Array) -> Array:
    """Force of a bump rubber, N: nothing before it touches, its measured curve after that.

    squeeze m, − before the touch. NaN beyond the last point: a rubber that is nearly solid is
    not guessed at. Shapes as the curve's ``at``. Source: definition.
    """
    s = np.asarray(squeeze, dtype=np.float64)
    with np.errstate(invalid="ignore"):
        force: Array = np.where(s <= 0.0, 0.0, curve.at(np.maximum(s, 0.0)))[()]
    return force


def force_at_wheel(
    *, spring_force: Array, motion_ratio: Array, rubber: Array = 0.0, rubber_ratio: Array = 1.0
) -> Array:
    """Force of spring and bump rubber felt at the wheel, N.

    spring_force, rubber N along their axes; motion_ratio and rubber_ratio are their travel over
    wheel travel at that position (the rubber's is the damper's). Source: virtual work.
    """
    return spring_force * motion_ratio + rubber * rubber_ratio


def perch_for_height(*, rise: Array, motion_ratio: Array) -> Array:
    """How far a spring perch is raised for a wanted rise of the body over that wheel, m.

    rise m of the body at the wheel, the load on it unchanged; motion_ratio spring over wheel
    travel. All four at once: one alone also moves the load (see `corner_weights`).
    Source: definition of motion ratio.
    """
    return rise * motion_ratio
