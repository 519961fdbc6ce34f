"""Room between the tyre and a scanned corner, through all of the wheel's travel.

The corner is folded once for the middle of all inputs. Every draw then moves that room by what it
changes at the places that bind: section, camber, travel, registration and surface of the scan.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

from drybuild.build.kinds.corner_scan import CornerScan, ObstacleKind
from drybuild.build.scans import ScanRefused
from drybuild.build.tyre_marking import TyreMarking
from drybuild.findings import FormulaRefused, Source
from drybuild.values import Array
from drybuild.values.loops import Engine

from .results import rim_diameter
from .results_room import room
from .results_scan import Prepared, prepared
from .swept import (
    Contact,
    Fold,
    Grid,
    Outline,
    closest,
    fold,
    poses_of_curves,
    shaken,
    tyre_outline,
)
from .swept.allowance import ROOM_KEPT, near_the_road, sidewall_bulge
from .swept.doubt import gradient, wheel_gradient

Floats = NDArray[np.floating[Any]]

HEIGHTS = np.linspace(-0.13, 0.13, 27)  # m of travel at which curves are read
STATIONS = 29  # heights of the wheel from full droop to full bump

FARTHEST = 2.0
"""m; a hub that moves further than this has no motion that was solved."""
SHOULDER = 0.012  # m, between side and tread: smaller than on road tyres, so on the careful side
CELL = 0.0015
GRID_STEP = 0.04  # m, ends of the folded half-plane
LEAST_KEPT = 0.003  # what the check wants as its gap; things that need more have it taken off
SWEPT = Source("geometry: scan folded over all poses into the wheel's half-plane", how="computed")


@dataclass(frozen=True)
class Bound:
    """One place that binds: the contact, its pose (3, 4), height of the hub then (m)."""

    contact: Contact
    pose: Floats
    travel: float
    name: str
    kind: str


@dataclass(frozen=True)
class Swept:
    """Room (N,), m, over all draws, what binds, and the words for it. ``scanned`` False: no scan.

    outline: the section of the middle of all inputs; half_plane: obstacle cells (M, 2) near it.
    """

    scanned: bool
    slack: Any = None
    bounds: tuple[Bound, ...] = ()
    words: str = ""
    notes: tuple[str, ...] = ()
    left_out: tuple[str, ...] = ()
    outline: Outline | None = None
    half_plane: Floats | None = None


NO_SCAN = Swept(False)


@dataclass(frozen=True)
class Middle:
    """The middle of all inputs, rounded so that like states share one fold."""

    outer: float
    inner: float
    radius: float
    loaded: float
    rim_width: float
    bead: float
    camber: float
    toe: float
    bump: float
    droop: float
    drop: float
    outboard: float
    give: float
    camber_over: tuple[tuple[float, float], ...]
    toe_over: tuple[tuple[float, float], ...]
    camber_found: float
    toe_found: float


def swept(
    *, folder: str, scan: CornerScan | None, side: str, marking: TyreMarking | None, **given: Any
) -> Swept:
    """Room of the fitted tyre through the wheel's travel; needs of ``given``: see NEEDS."""
    if scan is None:
        return NO_SCAN
    for name in NEEDED:
        if given[name] is None:
            raise FormulaRefused(f"for the scan: {NEEDED[name]}")
    if marking is None:
        raise FormulaRefused("for the scan: the tyre's marking")
    middle = _middle(marking, given)
    try:
        old = (_tyre(middle), _pose(middle.camber_found, middle.toe_found))
        ready = prepared(folder, scan, side, old)
        bounds, outline, cells = _folded(middle, _Key(ready))
    except (ScanRefused, ValueError) as error:
        raise FormulaRefused(" ".join(str(error).split())) from error
    if not bounds:
        raise FormulaRefused("for the scan: anything scanned within 60 mm of the tyre")
    slack = _draws(bounds, middle, given)
    left_out = ("steering lock", "more give of the bushes than stated", "what was not scanned")
    return Swept(
        True, slack, bounds, _words(bounds[0], middle), ready.notes, left_out, outline, cells
    )


def _middle(marking: TyreMarking, given: dict[str, Any]) -> Middle:
    def m(name: str, step: float = 1e-4, otherwise: float = 0.0) -> float:
        value = given[name]
        return otherwise if value is None else float(np.round(np.median(value) / step)) * step

    def over(change: Any) -> tuple[tuple[float, float], ...]:
        """Middle of a curve of change over travel, or of a change per metre."""
        if change is None:
            return ()
        x = HEIGHTS
        at = change.at if hasattr(change, "at") else (lambda z: z * np.asarray(change))
        y = np.array([np.median(at(float(z))) for z in x])
        solved = np.isfinite(y)
        return tuple(zip(x[solved].tolist(), np.round(y[solved], 5).tolist(), strict=True))

    return Middle(
        outer=m("outer"), inner=m("inner"), radius=m("radius"), loaded=m("loaded"),
        rim_width=m("rim_width"), bead=rim_diameter(marking) / 2.0, camber=m("camber", 1e-3),
        toe=m("toe", 1e-3), bump=m("bump", 5e-4), droop=m("droop", 5e-4), drop=m("drop", 5e-4),
        outboard=m("outboard"), give=m("give", 1e-4), camber_over=over(given["camber_curve"]),
        toe_over=over(given["toe_curve"]), camber_found=m("camber_found", 1e-3),
        toe_found=m("toe_found", 1e-3),
    )  # fmt: skip


def _tyre(middle: Middle) -> Outline:
    return tyre_outline(
        section_width=middle.outer + middle.inner, rim_width=middle.rim_width,
        offset=(middle.inner - middle.outer) / 2.0, bead_radius=middle.bead,
        overall_radius=middle.radius, shoulder_radius=SHOULDER,
    )  # fmt: skip


def _pose(camber: float, toe: float) -> Floats:
    pose: Floats = poses_of_curves(camber=camber, toe=toe, lateral=0.0, vertical=0.0)[0]
    return pose


def _angle(over: tuple[tuple[float, float], ...], rest: float, drop: float, z: Floats) -> Array:
    """Angle over travel: as it is at rest, and as the curve says it changes from there."""
    if not over:
        return np.full(len(z), rest)
    x, y = np.array(over).T
    return np.asarray(rest + np.interp(z, x, y) - np.interp(drop, x, y))


@dataclass(frozen=True)
class _Key:
    """A prepared scan as a key: the same object is the same scan."""

    ready: Prepared

    def __hash__(self) -> int:
        return id(self.ready)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _Key) and other.ready is self.ready


@dataclass(frozen=True)
class _Folded:
    """One obstacle, or a part of it, folded: its kind, heights of its poses, whether low down."""

    fold: Fold
    kind: ObstacleKind
    heights: Floats
    low_down: bool


@lru_cache(maxsize=64)
def _folded(middle: Middle, key: _Key) -> tuple[tuple[Bound, ...], Outline, Floats]:
    outline = _tyre(middle)
    low, high = outline.corners.min(axis=0), outline.corners.max(axis=0)
    # ends on whole steps, so that a row of wheels and tyres shares its folds
    below = np.floor((low - (0.06, 0.12)) / GRID_STEP) * GRID_STEP
    above = np.ceil((high + 0.06) / GRID_STEP) * GRID_STEP
    grid = Grid(float(below[0]), float(above[0]), float(max(below[1], 0.06)), float(above[1]), CELL)
    motion = replace(middle, outer=0.0, inner=0.0, radius=0.0, loaded=0.0, rim_width=0.0, bead=0.0)
    folded = _folds(motion, grid, key)
    if not folded:
        return (), outline, np.empty((0, 2))
    deep = min(max(middle.radius - middle.loaded, 0.0), (middle.radius - middle.bead) / 3.0)
    bow = max((middle.outer + middle.inner - middle.rim_width) / 2.0, 0.004)
    bulge = sidewall_bulge(section_height=middle.radius - middle.bead, deflection=deep, bow=bow)
    kept = [ROOM_KEPT[o.kind] - LEAST_KEPT + (bulge if o.low_down else 0.0) for o in folded]
    found = closest(folds=[o.fold for o in folded], allowances=kept, outline=outline)
    bounds = []
    for contact in found.found:
        one = folded[contact.obstacle]
        bounds.append(
            Bound(
                contact, one.fold.poses[contact.pose], float(one.heights[contact.pose]),
                one.fold.name, one.kind,
            )
        )  # fmt: skip
    cells = [np.stack(grid.centres(*np.nonzero(o.fold.occupied)), axis=1) for o in folded]
    return tuple(bounds), outline, np.concatenate(cells)


@lru_cache(maxsize=8)
def _folds(middle: Middle, grid: Grid, key: _Key) -> tuple[_Folded, ...]:
    """The obstacles over all poses; ``middle`` holds the motion alone, not the section."""
    z = np.linspace(-middle.droop, middle.bump, STATIONS)
    straight = poses_of_curves(
        camber=_angle(middle.camber_over, middle.camber, middle.drop, z),
        toe=_angle(middle.toe_over, middle.toe, middle.drop, z),
        lateral=middle.outboard * z / max(middle.bump, 1e-3), vertical=z,
    )  # fmt: skip
    twists = np.zeros((3, 6))
    twists[1:, 1] = middle.give, -middle.give
    poses = shaken(poses=straight, twists=twists)
    if not (np.isfinite(poses).all() and np.abs(poses[:, :, 3]).max() < FARTHEST):
        raise FormulaRefused("for the scan: travel, camber and toe of the corner, solved")
    travel = np.repeat(z, 3)
    found = []
    for one in key.ready.obstacles:
        carried = one.kind == "turns with the upright"
        at = _pose(middle.camber_found, middle.toe_found)[None] if carried else poses
        heights_here = np.zeros(1) if carried else travel
        low_down = near_the_road(
            points=one.points, highest_hub=float(heights_here.max()),
            lowest_hub=float(heights_here.min()),
        )  # fmt: skip
        for part, low in ((~low_down, False), (low_down, True)):
            if part.any():
                # small folds are done before the compiler is up
                engine: Engine | None = "numpy" if part.sum() * len(at) < 4e8 else None
                done = fold(
                    name=one.name, points=one.points[part], poses=at, grid=grid, engine=engine
                )
                found.append(_Folded(done, one.kind, heights_here, low))
    return tuple(found)


def _draws(bounds: tuple[Bound, ...], middle: Middle, given: dict[str, Any]) -> Any:
    """Least room of all places in each draw, to first order about the middle."""

    def off(name: str, at: float) -> Any:
        return 0.0 if given[name] is None else np.asarray(given[name], dtype=float) - at

    outer, inner = off("outer", middle.outer), off("inner", middle.inner)
    radius, camber = off("radius", middle.radius), off("camber", middle.camber)
    bump, droop = off("bump", middle.bump), off("droop", middle.droop)
    outboard, give = off("outboard", middle.outboard), off("give", middle.give)
    error = {name: off(name, 0.0) for name in ERRORS}
    least: Any = np.inf
    for one in bounds:
        c = one.contact
        across, upward = float(c.toward[0]), float(c.toward[1])
        body = gradient(contact=c, pose=one.pose)
        wheel = wheel_gradient(contact=c, pose=one.pose)
        change = c.room - upward * radius
        # a side that stands further out takes room from what is beyond it
        change = change - max(across, 0.0) * outer - max(-across, 0.0) * inner
        # camber + leans the top out, which is a turn the other way about the forward axis
        change = change - wheel[3] * camber
        if one.kind != "turns with the upright":
            share = one.travel / max(middle.bump, 1e-3)
            change = change + wheel[1] * share * outboard - abs(wheel[1]) * give
            if one.travel > 0.0:
                change = change + wheel[2] * share * bump
            else:
                change = change + wheel[2] * (one.travel / max(middle.droop, 1e-3)) * droop
        change = change + body[0] * error["fore_error"] + body[1] * error["outboard_error"]
        change = change + body[2] * error["up_error"] - body[3] * error["tilt_error"]
        change = change - body[5] * error["turn_error"] + error["surface_error"]
        least = np.minimum(least, change)
    return least


def _words(one: Bound, middle: Middle) -> str:
    """What binds, where and when."""
    c = one.contact
    if one.kind == "turns with the upright":
        when = "at any height, as it turns with the wheel's hub carrier"
    elif one.travel >= middle.bump - 1e-6:
        when = "at full bump"
    elif one.travel <= -middle.droop + 1e-6:
        when = "at full droop"
    else:
        when = f"with the hub {one.travel * 1e3:+.0f} mm from ride height as found"
    clock = np.degrees(c.clock)
    round_it = "straight up" if abs(clock) < 8.0 else f"{abs(clock):.0f}° from straight up"
    if abs(clock) >= 8.0:
        round_it += ", forward" if clock > 0.0 else ", rearward"
    return f"{one.name} and the tyre's {c.place}, {when}, {round_it}"


ERRORS = (
    "fore_error", "outboard_error", "up_error", "tilt_error", "turn_error", "surface_error",
)  # fmt: skip
NEEDED = {
    "outer": "the tyre's outer reach", "inner": "the tyre's inner reach",
    "radius": "the tyre's free radius", "loaded": "the tyre's loaded radius",
    "rim_width": "the rim width", "camber": "the camber at ride height",
    "bump": "the travel to full bump", "droop": "the travel to full droop",
    "drop": "how far the body was lowered", "camber_found": "the camber as found",
}  # fmt: skip
SCAN = "corner.{corner}.scan"

room.result(
    "corners.swept", of=swept, per="corner", kind="object",
    needs={
        "folder": "~build.folder", "scan": f"?{SCAN}", "side": "~build.side.{side}",
        "marking": "?corners.marking.{corner}",
        "outer": "?corners.outer_reach.{corner}", "inner": "?corners.inner_reach.{corner}",
        "radius": "?corners.free_radius.{corner}", "loaded": "~?corners.loaded_radius.{corner}",
        "rim_width": "?wheel.{corner}.rim_width", "camber": "?ride.camber_set.{corner}",
        "toe": "~?ride.toe.{corner}", "bump": "?ride.full_bump.{corner}",
        "droop": "~?ride.full_droop.{corner}", "drop": "~?ride.ride_height_drop.{corner}",
        "camber_curve": "~?ride.camber_by_links.{corner}|axle.{axle}.camber_curve"
        "|axle.{axle}.camber_gain",
        "toe_curve": "~?ride.toe_by_links.{corner}|axle.{axle}.toe_curve|axle.{axle}.toe_gain",
        "camber_found": "~?base:ride.camber.{corner}", "toe_found": "~?base:ride.toe.{corner}",
        "outboard": "~?ride.bump_outboard_by_links.{corner}|corner.{corner}.bump_outboard",
        "give": f"~?{SCAN}.bush_give",
        **{name: f"~?{SCAN}.{name}" for name in ERRORS},
    },
    formula="least over obstacles and poses of the distance from the section, less what is kept",
    source=SWEPT,
)  # fmt: skip
