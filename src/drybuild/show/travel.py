"""A corner seen from the front through its travel: full droop, at rest, full bump; to scale.

Seen with outboard to the right, whichever side of the car it is. The body stands still and the
wheel moves. Rigid: what bushes give is left out, and so is steering lock.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from html import escape
from typing import Any

import numpy as np

from drybuild.examine import Examination
from drybuild.values import System, show

MM = 1000.0
EM, LINE = 19.0, 34.0
"""Room for a letter of the labels and from line to line, mm of the drawing."""
TOP, FOOT = 24.0, 34.0
REST = "at rest"


@dataclass(frozen=True)
class Pose:
    """The wheel at one travel, medians: m from as found (+ bump), rad, m outboard."""

    name: str
    travel: float
    camber: float
    camber_ends: tuple[float, float]
    outboard: float


@dataclass(frozen=True)
class Travel:
    """What the drawing needs of a corner, m: three poses, tyre box, where its angles are from."""

    corner: str
    poses: tuple[Pose, ...]
    radius: float
    outer: float
    inner: float
    by: str


def corner_travel(examination: Examination, corner: str) -> Travel | None:
    """The poses of a corner; None where its travel or wheel is not known."""

    def value(address: str) -> Any:
        outcome = examination.evaluation.get(address)
        return outcome.value if outcome.known else None

    curves = value(f"ride.travel_curves.{corner}")
    names = ("free_radius", "outer_reach", "inner_reach")
    box = [value(f"corners.{name}.{corner}") for name in names]
    rest = value(f"ride.ride_height_drop.{corner}")
    if curves is None or rest is None or any(one is None for one in box):
        return None
    radius, outer, inner = (float(np.nanmedian(one)) for one in box)
    at = {
        "full droop": float(curves.travel[0]),
        REST: float(np.nanmedian(rest)),
        "full bump": float(curves.travel[-1]),
    }
    poses = tuple(_pose(name, travel, curves) for name, travel in at.items())
    return Travel(corner, poses, radius, outer, inner, curves.by)


def _pose(name: str, travel: float, curves: Any) -> Pose:
    def read(rows: Any) -> tuple[float, float, float]:
        if rows is None:
            return 0.0, 0.0, 0.0
        rows = np.atleast_2d(np.asarray(rows, dtype=np.float64).T).T
        ends = np.nanquantile(rows, (0.025, 0.5, 0.975), axis=1)
        low, mid, high = (float(np.interp(travel, curves.travel, end)) for end in ends)
        return low, mid, high

    low, mid, high = read(curves.camber)
    return Pose(name, travel, mid, (low, high), read(curves.half_track_change)[1])


def draw_travel(travel: Travel, system: System = "metric") -> str:
    """The corner from the front, as an SVG text."""
    highest = max(p.travel for p in travel.poses)
    lowest = min(p.travel for p in travel.poses)
    labels = [_said(travel, pose, system) for pose in travel.poses]
    left = -(travel.inner * MM + 60)
    right = travel.outer * MM + 64 + EM * max(len(line) for lines in labels for line in lines)
    top = (travel.radius + highest) * MM + TOP
    low = (lowest - travel.radius) * MM - FOOT
    said = [", ".join(lines) for lines in labels]
    where = f"{travel.corner.replace('.', ' ')} from the front"
    parts = [
        f'<svg viewBox="0 0 {right - left:.0f} {top - low:.0f}" role="img" class="travel" '
        f'aria-label="{escape(where)}; {escape("; ".join(said))}" '
        'xmlns="http://www.w3.org/2000/svg">'
    ]
    for pose in travel.poses:
        parts.append(_wheel(travel, pose, left, top))
    tallest = LINE * (max(map(len, labels)) + 0.6)
    beside = [(p.travel + 0.8 * travel.radius) * MM for p in travel.poses]
    spots = _spread(beside, tallest, top - LINE)
    for pose, lines, spot in zip(travel.poses, labels, spots, strict=True):
        parts += _label(travel, pose, lines, spot, left, top)
    parts.append("</svg>")
    return "".join(parts)


def _wheel(travel: Travel, pose: Pose, left: float, top: float) -> str:
    """The tyre's box, tilted about the wheel centre; a negative camber leans the top inboard."""
    half_height, shoulder = travel.radius * MM, 18.0
    corners = [
        (-travel.inner * MM, -half_height + shoulder), (-travel.inner * MM, half_height - shoulder),
        (-travel.inner * MM + shoulder, half_height), (travel.outer * MM - shoulder, half_height),
        (travel.outer * MM, half_height - shoulder), (travel.outer * MM, -half_height + shoulder),
        (travel.outer * MM - shoulder, -half_height), (-travel.inner * MM + shoulder, -half_height),
    ]  # fmt: skip
    cos, sin = math.cos(pose.camber), math.sin(pose.camber)
    places = " L".join(
        f"{x * cos + y * sin + pose.outboard * MM - left:.1f} "
        f"{top - (y * cos - x * sin + pose.travel * MM):.1f}"
        for x, y in corners
    )
    kind = {REST: "rest", "full bump": "bump"}.get(pose.name, "droop")
    return f'<path d="M{places}Z" class="wheel {kind}"/>'


def _said(travel: Travel, pose: Pose, system: System) -> list[str]:
    """A pose in words, line by line: its name, how far from which, and its camber.

    Said to the millimetre: where the wheel is drawn, no figure that was measured.
    """
    rest = next((p.travel for p in travel.poses if p.name == REST), 0.0)
    moved = round(pose.travel if pose.name == REST else pose.travel - rest, 3)
    far = show("length", abs(moved), system=system)
    if pose.name == REST:
        way = f"{far} {'lower' if moved > 0 else 'higher'} than as found" if moved else "as found"
    else:
        way = f"{far} {'up' if moved > 0 else 'down'} from rest"
    angle, comma, ends = show("angle", pose.camber, *pose.camber_ends, system=system).partition(
        ", "
    )  # fmt: skip
    return [pose.name, way, f"camber {angle}", *([ends] if comma else [])]


def _label(
    travel: Travel, pose: Pose, lines: list[str], spot: float, left: float, top: float
) -> list[str]:
    out, up = travel.outer * MM, 0.8 * travel.radius * MM
    cos, sin = math.cos(pose.camber), math.sin(pose.camber)
    x0 = out * cos + up * sin + pose.outboard * MM - left
    y0 = top - (up * cos - out * sin + pose.travel * MM)
    x1, y1 = travel.outer * MM + 50 - left, top - spot
    return [
        f'<path d="M{x0:.1f} {y0:.1f}L{x1:.1f} {y1:.1f}h8" class="leader"/>',
        *(
            f'<text x="{x1 + 14:.1f}" y="{y1 + 9 + LINE * k:.1f}" '
            f'class="{"note" if k else "label"}">{escape(line)}</text>'
            for k, line in enumerate(lines)
        ),
    ]


def _spread(wanted: list[float], apart: float, highest: float) -> list[float]:
    """The wanted heights moved down, so that no two labels meet; order kept, none over the top."""
    placed, room = list(wanted), highest
    for index in sorted(range(len(wanted)), key=lambda i: -wanted[i]):
        placed[index] = min(wanted[index], room)
        room = placed[index] - apart
    return placed
