"""Points that move with the corner but do not hold it: spring feet, damper eyes, bar links, joints.

A carrier says what a point rides on: the upright, a wishbone (two rows of the linkage that share
their outer joint) or a single link. Its place on the carrier is taken once, as drawn, and holds
however the body ends are moved by an adjuster.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np

from drybuild.systems.ride.kinematics.linkage import Floats, Linkage, Point, cross, dot, unit
from drybuild.systems.ride.kinematics.motion import Motion, column, rack_shift
from drybuild.systems.ride.kinematics.wheel import angle_between
from drybuild.values import Array


@dataclass(frozen=True)
class Carrier:
    """What a point rides on, and where on it."""

    on: Literal["upright", "wishbone", "link"]
    place: Floats  # (3, N): upright: from the wheel centre; else in the carrier's own axes
    rows: tuple[int, ...] = ()


def carrier(*, linkage: Linkage, point: Point, rows: tuple[int, ...] = ()) -> Carrier:
    """A point fixed to a part of the corner.

    point: m, (3,) or (3, N), as drawn. rows: none for the upright, two rows of the linkage for a
    wishbone (its two body joints), one for a link. A link does not spin about itself here.
    """
    where = column(point)
    if not rows:
        return Carrier("upright", where - linkage.centre)
    origin = linkage.anchor[:, rows[0]]
    outer = linkage.centre + linkage.arm[:, rows[0]]
    if len(rows) == 2:
        if not all(linkage.is_link[row] for row in rows):
            raise ValueError("a wishbone is made of two links")
        frame = _frame(linkage.anchor[:, rows[1]] - origin, outer - origin)
        offset = where - origin
        return Carrier("wishbone", np.stack([dot(offset, axis) for axis in frame]), rows)
    if len(rows) != 1 or not linkage.is_link[rows[0]]:
        raise ValueError("a point rides on the upright, on one link or on a wishbone of two")
    return Carrier("link", where - origin, rows)


def _frame(along: Floats, reach: Floats) -> tuple[Floats, Floats, Floats]:
    """Axes of a wishbone: along its hinge line, towards its outer joint, square to both."""
    along = unit(along)
    out = unit(reach - along * dot(along, reach))
    return along, out, cross(along, out)


def carried_point(*, linkage: Linkage, motion: Motion, carried: Carrier) -> tuple[Floats, Floats]:
    """Where a carried point is and its velocity per wheel travel, (3, K, S, N) each.

    Errors: NaN where the pose is unsolved. Source: geometry of a hinge; velocity analysis.
    """
    if carried.on == "upright":
        point = motion.at(carried.place)
        return point, motion.speed_of(point)
    row = carried.rows[0]
    shift = rack_shift(linkage=linkage, steer=motion.steer)
    origin = linkage.anchor[:, row, None, None] + shift[:, row, None, :, None]
    outer = motion.at(linkage.arm[:, row])
    speed = motion.speed_of(outer)
    place = carried.place[:, None, None]
    if carried.on == "wishbone":
        other = linkage.anchor[:, carried.rows[1], None, None]
        along, out, square = _frame(other - origin, outer - origin)
        point = origin + along * place[0] + out * place[1] + square * place[2]
        # the wishbone's turn about its hinge, from its outer joint
        reach = cross(along, outer - origin)
        spin = along * (dot(speed, reach) / dot(reach, reach))
        return point, cross(spin, point - origin)
    drawn = unit(linkage.centre + linkage.arm[:, row] - linkage.anchor[:, row])[:, None, None]
    now = outer - origin
    length = np.sqrt(dot(now, now))
    now = now / length
    # the shortest turn from the drawn direction of the link to the present one
    twist = cross(drawn, now)
    first = cross(twist, place)
    point = origin + place + first + cross(twist, first) / (1.0 + dot(drawn, now))
    swing = cross(now, speed / length)
    # spin about the link itself that the shortest turn brings with it
    about = drawn + now
    spin = swing - now * (dot(swing, about) / dot(now, about))
    return point, cross(spin, point - origin)


def length_and_ratio(*, body_end: Point, point: Floats, velocity: Floats) -> tuple[Floats, Floats]:
    """Length of a spring or damper, m, and its motion ratio: shortening per wheel travel.

    body_end: its end on the body, m, (3,) or (3, N); point, velocity: its moving end from
    `carried_point`. Source: definition of the motion ratio.
    """
    between = point - column(body_end)[:, None, None]
    length = np.sqrt(dot(between, between))
    return length, -dot(between, velocity) / length


def bar_turn_and_ratio(
    *,
    bar_point: Point,
    bar_direction: Point,
    bar_end: Point,
    link_drawn: Point,
    point: Floats,
    velocity: Floats,
) -> tuple[Floats, Floats]:
    """Turn of an anti-roll bar's arm, rad from drawn, and travel of its end per wheel travel.

    bar_point, bar_direction: a point of the bar's axis and its direction; bar_end: end of its arm;
    link_drawn: the link's other joint, all as drawn, m; point, velocity: where that joint goes.
    The ratio is + where the end moves the way in which it moves in bump as drawn.
    Errors: NaN where the link does not reach. Source: circle and sphere; virtual work.
    """
    axis_point, end, joint = (column(p)[:, None, None] for p in (bar_point, bar_end, link_drawn))
    along = unit(column(bar_direction)[:, None, None])
    offset = end - axis_point
    hub = axis_point + along * dot(along, offset)
    arm = end - hub
    square = cross(along, arm)
    link = joint - end
    with np.errstate(all="ignore"):
        reach = point - hub
        # |reach − arm·cos − square·sin|² = link²
        a, b = dot(reach, arm), dot(reach, square)
        c = 0.5 * (dot(reach, reach) + dot(arm, arm) - dot(link, link))
        spread = np.arccos(c / np.hypot(a, b))
        drawn = joint - hub
        drawn_angle = np.arctan2(dot(drawn, square), dot(drawn, arm))
        angle = np.arctan2(b, a) - np.sign(drawn_angle) * spread
        now = hub + arm * np.cos(angle) + square * np.sin(angle)
        tangent = square * np.cos(angle) - arm * np.sin(angle)
        rod = point - now
        rate = dot(rod, velocity) / dot(rod, tangent)
    ratio = rate * np.sqrt(dot(arm, arm))
    solved = np.isfinite(ratio)
    if not np.any(solved):
        return angle, ratio
    # the way it goes at the pose nearest to drawn counts as +
    nearest = np.unravel_index(int(np.argmin(np.where(solved, np.abs(angle), np.inf))), angle.shape)
    return angle, ratio * np.sign(ratio[nearest])


def driveshaft(
    *, inner_joint: Point, outer: Floats, axis: Floats, drawn_length: Array
) -> tuple[Floats, Floats, Floats]:
    """Angles at a driveshaft's outer and inner joint, rad, and its plunge, m.

    inner_joint: centre of the joint at the final drive, m, whose shaft lies across the car;
    outer (3, …): centre of the outer joint; axis (3, …): wheel axis; drawn_length m between the
    joints as drawn. Plunge + draws the shaft out. Source: geometry.
    """
    shaft = outer - column(inner_joint)[:, None, None]
    length = np.sqrt(dot(shaft, shaft))
    across = np.zeros_like(shaft)
    across[1] = 1.0
    return (
        angle_between(first=shaft, second=np.broadcast_to(axis, shaft.shape)),
        angle_between(first=shaft, second=across),
        length - np.asarray(drawn_length),
    )
