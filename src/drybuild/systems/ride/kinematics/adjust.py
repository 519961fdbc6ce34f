"""Adjusters: what a threaded link, an eccentric bolt or a plate does to the whole corner.

An adjuster never sets camber alone: it moves hardpoints, and toe, track, caster and the room
beside the tyre follow. Each function gives a new linkage; the drawn one stays as it was.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from drybuild.systems.ride.kinematics.linkage import LINKS, Floats, Linkage, Point, dot
from drybuild.systems.ride.kinematics.motion import Motion, column, motion_of_linkage
from drybuild.systems.ride.kinematics.solve import turn_matrix
from drybuild.systems.ride.kinematics.wheel import camber_of, contact_point, toe_of
from drybuild.values import Array

_TRIES = 20
_CLOSE = 1e-12


def link_lengthened(*, linkage: Linkage, rows: Sequence[int], by: Array) -> Linkage:
    """A threaded link or tie rod (one row) or a lengthened wishbone (its two rows).

    by: m along each row's link, + longer; a number or (N,). A wishbone whose outer joint is moved
    straight out on slots is better described by `upright_end_moved`. Source: definition.
    """
    _links_only(linkage, rows)
    change = np.zeros((LINKS, np.size(by)))
    change[list(rows)] = by
    return replace(linkage, size=linkage.size + change)


def body_end_moved(*, linkage: Linkage, rows: Sequence[int], by: Point) -> Linkage:
    """An eccentric bolt, slotted mount or strut-top plate: the body ends of some rows move.

    by: movement m, (3,) or (3, N): x forward, y outboard, z up. A strut's top has two rows.
    The links keep their lengths. Source: definition.
    """
    move = column(by)
    anchor = np.array(np.broadcast_to(linkage.anchor, (*linkage.anchor.shape[:2],
                      max(linkage.anchor.shape[2], move.shape[1]))))  # fmt: skip
    for row in rows:
        anchor[:, row] += move
    return replace(linkage, anchor=anchor)


def upright_end_moved(*, linkage: Linkage, rows: Sequence[int], by: Point) -> Linkage:
    """A plate or shim between the upright and a ball joint: the upright ends of some rows move.

    by: movement m in the upright as drawn, (3,) or (3, N). The links keep their lengths.
    Source: definition.
    """
    _links_only(linkage, rows)
    move = column(by)
    arm = np.array(np.broadcast_to(linkage.arm, (*linkage.arm.shape[:2],
                   max(linkage.arm.shape[2], move.shape[1]))))  # fmt: skip
    for row in rows:
        arm[:, row] += move
    return replace(linkage, arm=arm)


def strut_tilted(*, linkage: Linkage, by: Array, about: Point, row: int = 2) -> Linkage:
    """An eccentric bolt between strut and upright: the upright turns against its strut.

    by: angle rad by which the strut's axis turns in the upright about the car's x axis, a number
    or (N,); about: the bolt that stays, m, as drawn, (3,) or (3, N); row: first row of the strut.
    + leans the strut's top outboard in the upright, which tips the wheel's top in.
    Source: geometry.
    """
    if linkage.is_link[row] or linkage.is_link[row + 1]:
        raise ValueError("these rows are no strut")
    angle = np.atleast_1d(np.asarray(by, dtype=float))
    gibbs = np.stack([-np.tan(0.5 * angle), np.zeros_like(angle), np.zeros_like(angle)])
    turn = turn_matrix(gibbs=gibbs)
    bolt = column(about) - linkage.centre
    draws = max(linkage.draws, len(angle), bolt.shape[1])
    arm = np.array(np.broadcast_to(linkage.arm, (3, LINKS, draws)))
    size = np.array(np.broadcast_to(linkage.size, (LINKS, draws)))
    for half in (row, row + 1):
        drawn = arm[:, half].copy()
        turned = np.stack([dot(line, drawn) for line in turn])
        # a line turned about the bolt keeps its distance from the bolt
        size[half] += dot(turned - drawn, np.broadcast_to(bolt, drawn.shape))
        arm[:, half] = turned
    return replace(linkage, arm=arm, size=size)


def _links_only(linkage: Linkage, rows: Sequence[int]) -> None:
    if not all(linkage.is_link[row] for row in rows):
        raise ValueError("this adjuster works on links, not on a strut's slider")


@dataclass(frozen=True)
class Setting:
    """What an adjuster must be set to, and what else it does. Arrays of (N,)."""

    amount: Floats  # in the adjuster's own unit
    camber: Floats  # rad, reached
    toe_change: Floats  # rad, one wheel, + front in
    half_track_change: Floats  # m, + contact outboard
    wheel_centre_outboard: Floats  # m, + wheel centre outboard
    top_outboard: Floats  # m, how far the top of the wheel plane at `top_radius` went outboard


def setting_for_camber(
    *,
    adjusted: Callable[[Floats], Linkage],
    camber: Array,
    axis: Point,
    loaded_radius: Array,
    top_radius: Array,
    travel: Array = 0.0,
    scale: float = 1e-3,
) -> Setting:
    """Adjuster setting that gives a wanted camber, and its cost in toe, track and clearance.

    adjusted: gives the linkage at amounts (N,), in m or rad, with 0 as found; camber wanted, rad;
    axis (3,) or (3, N): wheel axis as drawn; loaded_radius m; top_radius m: radius at which the
    room towards the arch is asked for, such as the free radius; travel m at which it is set;
    scale: a small amount to begin with.
    Secant method per draw; a camber that is not reached gives NaN. Changes are against amount 0.
    Validity: as `solve_poses`. Source: geometry.
    """
    spindle = column(axis)

    def at(amount: Floats) -> tuple[Motion, Floats, Floats]:
        motion = motion_of_linkage(linkage=adjusted(amount), travel=travel)
        now = motion.turned(spindle)[:, 0, 0]
        found: Floats = camber_of(axis=now)
        return motion, now, found

    found = at(np.zeros(1))
    wanted = np.atleast_1d(np.asarray(camber, dtype=float))
    old, miss = np.zeros_like(wanted + found[2]), found[2] - wanted
    new = old + scale
    now = at(new)
    with np.errstate(all="ignore"):
        for _ in range(_TRIES):
            left = now[2] - wanted
            step = left * (new - old) / np.where(left == miss, np.nan, left - miss)
            step = np.where(np.abs(left) < _CLOSE, 0.0, step)
            old, miss = new, left
            new = new - step
            now = at(new)
            if not np.any(np.abs(now[2] - wanted) > _CLOSE):
                break
        reached = np.abs(now[2] - wanted) < 1e3 * _CLOSE
    new = np.where(reached, new, np.nan)

    def edge(state: tuple[Motion, Floats, Floats], radius: Array) -> Floats:
        return contact_point(centre=state[0].centre[:, 0, 0], axis=state[1], radius=radius)

    def cost(change: Floats) -> Floats:
        kept: Floats = np.where(reached, change, np.nan)
        return kept

    high = -np.asarray(top_radius)
    return Setting(
        amount=new,
        camber=cost(now[2]),
        toe_change=cost(toe_of(axis=now[1]) - toe_of(axis=found[1])),
        half_track_change=cost((edge(now, loaded_radius) - edge(found, loaded_radius))[1]),
        wheel_centre_outboard=cost((now[0].centre - found[0].centre)[1, 0, 0]),
        top_outboard=cost((edge(now, high) - edge(found, high))[1]),
    )
