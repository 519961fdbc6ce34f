"""Results of the ride room from hardpoints. Where they are stated they go before curves."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from drybuild.findings import Source
from drybuild.findings.words import Per
from drybuild.systems.ride import results_inputs as given
from drybuild.systems.ride import results_joints as joints
from drybuild.systems.ride.results import GEOMETRY, room

LINKS = Source("closure of rigid links, joints without give", how="computed")
GILLESPIE = Source("Gillespie, Fundamentals of Vehicle Dynamics", "1992", "ch. 7", how="memory")
HARDPOINTS = "corner.{corner}.hardpoints."
CAMBER = "corner.{corner}.camber"
TOE = (
    "corner.{corner}.toe|ride.toe_from_length.{corner}"
    "|ride.toe_by_string_{axle}_{side}|ride.toe_by_gauge.{axle}"
)
# Hardpoints are above the ground as found, so the tyre is the one found.
RADIUS = "~base:corners.loaded_radius.{corner}"


def _point(name: str, of: str, prefix: str = "") -> dict[str, str]:
    """The three coordinates of a point as inputs."""
    return {f"{name}_{axis}": f"{prefix}{HARDPOINTS}{of}.{axis}" for axis in "xyz"}


def _offer(
    name: str,
    of: Callable[..., Any],
    kind: str,
    needs: Mapping[str, str],
    formula: str,
    per: Per = "corner",
    source: Source = LINKS,
) -> None:
    room.result(f"ride.{name}", of=of, per=per, kind=kind, needs=needs, formula=formula,
                source=source)  # fmt: skip


def _solved() -> None:
    for layout, name, of in (
        ("double wishbone", "wishbones_drawn", joints.wishbones),
        ("strut", "strut_drawn", joints.strut),
        ("five links", "five_links_drawn", joints.five_links),
        ("trailing arm", "trailing_arm_drawn", joints.trailing_arm),
    ):
        needs = {"stated": HARDPOINTS + "layout"}
        for point in (*joints.POINTS[layout], "wheel_centre"):
            needs |= _point(point, point)
        _offer(name, of, "object", needs, "five links hold the upright at each wheel height")
    _offer(
        "drawn_corner",
        given.itself,
        "object",
        {
            "value": "ride.wishbones_drawn.{corner}|ride.strut_drawn.{corner}"
            "|ride.five_links_drawn.{corner}|ride.trailing_arm_drawn.{corner}"
        },
        "by its layout",
    )
    _offer(
        "kinematics",
        joints.kinematics,
        "object",
        {"drawn": "ride.drawn_corner.{corner}", "camber": CAMBER, "toe": TOE,
         "loaded_radius": RADIUS},
        "angles and contact of the wheel on the solved upright",
    )  # fmt: skip
    _offer(
        "angles_from",
        joints.what_was_used,
        "text",
        {
            "links": "?ride.kinematics.{corner}",
            "curve": "?axle.{axle}.camber_curve",
            "gain": "?axle.{axle}.camber_gain",
            "layout": "?" + HARDPOINTS + "layout",
        },
        "hardpoints before a measured curve before a stated gain",
        source=GEOMETRY,
    )


def _wheel() -> None:
    found = {"found": "ride.kinematics.{corner}"}
    _offer("camber_by_links", joints.camber_curve, "object", found, "camber over wheel travel")
    _offer("toe_by_links", joints.toe_curve, "object", found, "toe over wheel travel")
    _offer(
        "outboard_by_links",
        joints.outboard_curve,
        "object",
        {"drawn": "ride.drawn_corner.{corner}"},
        "wheel centre outboard over wheel travel",
    )
    _offer(
        "bump_outboard_by_links",
        joints.at_travel,
        "length",
        {"curve": "ride.outboard_by_links.{corner}", "travel": "ride.full_bump.{corner}"},
        "wheel centre outboard at full bump against ride height as found",
    )
    for name, of, kind in (
        ("caster_by_links", joints.caster, "angle"),
        ("kpi_by_links", joints.kingpin_inclination, "angle"),
        ("scrub_by_links", joints.scrub_radius, "length"),
        ("trail_by_links", joints.mechanical_trail, "length"),
    ):
        _offer(name, of, kind, found, "of the steering axis, as found")
    sides = {s: f"ride.kinematics.{{axle}}.{s}" for s in ("left", "right")}
    _offer("roll_centre_by_links", joints.roll_centre_found, "length", sides,
           "square to the contact's path, to the middle of the car", per="axle")  # fmt: skip
    _offer("roll_centre_fall_by_links", joints.roll_centre_fall, "ratio", sides,
           "(height as found − 25 mm lower)/25 mm", per="axle")  # fmt: skip


def _ratios() -> None:
    drawn = {"drawn": "ride.drawn_corner.{corner}"}
    for what in ("spring", "damper"):
        needs = {**drawn, "on": HARDPOINTS + f"{what}_on"}
        needs |= _point("body", f"{what}_body") | _point("foot", f"{what}_foot")
        curve = f"{what}_ratio_curve"
        _offer(curve, joints.ratio_curve, "object", needs, "MR = −d(length)/d(travel)")
        ratio = {"ratio": f"ride.{curve}.{{corner}}"}
        _offer(f"{what}_ratio_by_links", joints.ratio_at_rest, "ratio", ratio, "MR as found")
        _offer(f"{what}_ratio_slope_by_links", joints.ratio_slope, "per_length", ratio,
               "(MR 25 mm up − 25 mm down)/50 mm")  # fmt: skip
    needs = {**drawn, "on": HARDPOINTS + "bar_on"}
    for point in ("pivot", "end", "joint"):
        needs |= _point(point, f"bar_{point}")
    _offer("bar_ratio_by_links", joints.bar_ratio, "ratio", needs,
           "travel of the bar's end over wheel travel, as found")  # fmt: skip
    _offer(
        "axle_bar_ratio_by_links",
        given.mean_of,
        "ratio",
        {s: f"ride.bar_ratio_by_links.{{axle}}.{s}" for s in ("left", "right")},
        "mean of both sides",
        per="axle",
    )


def _forces() -> None:
    found = {"found": "ride.kinematics.{corner}"}
    _offer("contact_slope", joints.contact_slope, "ratio", found, "dx/dz of the contact, as found")
    _offer("centre_slope", joints.centre_slope, "ratio", found, "dx/dz of the centre, as found")
    car = {"wheelbase": "car.wheelbase", "cg_height": "ride.cg_height"}
    for name, of, slope, share in (
        ("anti_dive", joints.anti_dive, "contact_slope.front", {"share": "brakes.share_front"}),
        ("anti_lift", joints.anti_lift, "contact_slope.rear", {"share": "brakes.share_rear"}),
        ("anti_squat", joints.anti_squat, "centre_slope.rear", {"drive": "car.drive"}),
    ):
        needs = {s: f"ride.{slope}.{s}" for s in ("left", "right")} | car | share
        _offer(name, of, "ratio", needs, "share·(dx/dz)·L/h", per="car", source=GILLESPIE)


def _shafts() -> None:
    needs = {"drawn": "ride.drawn_corner.{corner}", "camber": CAMBER, "toe": TOE}
    needs |= _point("inner", "shaft_inner") | _point("outer", "shaft_outer")
    _offer("driveshaft", joints.driveshaft, "object", needs, "joint to joint, over the travel")
    shaft = {"shaft": "ride.driveshaft.{corner}"}
    bump = shaft | {"travel": "ride.full_bump.{corner}"}
    droop = shaft | {"travel": "ride.full_droop.{corner}"}
    _offer("shaft_bend_in_bump", joints.shaft_bend, "angle", bump, "at full bump")
    _offer("shaft_plunge_in_bump", joints.shaft_plunge, "length", bump, "at full bump, + drawn out")
    _offer("shaft_plunge_in_droop", joints.shaft_plunge_down, "length", droop,
           "at full droop, + drawn out")  # fmt: skip


def _price() -> None:
    _offer(
        "camber_setting",
        joints.camber_price,
        "object",
        {
            "drawn": "ride.drawn_corner.{corner}",
            "adjuster": HARDPOINTS + "camber_adjuster",
            "camber": CAMBER,
            "toe": TOE,
            "by": "arm.{corner}.camber_change",
            "loaded_radius": RADIUS,
            "free_radius": "~corners.free_radius.{corner}",
            **_point("bolt", "strut_bolt", "?"),
        },
        "adjuster moved until the camber is there; nothing else touched",
    )
    setting = {"setting": "ride.camber_setting.{corner}"}
    for name, figure, kind in (
        ("camber_adjuster_moved", joints.adjuster_moved, "object"),
        ("toe_by_camber", joints.toe_change, "angle"),
        ("half_track_by_camber", joints.half_track_change, "length"),
        ("tyre_top_by_camber", joints.tyre_top_outboard, "length"),
    ):
        _offer(name, figure, kind, setting, "what the camber adjuster brings with it")


_solved()
_wheel()
_ratios()
_forces()
_shafts()
_price()
