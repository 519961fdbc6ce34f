"""Doubt of a swept clearance, carried as sensitivities at the places that bind.

The fold is done once. At each contact the room changes with a small movement of the obstacle, or
of the wheel, by the movement's part along the direction in which room grows. A scan has one
registration error for all its points and a smooth local field; noise that is independent from
point to point would push the largest of many points outward, and is taken out before folding.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from .contact import Contact, closest
from .folding import Fold, fold
from .poses import shaken
from .section import Outline

Floats = NDArray[np.floating[Any]]

WAVES = 96


def gradient(*, contact: Contact, pose: Floats) -> Floats:
    """Change of room with a small movement of the obstacle (6,): m/m for x, y, z, then m/rad.

    contact: a place that binds; pose (3, 4): the wheel's in its pose. The turn is about the
    origin of the corner's frame. Source: virtual displacement, d room = N·(t + ω × p).
    """
    own = pose[:, :3].T @ (contact.point - pose[:, 3])
    r = max(float(np.hypot(own[0], own[2])), 1e-9)
    normal = np.array(
        [contact.toward[1] * own[0] / r, contact.toward[0], contact.toward[1] * own[2] / r]
    )
    outward = pose[:, :3] @ normal
    return np.concatenate([outward, np.cross(contact.point, outward)])


def wheel_gradient(*, contact: Contact, pose: Floats) -> Floats:
    """Change of room with a small movement of the wheel about its hub centre (6,), body's axes.

    As poses.shaken moves it: bushes, hardpoints, roll. m/m, then m/rad. Source: the same.
    """
    outward = gradient(contact=contact, pose=pose)[:3]
    return -np.concatenate([outward, np.cross(contact.point - pose[:, 3], outward)])


def smooth_field(*, points: Floats, size: float, length: float, count: int, seed: int) -> Floats:
    """Smooth random movements of a scan's surface at points, (count, N, 3), m.

    size: standard deviation along each axis (m); length: over which it changes (m); each draw has
    the correlation size²·exp(−d²/2·length²). Source: random Fourier features, Rahimi and Recht
    2007.
    """
    rng = np.random.default_rng(seed)
    wave = rng.normal(size=(count, WAVES, 3)) / length
    phase = rng.uniform(0.0, 2.0 * np.pi, (count, WAVES))
    weight = rng.normal(size=(count, WAVES, 3))
    result = np.empty((count, len(points), 3))
    for n in range(count):
        result[n] = np.cos(points @ wave[n].T + phase[n]) @ weight[n]
    result *= size * np.sqrt(2.0 / WAVES)
    return result


def room_draws(
    *,
    contacts: Sequence[Contact],
    poses: Sequence[Floats],
    obstacle_moves: Floats,
    wheel_moves: Floats,
    local: Floats,
) -> Floats:
    """Least room of all contacts in each draw (N,), m.

    poses: the pose (3, 4) of each contact; obstacle_moves (N, 6): registration of the scan;
    wheel_moves (N, 6); local (N, K, 3): the smooth field at the contacts' points. Movements of a
    few mm: the direction of contact must not turn. Source: first-order propagation, least per
    draw (JCGM 101 for the draws).
    """
    if not contacts:
        raise ValueError("no contact: nothing was folded near the section")
    found = np.full(len(obstacle_moves), np.inf)
    for k, (contact, pose) in enumerate(zip(contacts, poses, strict=True)):
        own = gradient(contact=contact, pose=pose)
        room = (
            contact.room
            + obstacle_moves @ own
            + wheel_moves @ wheel_gradient(contact=contact, pose=pose)
            + local[:, k] @ own[:3]
        )
        found = np.minimum(found, room)
    return found


def refolded(
    *,
    folds: Sequence[Fold],
    allowances: Sequence[float],
    outline: Outline,
    near: Sequence[NDArray[np.bool_]],
    obstacle_moves: Floats,
    wheel_moves: Floats,
    local: Sequence[Floats],
) -> Floats:
    """Room of one section by folding anew for each draw (N,): holds room_draws to the truth.

    near: which points of each fold take part (from near_envelope); obstacle_moves, wheel_moves
    (N, 6); local: for each fold (N, near points, 3). Source: the fold itself.
    """
    found = np.empty(len(obstacle_moves))
    for n, (body, wheel) in enumerate(zip(obstacle_moves, wheel_moves, strict=True)):
        turn = shaken(poses=np.eye(3, 4)[None], twists=body[None])[0]
        anew = []
        for one, taken, moves in zip(folds, near, local, strict=True):
            points = one.points[taken] + moves[n]
            points = points @ turn[:, :3].T + turn[:, 3]
            poses = shaken(poses=one.poses, twists=wheel[None])
            anew.append(fold(name=one.name, points=points, poses=poses, grid=one.grid))
        found[n] = closest(folds=anew, allowances=allowances, outline=outline).room
    return found
