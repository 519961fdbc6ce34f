"""What is closest to one section: how far, which obstacle, which point, which pose, which place.

The field answers millions of sections to within a cell. For the one that is asked about, every
occupied cell near it is measured against the outline itself. That gives the depth where there is
contact, and for each obstacle and stretch of the tyre the nearest thing.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from .folding import Fold, half_plane
from .section import Outline, signed_distance

Floats = NDArray[np.floating[Any]]

HALF_DIAGONAL = 0.7072  # of a pitch: a point stands anywhere in its cell


@dataclass(frozen=True)
class Contact:
    """The closest of one obstacle at one stretch of the section.

    room: never more than the truth and less by at most one cell, the allowance taken off (m);
    nominal: exact for the remembered point and pose, the allowance taken off (m); obstacle: index
    of the fold; point (3,) in the corner's frame; pose: its index; axial, radius: where the
    obstacle stands in the half-plane (m); toward (2,): unit direction in which room grows; clock:
    where around the wheel, rad from straight up towards the front; place: of the outline.
    """

    room: float
    nominal: float
    obstacle: int
    point: Floats
    pose: int
    axial: float
    radius: float
    toward: Floats
    clock: float
    place: str


@dataclass(frozen=True)
class Contacts:
    """Contacts of one section, closest first; and whether the grid's edge is closer than all."""

    found: tuple[Contact, ...]
    room: float
    edge: bool


def closest(
    *,
    folds: Sequence[Fold],
    allowances: Sequence[float],
    outline: Outline,
    within: float = 0.015,
    apart: float = 0.02,
) -> Contacts:
    """The closest obstacle cells of each fold to one section.

    allowances: what is kept from each (m); within: how much more room than the least still counts
    (m); apart: contacts of one obstacle are at least so far from each other (m). ``room`` errs
    towards contact by at most 1.42 pitches, about half a cell. Depth is that of the deepest point
    inside the section.
    Source: geometry.
    """
    if not folds or len(folds) != len(allowances):
        raise ValueError("folds and one allowance for each")
    grid = folds[0].grid
    low, high = outline.corners.min(axis=0), outline.corners.max(axis=0)
    edge = min(low[0] - grid.axial_low, grid.axial_high - high[0], grid.radius_high - high[1])
    if edge < 0.0:
        raise ValueError("the section reaches out of the grid that was folded")
    cells = [_near(one, kept, outline) for one, kept in zip(folds, allowances, strict=True)]
    least = min((float(room.min()) for room, *_ in cells if len(room)), default=float(edge))
    found: list[Contact] = []
    for number, (one, (room, row, column)) in enumerate(zip(folds, cells, strict=True)):
        order = np.argsort(room, kind="stable")
        order = order[room[order] <= min(least, edge) + within]
        taken: list[tuple[float, float]] = []
        for at in order:
            a, r = grid.centres(row[at], column[at])
            if any((a - x) ** 2 + (r - y) ** 2 < apart**2 for x, y in taken):
                continue
            taken.append((float(a), float(r)))
            kept = allowances[number]
            found.append(_contact(one, number, kept, outline, room[at], row[at], column[at]))
            if len(taken) == 12:
                break
    found.sort(key=lambda c: c.room)
    return Contacts(tuple(found), min(least, float(edge)), bool(edge < least))


def _near(
    one: Fold, allowance: float, outline: Outline
) -> tuple[Floats, NDArray[np.intp], NDArray[np.intp]]:
    """(room, row, column) of the cells of a fold that can be closest."""
    row, column = np.nonzero(one.occupied)
    if not len(row):
        return np.empty(0), row, column
    a, r = one.grid.centres(row, column)
    # a first look with every 64th cell bounds the answer; cells out of a box grown by it are far
    few = slice(None, None, 64)
    bound = float(signed_distance(outline=outline, axial=a[few], radius=r[few])[0].min())
    grow = max(bound, 0.0) + 0.03
    low, high = outline.corners.min(axis=0) - grow, outline.corners.max(axis=0) + grow
    box = (a >= low[0]) & (a <= high[0]) & (r >= low[1]) & (r <= high[1])
    row, column = row[box], column[box]
    distance, _, _ = signed_distance(outline=outline, axial=a[box], radius=r[box])
    return distance - allowance - HALF_DIAGONAL * one.grid.pitch, row, column


def _contact(
    one: Fold, number: int, allowance: float, outline: Outline, room: float, row: int, column: int
) -> Contact:
    point, pose = one.source(int(row), int(column))
    place = one.points[point]
    axial, radius = half_plane(points=place[None], poses=one.poses[pose : pose + 1])
    distance, toward, side = signed_distance(outline=outline, axial=axial[0], radius=radius[0])
    own = one.poses[pose, :, :3].T @ (place - one.poses[pose, :, 3])
    return Contact(
        room=float(room),
        nominal=float(distance[0]) - allowance,
        obstacle=number,
        point=place,
        pose=pose,
        axial=float(axial[0, 0]),
        radius=float(radius[0, 0]),
        toward=toward[0],
        clock=float(np.arctan2(own[0], own[2])),
        place=outline.places[int(side[0])],
    )
