"""What shafts, joints, bearings and the stock engine are asked for. SI units; broadcasting."""

from __future__ import annotations

import numpy as np

from drybuild.values import Array


def mean_piston_speed(*, stroke: Array, rotation_speed: Array) -> Array:
    """Mean piston speed, m/s: two strokes a turn. stroke: m; rotation_speed: rad/s.

    Source: definition; Gupta, Fundamentals of Internal Combustion Engines, ch. 16.
    """
    return stroke * rotation_speed / np.pi


def driven_axle_load(
    *,
    static_load: Array,
    weight: Array,
    cg_height: Array,
    wheelbase: Array,
    grip: Array,
    end: int,
) -> Array:
    """Load of the driven axle when it accelerates the car at the limit of its grip, N.

    static_load: of that axle, N. weight: of the car, N. cg_height, wheelbase: m. grip: tyre on
    road, 1. end: +1 when the rear axle alone drives (load comes to it), -1 the front alone
    (load leaves it), 0 when all wheels drive (give the load of one axle: it is returned).
    Source: moment balance; Gillespie, Fundamentals of Vehicle Dynamics, ch. 2 (from memory).
    """
    if end == 0:
        return static_load + 0 * np.asarray(weight)
    return static_load / (1 - end * grip * cg_height / wheelbase)


def shaft_torque(
    *,
    engine_torque: Array,
    first_gear: Array,
    final_ratio: Array,
    shaft_share: Array,
    grip_torque: Array,
) -> Array:
    """Torque in one driven shaft in first gear, N·m: what the engine gives or the tyres hold.

    engine_torque: N·m. first_gear, final_ratio: 1. shaft_share: of the axle's torque in this
    shaft, 0.5 with an open differential. grip_torque: of one wheel at the limit of grip, N·m.
    A shock (dropped clutch, a wheel that lands spinning) is not in it. Losses are left out.
    Source: torque balance; Gillespie, Fundamentals of Vehicle Dynamics, ch. 2 (from memory).
    """
    return np.minimum(engine_torque * first_gear * final_ratio * shaft_share, grip_torque)


def bias_share(*, torque_bias: Array) -> Array:
    """Share of the axle's torque in the harder loaded shaft, 0.5 to 1.

    torque_bias: torque of the slower shaft over that of the faster, at least 1 (open: 1).
    Source: definition of the torque bias ratio of a differential.
    """
    return torque_bias / (1 + torque_bias)


def bearing_moment(
    *, load: Array, moved_out: Array, side_force_ratio: Array, rolling_radius: Array
) -> Array:
    """Tilting moment on a wheel bearing, N·m: W (e + μ r).

    load: of the wheel, N. moved_out: of the tyre's middle, away from the bearing's middle, m.
    side_force_ratio: side force over load, 1 (0.3 for everyday bends). rolling_radius: m.
    The worse of the two directions of side force is taken.
    Source: moment balance about the middle of the bearing.
    """
    return load * (np.abs(moved_out) + side_force_ratio * rolling_radius)


def least_clamp(*, most_clamp: Array, tightening_factor: Array) -> Array:
    """Least clamp of a bolt tightened like one that reached most_clamp, N.

    most_clamp: N. tightening_factor: greatest over least clamp of the method, at least 1: about
    1.4 to 1.6 with a good torque wrench and known friction, 1.6 to 2 else. It is never used to
    find a tightening figure: that is the maker's.
    Source: VDI 2230 part 1, tightening factor alpha A; worked tables of 2021.
    """
    return most_clamp / tightening_factor


def clamp_scatter(*, tightening_factor: Array) -> Array:
    """Scatter about the mean clamp, ± as a share: (α - 1)/(α + 1).

    Source: VDI 2230 part 1: the factor is greatest over least clamp.
    """
    return (tightening_factor - 1) / (tightening_factor + 1)


def flange_capacity(
    *, bolts: Array, least_clamp: Array, friction: Array, circle_radius: Array
) -> Array:
    """Torque that a bolted flange carries by friction before it slips, N·m.

    bolts: 1. least_clamp: of each, N. friction: of the joint's faces, 1. circle_radius: m.
    Source: Coulomb friction in the joint; VDI 2230 part 1 (from memory).
    """
    return bolts * least_clamp * friction * circle_radius
