"""What the ride room makes of hardpoints: the functions that its results register."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Mapping
from dataclasses import dataclass
from functools import partial
from hashlib import blake2b
from typing import Any

import numpy as np

from drybuild.findings import FormulaRefused, NotWorkedOut
from drybuild.systems.ride.kinematics import adjust, carried, curves, wheel
from drybuild.systems.ride.kinematics.linkage import (
    Floats,
    Linkage,
    double_wishbone,
    links,
    strut_and_arm,
)
from drybuild.systems.ride.kinematics.motion import Motion, column, motion_of_arm, motion_of_linkage
from drybuild.systems.ride.kinematics.smooth import SmoothCurve
from drybuild.values import Array, DrawnCurve

# Heights solved, m of wheel travel; between them the curves are cubics with exact slopes.
STATIONS = np.linspace(-0.125, 0.125, 11)
AT_REST = 5  # the station at ride height as found
POINTS = {
    "double wishbone": (
        "lower_front", "lower_rear", "lower_outer", "upper_front", "upper_rear", "upper_outer",
        "tie_inner", "tie_outer",
    ),
    "strut": (
        "lower_front", "lower_rear", "lower_outer", "strut_top", "strut_foot", "tie_inner",
        "tie_outer",
    ),
    "five links": (
        "link_1_inner", "link_2_inner", "link_3_inner", "link_4_inner", "tie_inner",
        "link_1_outer", "link_2_outer", "link_3_outer", "link_4_outer", "tie_outer",
    ),
    "trailing arm": ("arm_inner", "arm_outer"),
}  # fmt: skip
# Rows of a linkage that make up its arms, by layout.
ARMS = {
    "double wishbone": {"lower arm": (0, 1), "upper arm": (2, 3)},
    "strut": {"lower arm": (0, 1)},
}
MOVED = {
    "double wishbone": {"upper arm in and out": (2, 3), "lower arm in and out": (0, 1)},
    "strut": {"lower arm in and out": (0, 1), "strut top": (2, 3)},
}
KEPT = 4


@dataclass(frozen=True)
class Drawn:
    """A corner as its hardpoints draw it, solved over its travel."""

    layout: str
    linkage: Linkage | None  # None for an arm on one hinge line
    motion: Motion


@dataclass(frozen=True)
class Kinematics:
    """What the wheel of a corner does over its travel, straight ahead; arrays (K, 1, N)."""

    layout: str
    travel: Floats  # (K,) m
    wheel: curves.WheelCurves
    steering: curves.SteeringCurves | None


_kept: OrderedDict[bytes, Drawn] = OrderedDict()


def _points(layout: str, given: Mapping[str, Any]) -> dict[str, Floats]:
    """Points by name, (3,) or (3, N), from their coordinates."""
    return {
        name: np.stack(np.broadcast_arrays(*(np.asarray(given[f"{name}_{a}"]) for a in "xyz")))
        for name in (*POINTS[layout], "wheel_centre")
    }


def wishbones(*, stated: str, **given: Any) -> Drawn:
    """A corner drawn as a double wishbone."""
    return _drawn("double wishbone", stated, given)


def strut(*, stated: str, **given: Any) -> Drawn:
    """A corner drawn as a strut and an arm."""
    return _drawn("strut", stated, given)


def five_links(*, stated: str, **given: Any) -> Drawn:
    """A corner drawn as five links."""
    return _drawn("five links", stated, given)


def trailing_arm(*, stated: str, **given: Any) -> Drawn:
    """A corner drawn as an arm on one hinge line."""
    return _drawn("trailing arm", stated, given)


def _drawn(layout: str, stated: str, given: Mapping[str, Any]) -> Drawn:
    """Solves a corner of one layout. The same hardpoints are solved once, for both sides too."""
    if stated != layout:
        raise NotWorkedOut(f"the corner is not drawn as {layout}")
    points = _points(layout, given)
    key = blake2b(layout.encode())
    for point in points.values():
        key.update(repr(point.shape).encode())
        key.update(np.ascontiguousarray(point, dtype=float).tobytes())
    digest = key.digest()
    found = _kept.get(digest)
    if found is None:
        found = _kept[digest] = _solved(layout, points)
        while len(_kept) > KEPT:
            _kept.popitem(last=False)
    return found


def _solved(layout: str, points: dict[str, Floats]) -> Drawn:
    if layout == "trailing arm":
        arm = motion_of_arm(
            pivot_inner=points["arm_inner"],
            pivot_outer=points["arm_outer"],
            wheel_centre=points["wheel_centre"],
            travel=STATIONS,
        )
        return Drawn(layout, None, arm)
    if layout == "double wishbone":
        linkage = double_wishbone(**points)
    elif layout == "strut":
        linkage = strut_and_arm(**points)
    else:
        names = POINTS[layout]
        linkage = links(
            inner=[points[n] for n in names[:5]],
            outer=[points[n] for n in names[5:]],
            wheel_centre=points["wheel_centre"],
            steer_link=4,
        )
    return Drawn(layout, linkage, motion_of_linkage(linkage=linkage, travel=STATIONS))


def kinematics(*, drawn: Drawn, camber: Array, toe: Array, loaded_radius: Array) -> Kinematics:
    """What the wheel does, from the solved corner and its angles as found."""
    shape = curves.wheel_curves(
        motion=drawn.motion, camber=camber, toe=toe, loaded_radius=loaded_radius
    )
    return Kinematics(drawn.layout, STATIONS, shape, _steering(drawn, shape))


def _steering(drawn: Drawn, shape: curves.WheelCurves) -> curves.SteeringCurves | None:
    linkage, motion = drawn.linkage, drawn.motion
    if linkage is None:
        return None
    if drawn.layout == "five links":
        return curves.steering_by_motion(motion=motion, curves=shape)
    lower = motion.at(linkage.arm[:, 0])
    if drawn.layout == "strut":
        upper = np.broadcast_to(linkage.anchor[:, 2, None, None], lower.shape)
    else:
        upper = motion.at(linkage.arm[:, 2])
    return curves.steering_by_joints(curves=shape, lower=lower, upper=upper)


def _over_travel(value: Floats) -> Floats:
    """(K, 1, N) as (K, N), or (K,) when exact."""
    flat = value[:, 0]
    return flat[:, 0] if flat.shape[1] == 1 else flat


def camber_curve(*, found: Kinematics) -> SmoothCurve:
    """Camber over travel."""
    shape = found.wheel
    return SmoothCurve(found.travel, _over_travel(shape.camber), _over_travel(shape.camber_rate))


def toe_curve(*, found: Kinematics) -> SmoothCurve:
    """Toe of one wheel over travel."""
    shape = found.wheel
    return SmoothCurve(found.travel, _over_travel(shape.toe), _over_travel(shape.toe_rate))


def outboard_curve(*, drawn: Drawn) -> SmoothCurve:
    """How far the wheel centre stands outboard of where it was found, over travel, m."""
    motion = drawn.motion
    moved = motion.centre[1] - motion.drawn[1]
    return SmoothCurve(STATIONS, _over_travel(moved), _over_travel(motion.velocity[1]))


def at_travel(*, curve: SmoothCurve, travel: Array) -> Array:
    """A curve at a wheel travel."""
    return curve.at(travel)


def _rides(drawn: Drawn, point: Floats, on: str) -> tuple[Floats, Floats]:
    """Where a point goes and its velocity, riding on what is named."""
    if drawn.linkage is None:
        # on an arm with one hinge line, arm and upright are one piece
        place = drawn.motion.at(point - drawn.motion.drawn)
        return place, drawn.motion.speed_of(place)
    rows: tuple[int, ...] = ()
    if on != "upright":
        rows = ARMS.get(drawn.layout, {}).get(on, ())
        if not rows:
            raise NotWorkedOut(f"a corner of {drawn.layout} has no {on}")
    rides = carried.carrier(linkage=drawn.linkage, point=point, rows=rows)
    return carried.carried_point(linkage=drawn.linkage, motion=drawn.motion, carried=rides)


def _point(given: Mapping[str, Any], name: str) -> Floats:
    parts = np.broadcast_arrays(*(np.atleast_1d(given[f"{name}_{a}"]) for a in "xyz"))
    return np.stack(parts)


def ratio_curve(*, drawn: Drawn, on: str, **given: Any) -> Floats:
    """Motion ratio of a spring or damper at each station, (K, N) or (K,)."""
    place, speed = _rides(drawn, _point(given, "foot"), on)
    body = _point(given, "body")
    return _over_travel(carried.length_and_ratio(body_end=body, point=place, velocity=speed)[1])


def bar_ratio(*, drawn: Drawn, on: str, **given: Any) -> Array:
    """Motion ratio of an anti-roll bar's end at ride height as found; its bar lies across."""
    joint = _point(given, "joint")
    place, speed = _rides(drawn, joint, on)
    _, ratio = carried.bar_turn_and_ratio(
        bar_point=_point(given, "pivot"),
        bar_direction=(0.0, 1.0, 0.0),
        bar_end=_point(given, "end"),
        link_drawn=joint,
        point=place,
        velocity=speed,
    )
    return _column(_over_travel(ratio)[AT_REST])


def _column(value: Any) -> Array:
    return value if np.ndim(value) else float(value)


def ratio_at_rest(*, ratio: Floats) -> Array:
    """Motion ratio at ride height as found."""
    return _column(ratio[AT_REST])


def ratio_slope(*, ratio: Floats) -> Array:
    """Change of the motion ratio per wheel travel about ride height, 1/m."""
    run = STATIONS[AT_REST + 1] - STATIONS[AT_REST - 1]
    return _column((ratio[AT_REST + 1] - ratio[AT_REST - 1]) / run)


def roll_centre_found(*, left: Kinematics, right: Kinematics) -> Array:
    """Roll centre above the ground at ride height as found, m: mean of both sides' lines."""
    return _column(_over_travel(_roll_centre(left, right))[AT_REST])


def roll_centre_fall(*, left: Kinematics, right: Kinematics) -> Array:
    """How far the roll centre falls per drop of the body, over the next 25 mm."""
    height = _over_travel(_roll_centre(left, right))
    return _column((height[AT_REST] - height[AT_REST + 1]) / STATIONS[AT_REST + 1])


def _roll_centre(left: Kinematics, right: Kinematics) -> Floats:
    return 0.5 * (left.wheel.roll_centre_height + right.wheel.roll_centre_height)


def _steered(found: Kinematics, name: str) -> Array:
    if found.steering is None:
        raise NotWorkedOut("an arm on one hinge line has no steering axis")
    return _column(_over_travel(getattr(found.steering, name))[AT_REST])


def caster(*, found: Kinematics) -> Array:
    """Caster at ride height as found, rad."""
    return _steered(found, "caster")


def kingpin_inclination(*, found: Kinematics) -> Array:
    """Kingpin inclination at ride height as found, rad."""
    return _steered(found, "kingpin_inclination")


def scrub_radius(*, found: Kinematics) -> Array:
    """Scrub radius at ride height as found, on the wheel as found, m."""
    return _steered(found, "scrub_radius")


def mechanical_trail(*, found: Kinematics) -> Array:
    """Mechanical trail at ride height as found, m."""
    return _steered(found, "mechanical_trail")


def contact_slope(*, found: Kinematics) -> Array:
    """How far the contact goes forward per wheel travel as found: outboard brakes act on it."""
    return _column(_over_travel(found.wheel.contact_slope)[AT_REST])


def centre_slope(*, found: Kinematics) -> Array:
    """How far the wheel centre goes forward per wheel travel as found: drive acts on it."""
    return _column(_over_travel(found.wheel.centre_slope)[AT_REST])


def anti_dive(
    *, left: Array, right: Array, share: Array, wheelbase: Array, cg_height: Array
) -> Array:
    """Share of the front's dive under braking that the links take."""
    return wheel.anti_dive(
        slope=0.5 * (left + right), brake_share=share, wheelbase=wheelbase, cg_height=cg_height
    )


def anti_lift(
    *, left: Array, right: Array, share: Array, wheelbase: Array, cg_height: Array
) -> Array:
    """Share of the rear's lift under braking that the links take."""
    return wheel.anti_lift(
        slope=0.5 * (left + right), brake_share=share, wheelbase=wheelbase, cg_height=cg_height
    )


def anti_squat(
    *, left: Array, right: Array, drive: str, wheelbase: Array, cg_height: Array
) -> Array:
    """Share of the rear's squat under drive that the links take; final drive on the body."""
    if drive != "rear":
        raise NotWorkedOut("the share of drive at the rear is known of rear-wheel drive alone")
    return wheel.anti_squat(
        slope=0.5 * (left + right), drive_share=1.0, wheelbase=wheelbase, cg_height=cg_height
    )


@dataclass(frozen=True)
class Driveshaft:
    """A driveshaft over the stations, (K, N) or (K,)."""

    outer: DrawnCurve  # rad, bend of the outer joint
    inner: DrawnCurve  # rad
    plunge: DrawnCurve  # m, + drawn out


def driveshaft(*, drawn: Drawn, camber: Array, toe: Array, **given: Any) -> Driveshaft:
    """Angles and plunge of a driveshaft over the travel, straight ahead."""
    motion = drawn.motion
    inner, outer = _point(given, "inner"), _point(given, "outer")
    length = np.sqrt(np.sum((outer - inner) ** 2, axis=0))
    found = carried.driveshaft(
        inner_joint=inner,
        outer=motion.at(outer - motion.drawn),
        axis=motion.turned(column(wheel.wheel_axis(camber=camber, toe=toe))),
        drawn_length=length,
    )
    return Driveshaft(*(DrawnCurve(STATIONS, _over_travel(figure)) for figure in found))


def shaft_bend(*, shaft: Driveshaft, travel: Array) -> Array:
    """Bend of the outer joint at a wheel travel, rad."""
    return shaft.outer.at(travel)


def shaft_plunge(*, shaft: Driveshaft, travel: Array) -> Array:
    """How far the shaft is drawn out at a wheel travel, m."""
    return shaft.plunge.at(travel)


def shaft_plunge_down(*, shaft: Driveshaft, travel: Array) -> Array:
    """The same at a travel that counts downwards."""
    return shaft.plunge.at(-np.asarray(travel))


def camber_price(
    *,
    drawn: Drawn,
    adjuster: str,
    camber: Array,
    toe: Array,
    by: Array,
    loaded_radius: Array,
    free_radius: Array,
    **bolt: Any,
) -> adjust.Setting:
    """What it costs in toe, track and room at the arch to set camber by `by` with its adjuster."""
    linkage = drawn.linkage
    if linkage is None:
        raise NotWorkedOut("an arm on one hinge line has no such adjuster")
    adjusted: Any
    if adjuster == "strut bolt":
        if drawn.layout != "strut" or any(value is None for value in bolt.values()):
            raise FormulaRefused("where the strut's lower bolt is")
        adjusted = partial(_tilted, linkage, _point(bolt, "bolt"))
    else:
        rows = MOVED.get(drawn.layout, {}).get(adjuster)
        if rows is None:
            raise NotWorkedOut(f"a corner of {drawn.layout} has no adjuster {adjuster}")
        adjusted = partial(_moved, linkage, rows)
    return adjust.setting_for_camber(
        adjusted=adjusted,
        camber=np.asarray(camber) + by,
        axis=wheel.wheel_axis(camber=camber, toe=toe),
        loaded_radius=loaded_radius,
        top_radius=free_radius,
    )


def _moved(linkage: Linkage, rows: tuple[int, ...], by: Floats) -> Linkage:
    nothing = np.zeros_like(by)
    return adjust.body_end_moved(linkage=linkage, rows=rows, by=np.stack([nothing, by, nothing]))


def _tilted(linkage: Linkage, bolt: Floats, by: Floats) -> Linkage:
    return adjust.strut_tilted(linkage=linkage, by=by, about=bolt)


def _figure(value: Floats) -> Array:
    return value if len(value) > 1 else float(value[0])


def adjuster_moved(*, setting: adjust.Setting) -> Array:
    """How far the adjuster moves, m outboard, or rad of a strut's bolt."""
    return _figure(setting.amount)


def toe_change(*, setting: adjust.Setting) -> Array:
    """Toe of this wheel that the camber brings with it, rad."""
    return _figure(setting.toe_change)


def half_track_change(*, setting: adjust.Setting) -> Array:
    """How far the contact goes outboard, m."""
    return _figure(setting.half_track_change)


def tyre_top_outboard(*, setting: adjust.Setting) -> Array:
    """How far the top of the tyre's middle plane goes outboard, m."""
    return _figure(setting.top_outboard)


def what_was_used(*, links: Any, curve: Any, gain: Any, layout: Any) -> str:
    """Which way camber, toe and their changes were found."""
    if links is not None:
        return f"hardpoints, {layout}"
    if curve is not None:
        return "measured curve"
    return "stated gain" if gain is not None else "nothing stated"
