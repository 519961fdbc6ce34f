"""Corner weights: the diagonals' share, what a perch does to all four, and how far to turn each.

The car stands on four flat, level plates. The body is stiff and moves up, rolls and pitches; the
frame's own twist is left out. Arrays of four go front left, front right, rear left, rear right,
with the draws behind: (4,) or (4, N).
"""

from __future__ import annotations

from typing import Any

import numpy as np

from drybuild.values import Array


def cross_share(*, fl: Array, fr: Array, rl: Array, rr: Array) -> Array:
    """Share of the weight on front left and rear right, 0..1. Same unit for all four.

    One half on a car that stands even and weighs as much left as right.
    Source: definition (cross weight).
    """
    return (fl + rr) / (fl + fr + rl + rr)


def _modes(front_track: Array, rear_track: Array, wheelbase: Array) -> Any:
    """Rise of the body at each wheel for a unit of heave, roll and pitch: (..., 4, 3)."""
    f, r, length = np.broadcast_arrays(
        *(np.asarray(v, dtype=np.float64) for v in (front_track, rear_track, wheelbase))
    )
    one, no = np.ones_like(f), np.zeros_like(f)
    rows = (
        (one, f / 2, no), (one, -f / 2, no), (one, r / 2, -length), (one, -r / 2, -length),
    )  # fmt: skip
    return np.stack([np.stack(row, axis=-1) for row in rows], axis=-2)


def _bars(front: Array, rear: Array) -> Any:
    """What the bars add between left and right: (..., 4, 4)."""
    f, r = np.broadcast_arrays(np.asarray(front, np.float64), np.asarray(rear, np.float64))
    found = np.zeros((*f.shape, 4, 4))
    for at, k in ((0, f), (2, r)):
        found[..., at, at] = found[..., at + 1, at + 1] = k
        found[..., at, at + 1] = found[..., at + 1, at] = -k
    return found


def _last(four: Any) -> Any:
    """(4,) or (4, N) with the four at the end, a float for each."""
    return np.moveaxis(np.asarray(four, dtype=np.float64), 0, -1)


def load_change(
    *,
    lift: Array,
    wheel_rates: Array,
    tyre_rates: Array,
    front_track: Array,
    rear_track: Array,
    wheelbase: Array,
    front_bar: Array = 0.0,
    rear_bar: Array = 0.0,
) -> Array:
    """Change of the load on each wheel when perches are raised, N: (4,) or (4, N).

    lift m at the wheel (perch over motion ratio), wheel_rates, tyre_rates N/m of each wheel, all
    (4,) or (4, N); track widths and wheelbase m; front_bar, rear_bar N/m at the wheel with the
    other end held, 0 with the links off. The four changes add to nothing, and so do their moments.
    Linear: small moves. Source: statics of a stiff body on springs.
    """
    springs, tyres, h = _last(wheel_rates), _last(tyre_rates), _last(lift)
    modes = _modes(front_track, rear_track, wheelbase)
    at_bars = _bars(front_bar, rear_bar)
    both = np.eye(4) * springs[..., None, :] + at_bars
    # (1 + K/Kt)·ΔN = Ks·h − K·B·q and B'·ΔN = 0: seven equations for four loads and three moves
    size = np.broadcast_shapes(h.shape[:-1], both.shape[:-2], modes.shape[:-2], tyres.shape[:-1])
    whole = np.zeros((*size, 7, 7))
    whole[..., :4, :4] = np.eye(4) + both / tyres[..., None, :]
    whole[..., :4, 4:] = both @ modes
    whole[..., 4:, :4] = np.swapaxes(modes, -1, -2)
    right = np.zeros((*size, 7, 1))
    right[..., :4, 0] = springs * h
    found: Array = np.moveaxis(np.linalg.solve(whole, right)[..., :4, 0], -1, 0)
    return found


def warp_load(
    *,
    loads: Array,
    cross_wanted: Array,
    front_track: Array,
    rear_track: Array,
) -> Array:
    """Change of load on each wheel that reaches a wanted cross share, N: (4,) or (4, N).

    loads N (4,) or (4, N) as weighed; cross_wanted 0..1; track widths m. Nothing but the warp
    can change on one pair of axles: front left and rear right gain what the others lose, the rear
    by the ratio of the track widths. Perches move neither front-to-rear nor side-to-side shares.
    Source: statics.
    """
    weights = np.asarray(loads, dtype=np.float64)
    total = weights.sum(axis=0)
    short = cross_wanted * total - (weights[0] + weights[3])
    ratio = np.asarray(front_track) / rear_track
    d = short / (1.0 + ratio)
    return np.stack([d, -d, -d * ratio, d * ratio])


def perch_lift(
    *,
    load_wanted: Array,
    body_rise: Array,
    wheel_rates: Array,
    tyre_rates: Array,
    front_bar: Array = 0.0,
    rear_bar: Array = 0.0,
) -> Array:
    """Lift at each wheel that changes the loads and moves the body as wanted, m: (4,) or (4, N).

    load_wanted N: change on each wheel (see `warp_load`); body_rise m: wanted rise of the body
    over each wheel, 0 to keep the ride height, lying on one plane; rates as in `load_change`.
    Times the motion ratio it is how far the perch goes up. The inverse of `load_change`.
    Source: statics: h = ΔN/Ks + K/Ks·(rise + ΔN/Kt).
    """
    springs, tyres = _last(wheel_rates), _last(tyre_rates)
    change, rise = _last(load_wanted), _last(body_rise)
    drawn = rise + change / tyres
    from_bars = (_bars(front_bar, rear_bar) @ drawn[..., None])[..., 0]
    lift: Array = np.moveaxis((change + springs * drawn + from_bars) / springs, -1, 0)
    return lift


def cg_height_per_mass(*, mass: Array, wheelbase: Array, lift: Array) -> Array:
    """How far a kilogram of error on the scales moves the centre of gravity found, m/kg.

    Weighing with one axle lifted: mass kg of the car, wheelbase m, lift m. Source: derivative of
    `masses.cg_height_by_lifting`: L/(W·tan θ), sin θ = H/L.
    """
    angle = np.arcsin(np.asarray(lift) / wheelbase)
    error: Array = wheelbase / (mass * np.tan(angle))
    return error
