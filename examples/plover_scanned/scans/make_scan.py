"""Makes rear_left.ply: an invented scan of the invented Plover's rear left wheel house.

    python examples/plover_scanned/scans/make_scan.py [FILE]

The truth is known, which no real scan offers: surfaces are drawn so that the points measured by
hand in car.toml (arch lip, arm, upright) lie on them, then turned into a scanner's own axes and
millimetres, with noise, one registration error, a few strays and a patch that was not reached.
Wheel off, car on stands with the hub held at ride height. Nothing here was measured on a car.
"""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.floating[Any]]

# The corner's frame (m): hub face's middle at ride height as found, x forward, y outboard, z up.
# Where the hand measurements of car.toml put the three points: 205/50 R16 on 6.5 in, offset
# 45 mm, camber -1.2 degrees; see tests/systems/corners/test_swept_demo.py, which computes them.
LIP = (0.0781, 0.371)  # y, z of the arch lip's inner edge over the axle
ARM = (-0.1815, 0.120)  # y, z of the nearest place of the damper's outer side
UPRIGHT = (-0.1710, 0.05)  # y, z of the nearest place of the upright

NOISE = 0.00025  # of a single point (m, standard deviation)
SHIFT = np.array([0.0006, 0.0003, 0.0005])  # the scan's registration error (m)
PICKED = {  # marks stuck on hub and sill, in the corner's frame (m)
    "hub face middle": (0.0, 0.0, 0.0),
    "stud, forward": (0.05, 0.024, 0.0),
    "stud, up": (0.0, 0.024, 0.05),
    "mark on the sill": (0.42, 0.03, -0.06),
}
# the scanner's axes: x up, y forward, z outboard; its zero somewhere on the floor
TURN = np.array([[0.0, 0.0, 1.0], [1.0, 0.0, 0.0], [0.0, 1.0, 0.0]])
ZERO = np.array([310.0, -155.0, 640.0])  # mm


def lip_radius(turn: Floats) -> Floats:
    """The arch opens towards its ends."""
    return np.asarray(LIP[1] + 0.08 * (1.0 - np.cos(turn)))


def surfaces(rng: np.random.Generator) -> Floats:
    """Points on arch lip, liner, inner wall, damper, arm and upright."""
    parts = []
    turn = rng.uniform(-1.25, 1.25, 3600)
    # the flange that is turned in; the body's side stands further out towards its ends
    across = LIP[0] + 0.06 * (1.0 - np.cos(turn)) + rng.uniform(0.0, 0.012, 3600)
    r = lip_radius(turn)
    parts.append(np.stack([r * np.sin(turn), across, r * np.cos(turn)], 1))
    turn = rng.uniform(-1.25, 1.25, 6200)  # liner behind it, over the tread
    across = rng.uniform(-0.20, LIP[0], 6200)
    r = 0.435 + 0.012 * np.cos(2.0 * turn) - 0.05 * (across / 0.2) ** 2 * (across > 0)
    parts.append(np.stack([r * np.sin(turn), across, r * np.cos(turn)], 1))
    x, z = rng.uniform(-0.38, 0.38, 2600), rng.uniform(-0.10, 0.40, 2600)
    wall = np.stack([x, np.full(2600, -0.225) - 0.02 * (z > 0.2), z], 1)  # inner wall
    parts.append(wall[np.hypot(x, z) < 0.42])
    # damper: leans inboard going up, its outer side through the arm point of the hand measurement
    round_it, up = rng.uniform(0.0, 2 * np.pi, 2600), rng.uniform(-0.06, 0.36, 2600)
    middle = ARM[0] - 0.028 - 0.10 * np.abs(up - ARM[1])
    parts.append(
        np.stack([0.01 + 0.028 * np.sin(round_it), middle + 0.028 * np.cos(round_it), up], 1)
    )
    along, round_it = rng.uniform(0.0, 0.2, 1300), rng.uniform(0.0, 2 * np.pi, 1300)  # lower arm
    parts.append(
        np.stack(
            [0.07 + 0.018 * np.cos(round_it), -0.19 - along, -0.115 + 0.018 * np.sin(round_it)], 1
        )
    )
    knob = rng.normal(size=(700, 3))  # end of the upright that stands nearest to the tyre
    knob *= 0.012 / np.linalg.norm(knob, axis=1)[:, None]
    parts.append(knob + np.array([-0.20, UPRIGHT[0] - 0.012, UPRIGHT[1]]))
    return np.concatenate(parts)


def scanned(seed: int = 7) -> Floats:
    """The scan in the scanner's axes, mm."""
    rng = np.random.default_rng(seed)
    points = surfaces(rng)
    # a patch of the liner behind the tyre that the scanner did not see
    clock = np.arctan2(points[:, 0], points[:, 2])
    points = points[~((clock < -1.0) & (points[:, 1] < -0.05) & (points[:, 2] > 0.0))]
    strays = rng.uniform([-0.3, -0.15, 0.0], [0.3, 0.05, 0.34], (12, 3))
    points = np.concatenate([points, strays]) + SHIFT
    points += rng.normal(scale=NOISE, size=points.shape)
    return in_scanner(points)


def in_scanner(points: Floats) -> Floats:
    return np.asarray(1000.0 * points @ TURN.T + ZERO)


def ply(points: Floats) -> bytes:
    head = (
        "ply\nformat binary_little_endian 1.0\n"
        "comment invented: made by make_scan.py, no real car\n"
        f"element vertex {len(points)}\nproperty float x\nproperty float y\nproperty float z\n"
        "end_header\n"
    )
    return head.encode() + np.round(points, 2).astype("<f4").tobytes()


def main() -> None:
    beside = Path(__file__).with_name("rear_left.ply")
    path = Path(sys.argv[1]) if len(sys.argv) > 1 else beside
    path.write_bytes(ply(scanned()))
    print(f"{path.name}: {path.stat().st_size / 1000:.0f} kB, invented")
    for name, place in PICKED.items():
        at = ", ".join(f"{one:.1f}" for one in in_scanner(np.array(place)))
        print(f"  picked: {name}: [{at}]")


if __name__ == "__main__":
    main()
