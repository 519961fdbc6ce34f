"""Clearances measured by hand, moved to the wheel, tyre, camber and height of the state.

Each point carries the wheel, tyre, camber and height it was taken with; what it leaves out reads
as the car as found. The upright's point moves with the hub. The hub rises past the arm's and the
arch's point, by the drop of the body and, at full bump, by the travel that is left.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from drybuild.build.tyre_marking import parse_marking
from drybuild.findings import LEFT, FormulaRefused, Source

from . import formulas as tyre
from . import formulas_clearance as move
from . import formulas_wheel as wheel
from .results import design_diameter, size
from .results_room import room

OUTER, INNER = 1.0, -1.0

MOVED = Source("geometry: hand measurement moved to the new wheel", how="computed")


@dataclass(frozen=True)
class Box:
    """The tyre as a box about the axle: side from the hub face, radius, camber (m, m, rad)."""

    reach: Any
    radius: Any
    camber: Any


def box_then(given: Mapping[str, Any], towards: float) -> Box:
    """The wheel and tyre with which the point was taken, new size without growth."""
    rim = _first(given["rim_width"], given["base_rim_width"], "the rim it was taken with")
    offset = _first(given["offset"], given["base_offset"], "the wheel's offset then")
    spacer = _first(given["spacer"], given["base_spacer"], "the spacer then")
    camber = _first(given["camber"], given["base_camber"], "the camber then")
    marking, base_marking = given["tyre"], given["base_marking"]
    another = marking is not None and (
        base_marking is None or parse_marking(marking).size != base_marking.size
    )
    if another:
        mark = parse_marking(marking)
        section = tyre.design_section_width(**size(mark), rim_width=rim)
        diameter = design_diameter(mark)
    else:
        section, diameter = given["base_section_width"], given["base_diameter"]
    section = _first(given["section_width"], section, "the tyre it was taken with")
    diameter = _first(given["overall_diameter"], diameter, "the tyre it was taken with")
    width = np.maximum(section, wheel.wheel_overall_width(rim_width=rim))
    extent = wheel.outer_extent if towards > 0 else wheel.inner_extent
    return Box(extent(width=width, offset=offset, spacer=spacer), diameter / 2.0, camber)


def room_at(
    given: Mapping[str, Any], *, towards: float, now: Box, rise: Any, outboard: Any, height: Any
) -> Any:
    """Room between the tyre as it is now and the point, moved from how it was taken."""
    then = box_then(given, towards)
    side = move.moved_side_gap(
        gap=given["gap"],
        height=height,
        extent_then=then.reach,
        camber_then=then.camber,
        extent=now.reach,
        camber=now.camber,
        rise=rise,
        outboard=outboard,
        towards=towards,
    )
    if given["over"] is None:
        return side
    over = move.moved_over_gap(
        gap=given["over"],
        radius_then=then.radius,
        extent_then=then.reach,
        camber_then=then.camber,
        radius=now.radius,
        extent=now.reach,
        camber=now.camber,
        rise=rise,
        towards=towards,
    )
    return move.clear_of(side_gap=side, over_gap=over)


def upright_gap(**given: Any) -> Any:
    """Room at the upright: it moves with the hub, so height and travel do not count."""
    height, now_camber = 0.0, 0.0
    if given["tilts"]:
        height = _stated(given["height"], "the point's height over the hub centre")
        now_camber = _stated(given["now_camber"], "the camber at ride height")
    else:
        given = given | {"camber": 0.0}
    now = Box(given["reach"], given["radius"], now_camber)
    return room_at(given, towards=INNER, now=now, rise=0.0, outboard=0.0, height=height)


def standing_gap(towards: float, given: Mapping[str, Any]) -> Any:
    """Room beside a point of the body at ride height."""
    dropped_then = 0.0 if given["drop_then"] is None else given["drop_then"]
    rise = given["drop"] - dropped_then
    now = Box(given["reach"], given["radius"], given["now_camber"])
    outboard = _outboard(given, rise)
    return room_at(
        given, towards=towards, now=now, rise=rise, outboard=outboard, height=given["height"]
    )


def bumped_gap(towards: float, given: Mapping[str, Any]) -> Any:
    """Room beside a point of the body with the suspension against its solid stop."""
    dropped_then = 0.0 if given["drop_then"] is None else given["drop_then"]
    rise = given["full_bump"] - dropped_then
    now = Box(given["reach"], given["radius"], given["now_camber"])
    outboard = _outboard(given, rise)
    return room_at(
        given, towards=towards, now=now, rise=rise, outboard=outboard, height=given["height"]
    )


def arm_gap(**given: Any) -> Any:
    """Room at the arm or body, inner side, at ride height."""
    return standing_gap(INNER, given)


def arch_gap(**given: Any) -> Any:
    """Room at the arch lip at ride height."""
    return standing_gap(OUTER, given)


def arm_bump_gap(**given: Any) -> Any:
    """Room at the arm or body, inner side, at full bump."""
    return bumped_gap(INNER, given)


def arch_bump_gap(**given: Any) -> Any:
    """Room at the arch lip at full bump."""
    return bumped_gap(OUTER, given)


def _outboard(given: Mapping[str, Any], rise: Any) -> Any:
    """The hub's way outboard over a rise: the measured way to full bump, in proportion."""
    if given["bump_outboard"] is None or given["full_bump"] is None:
        return 0.0
    return given["bump_outboard"] * rise / np.maximum(given["full_bump"], 1e-3)


def _first(stated: Any, otherwise: Any, what: str) -> Any:
    return _stated(otherwise if stated is None else stated, what)


def _stated(value: Any, what: str) -> Any:
    if value is None:
        raise FormulaRefused(what)
    return value


def needs(point: str, *, side: str, camber: str, body: bool, bump: bool) -> dict[str, str]:
    """Input addresses of a clearance check.

    point: ``upright_point`` …; side: ``outer`` or ``inner``; camber: result with the camber of the
    pose; body: the point is fixed to the body; bump: the pose is full bump.
    """
    at = "corner.{corner}." + point
    found = {
        "gap": f"{at}.gap",
        "over": f"?{at}.over",
        "height": f"{at}.height" if body else f"?{at}.height",
        "rim_width": f"?{at}.rim_width",
        "offset": f"?{at}.offset",
        "spacer": f"?{at}.spacer",
        "tyre": f"?{at}.tyre",
        "section_width": f"?{at}.section_width",
        "overall_diameter": f"?{at}.overall_diameter",
        "camber": f"?{at}.camber",
        "base_rim_width": "?base:wheel.{corner}.rim_width",
        "base_offset": "?base:wheel.{corner}.offset",
        "base_spacer": "?base:corners.spacer_thickness.{corner}",
        "base_marking": "?base:corners.marking.{corner}",
        "base_section_width": "?base:corners.section_width.{corner}",
        "base_diameter": "?base:corners.overall_diameter.{corner}",
        "base_camber": "?base:ride.camber.{corner}",
        "reach": f"corners.{side}_reach." + "{corner}",
        "radius": "corners.free_radius.{corner}",
    }
    if not body:
        return found | {"tilts": f"?{at}.tilts", "now_camber": f"?{camber}." + "{corner}"}
    travel = "ride.full_bump.{corner}"
    return (
        found
        | {
            "now_camber": f"{camber}." + "{corner}",
            "drop_then": f"?{at}.drop",
            "full_bump": travel if bump else f"~?{travel}",
            "bump_outboard": "?ride.bump_outboard_by_links.{corner}|corner.{corner}.bump_outboard",
        }
        | ({} if bump else {"drop": "ride.ride_height_drop.{corner}"})
    )


STANDING = (
    "standing on its wheels, nobody in it, straight ahead; full steering lock, full bump and "
    "cornering are not covered"
)
FULL_BUMP = (
    "full bump against the solid stop, straight ahead; full steering lock, the other wheel's "
    "travel and the give of bushes are not covered"
)
TOUCH = (
    "A tyre that touches can be cut and lose its air at speed. Turn the wheel by hand through full "
    "travel and lock before driving; keep hands out of the arch while the car can move."
)

room.check(
    "corners.tyre_upright_gap",
    between=LEFT,
    title="inner side of the tyre to hub carrier or damper", per="corner", kind="length",
    needs=needs("upright_point", side="inner", camber="ride.camber_set", body=False, bump=False),
    slack=upright_gap, gap_wanted=0.004,
    formula="gap + inner reach then − inner reach (grown), tilted where camber is set between",
    consequence="injury", stops=("creep", "full load"), source=MOVED, pose=STANDING,
    when_short="the tyre's inner side meets hub carrier or damper",
    do="less offset, a spacer with enough thread, or a narrower tyre", safety=TOUCH,
)  # fmt: skip
room.check(
    "corners.tyre_arm_gap",
    between=LEFT,
    title="inner side of the tyre to arm, spring and body", per="corner", kind="length",
    needs=needs("arm_point", side="inner", camber="ride.camber_set", body=True, bump=False),
    slack=arm_gap, gap_wanted=0.005,
    formula="gap moved by reach, camber about the hub centre, drop and lateral way of the hub",
    consequence="injury", stops=("creep", "full load"), source=MOVED, pose=STANDING,
    when_short="the tyre's inner side meets the arm or the body",
    do="less offset, a spacer with enough thread, or a narrower tyre", safety=TOUCH,
)  # fmt: skip
room.check(
    "corners.tyre_arch_gap",
    between=LEFT,
    title="tyre to arch lip at rest", per="corner", kind="length",
    needs=needs("arch_point", side="outer", camber="ride.camber_set", body=True, bump=False),
    slack=arch_gap, gap_wanted=0.006,
    formula="larger of the gap beside and the gap over the tyre, both moved",
    consequence="injury", stops=("creep", "full load"), source=MOVED, pose=STANDING,
    when_short="the tyre meets the arch lip as it stands",
    do="more offset, a narrower or lower tyre, or less drop", safety=TOUCH,
)  # fmt: skip
room.check(
    "corners.arm_bump_gap",
    between=LEFT,
    title="inner side of the tyre to arm, spring and body at full bump",
    per="corner", kind="length",
    needs=needs("arm_point", side="inner", camber="ride.camber_in_bump", body=True, bump=True),
    slack=arm_bump_gap, gap_wanted=0.003,
    formula="gap moved by reach, camber in bump, rise of the hub and its lateral way",
    consequence="injury", stops=("drive", "compete"), source=MOVED, pose=FULL_BUMP,
    when_short="the tyre's inner side meets the arm or the body in bump",
    do="less offset, a bump stop that stops sooner, or a narrower tyre", safety=TOUCH,
)  # fmt: skip
room.check(
    "corners.arch_bump_gap",
    between=LEFT,
    title="tyre to arch lip at full bump", per="corner", kind="length",
    needs=needs("arch_point", side="outer", camber="ride.camber_in_bump", body=True, bump=True),
    slack=arch_bump_gap, gap_wanted=0.002,
    formula="larger of the gap beside and the gap over the tyre, both moved",
    consequence="injury", stops=("drive", "compete"), source=MOVED, pose=FULL_BUMP,
    when_short="the tyre meets the arch lip at full bump",
    do="the lip rolled by what is short, less bump travel by a packer over the stop, more negative "
    "camber, more offset, or a narrower or lower tyre",
    safety=TOUCH,
)  # fmt: skip
