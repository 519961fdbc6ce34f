"""Poses of a wheel: rigid transforms from the wheel to the body of its corner.

The corner's frame: origin at the hub centre (middle of the wheel's mounting face on the hub) at
ride height as found, x forward, y outboard along the axle, z up. On the right side of the car
the frame is left-handed, so that outboard is + on both sides. A pose is a (3, 4) matrix: the
point p of the wheel is at R·p + t of the body.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from drybuild.values import Array

Floats = NDArray[np.floating[Any]]


@dataclass(frozen=True)
class Poses:
    """Poses (P, 3, 4), the words for each, and what was left out."""

    transforms: Floats
    names: tuple[str, ...]
    left_out: tuple[str, ...]

    def __post_init__(self) -> None:
        t = np.asarray(self.transforms, dtype=float)
        if t.ndim != 3 or t.shape[1:] != (3, 4) or not len(t):
            raise ValueError(f"poses have the shape (P, 3, 4), got {t.shape}")
        if not np.all(np.isfinite(t)):
            raise ValueError("a pose is not finite")
        turned = np.einsum("pij,pik->pjk", t[:, :, :3], t[:, :, :3])
        if np.max(np.abs(turned - np.eye(3))) > 1e-6:
            raise ValueError("a pose is not rigid: its columns are not at right angles of length 1")
        if len(self.names) != len(t):
            raise ValueError(f"{len(t)} poses need as many names, got {len(self.names)}")
        object.__setattr__(self, "transforms", t)


def turned(*, camber: Array, toe: Array) -> Floats:
    """Turn of a wheel by camber and toe or steer: (..., 3, 3), columns forward, outboard, up.

    camber: rad, + top out; toe: rad, + front of the wheel in (towards the car). First toe about
    the upright axis, then camber about the wheel's own forward axis, which is how gauges read
    them. Source: geometry; axle direction y = (sin t·cos c, cos t·cos c, −sin c).
    """
    c, t = np.broadcast_arrays(np.asarray(camber, dtype=float), np.asarray(toe, dtype=float))
    zero = np.zeros_like(c)
    cc, sc, ct, st = np.cos(c), np.sin(c), np.cos(t), np.sin(t)
    forward = np.stack([ct, -st, zero], axis=-1)
    outboard = np.stack([st * cc, ct * cc, -sc], axis=-1)
    up = np.stack([st * sc, ct * sc, cc], axis=-1)
    return np.stack([forward, outboard, up], axis=-1)


def poses_of_curves(
    *, camber: Array, toe: Array, lateral: Array, vertical: Array, fore: Array = 0.0
) -> Floats:
    """Poses (P, 3, 4) from what is measured or solved at each.

    camber, toe (rad, as in turned), lateral: hub centre outboard, vertical: up, fore: forward
    (m), against ride height as found; they broadcast and are flattened. Source: geometry.
    """
    c, t, y, z, x = (
        np.ravel(one)
        for one in np.broadcast_arrays(
            *(np.asarray(v, dtype=float) for v in (camber, toe, lateral, vertical, fore))
        )
    )
    pose = np.empty((len(c), 3, 4))
    pose[:, :, :3] = turned(camber=c, toe=t)
    pose[:, :, 3] = np.stack([x, y, z], axis=1)
    return pose


def steered(*, poses: Floats, angle: Array, point: Floats, axis: Floats) -> Floats:
    """Poses turned about the steering axis: (P, S) flattened, travel slow and steer fast.

    poses (P, 3, 4) straight ahead; angle (S,) rad, + by the right hand about axis; point (3,) on
    the steering axis and axis (3,), both in the wheel's frame, as the axis moves with the upright.
    Source: Rodrigues' rotation formula.
    """
    turn = _rotations(np.asarray(axis, dtype=float), np.atleast_1d(np.asarray(angle, dtype=float)))
    at = np.asarray(point, dtype=float)
    own = np.concatenate([turn, (at - turn @ at)[:, :, None]], axis=2)
    r, t = poses[:, None, :, :3], poses[:, None, :, 3]
    rotation = r @ own[None, :, :, :3]
    moved = np.einsum("pqij,pqj->pqi", np.broadcast_to(r, rotation.shape), own[None, :, :, 3]) + t
    return np.concatenate([rotation, moved[..., None]], axis=3).reshape(-1, 3, 4)


def shaken(*, poses: Floats, twists: Floats) -> Floats:
    """Poses with each of the small movements added: (P, T) flattened.

    twists (T, 6): movement x, y, z (m) and turn about x, y, z (rad) of the wheel about its own hub
    centre in the body's axes, as given by bushes or body roll. Source: geometry.
    """
    w = np.atleast_2d(np.asarray(twists, dtype=float))
    turn = np.stack([_rotation_of(one[3:]) for one in w])
    rotation = turn[None] @ poses[:, None, :, :3]
    moved = poses[:, None, :, 3] + w[None, :, :3]
    return np.concatenate([rotation, moved[..., None]], axis=3).reshape(-1, 3, 4)


def _rotation_of(vector: Floats) -> Floats:
    angle = float(np.linalg.norm(vector))
    if angle == 0.0:
        return np.eye(3)
    result: Floats = _rotations(vector, np.array([angle]))[0]
    return result


def _rotations(axis: Floats, angle: Floats) -> Floats:
    length = float(np.linalg.norm(axis))
    if not length > 0.0:
        raise ValueError("the axis has no direction")
    x, y, z = axis / length
    cross = np.array([[0.0, -z, y], [z, 0.0, -x], [-y, x, 0.0]])
    s, c = np.sin(angle)[:, None, None], np.cos(angle)[:, None, None]
    result: Floats = np.eye(3) + s * cross + (1.0 - c) * (cross @ cross)
    return result
