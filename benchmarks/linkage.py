"""How many positions of an upright the linkage solver finds a second.

    python benchmarks/linkage.py            a few lines
    python benchmarks/linkage.py --json     one JSON object with linkage_poses_per_second

A pose is one position of the upright, solved to rounding: five equations in five unknowns, 64-bit
floats. Every draw has hardpoints of its own; travel runs over ±100 mm in 41 steps, the rack over 5
positions where there is one. One thread is as fast as two: a step's arrays are small enough to stay
in fast memory, and there the interpreter's lock is what threads wait for. Beside it stands the
plain way, one pose at a time by SciPy's `root`, on the same corners; both must give the same wheel
centre.
"""

from __future__ import annotations

import argparse
import json
import os
import statistics
import sys
import time
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from typing import Any

import numpy as np
import numpy.typing as npt
from scipy.optimize import root
from scipy.spatial.transform import Rotation

from drybuild.systems.ride.kinematics.linkage import (
    Linkage,
    double_wishbone,
    links,
    strut_and_arm,
)
from drybuild.systems.ride.kinematics.solve import Poses, solve_poses

Floats = npt.NDArray[np.float64]
TRAVEL = np.linspace(-0.1, 0.1, 41)
RACK = np.linspace(-0.03, 0.03, 5)
DRAWS = 4096
DOUBT = 1e-3  # m, standard deviation of a hardpoint
SAME = 1e-9  # m

WISHBONES: dict[str, Any] = {
    "lower_front": (0.16, 0.35, 0.195),
    "lower_rear": (-0.21, 0.36, 0.205),
    "lower_outer": (0.012, 0.70, 0.185),
    "upper_front": (0.11, 0.42, 0.455),
    "upper_rear": (-0.17, 0.43, 0.445),
    "upper_outer": (-0.021, 0.655, 0.47),
    "tie_inner": (0.13, 0.365, 0.245),
    "tie_outer": (0.135, 0.68, 0.24),
    "wheel_centre": (0.0, 0.74, 0.30),
}
STRUT: dict[str, Any] = {
    "lower_front": (0.05, 0.36, 0.20),
    "lower_rear": (-0.28, 0.37, 0.215),
    "lower_outer": (0.01, 0.70, 0.185),
    "strut_top": (-0.045, 0.57, 0.86),
    "strut_foot": (-0.012, 0.635, 0.36),
    "tie_inner": (-0.11, 0.33, 0.26),
    "tie_outer": (-0.13, 0.69, 0.25),
    "wheel_centre": (0.0, 0.745, 0.30),
}
INNER = [(0.28, 0.36, 0.215), (-0.09, 0.33, 0.175), (0.13, 0.43, 0.41), (-0.14, 0.40, 0.44)]
OUTER = [(0.04, 0.685, 0.165), (-0.06, 0.69, 0.185), (0.05, 0.655, 0.435), (-0.045, 0.66, 0.45)]
INNER.append((-0.20, 0.34, 0.235))
OUTER.append((-0.155, 0.675, 0.255))


def corners(draws: int) -> dict[str, tuple[Linkage, Floats]]:
    """Corners with every hardpoint in doubt, and the rack's positions."""
    rng = np.random.default_rng(7)

    def drawn(point: tuple[float, float, float]) -> Floats:
        return np.array(point)[:, None] + DOUBT * rng.normal(size=(3, draws))

    five = links(
        inner=[drawn(p) for p in INNER],
        outer=[drawn(p) for p in OUTER],
        wheel_centre=drawn((0.0, 0.745, 0.305)),
    )
    return {
        "double wishbone": (double_wishbone(**{n: drawn(p) for n, p in WISHBONES.items()}), RACK),
        "strut": (strut_and_arm(**{n: drawn(p) for n, p in STRUT.items()}), RACK),
        "five links": (five, np.zeros(1)),
    }


def part_of(linkage: Linkage, draws: slice) -> Linkage:
    """Some of the draws of a corner."""
    return replace(
        linkage,
        anchor=linkage.anchor[..., draws],
        arm=linkage.arm[..., draws],
        size=linkage.size[..., draws],
        centre=linkage.centre[..., draws],
    )


def solved_by(threads: int, linkage: Linkage, rack: Floats) -> list[Poses]:
    """All poses, draws shared out to threads."""
    share = -(-linkage.draws // threads)
    parts = [part_of(linkage, slice(n, n + share)) for n in range(0, linkage.draws, share)]
    if threads == 1:
        return [solve_poses(linkage=part, travel=TRAVEL, steer=rack) for part in parts]
    with ThreadPoolExecutor(threads) as pool:
        return list(
            pool.map(lambda part: solve_poses(linkage=part, travel=TRAVEL, steer=rack), parts)
        )


def one_at_a_time(linkage: Linkage, poses: int) -> tuple[float, float]:
    """Poses a second of SciPy's root, one pose at a time, and the largest difference, m."""
    found = solve_poses(linkage=part_of(linkage, slice(0, poses)), travel=0.03)
    worst = 0.0
    begin = time.perf_counter()
    for draw in range(poses):
        anchor, arm = linkage.anchor[:, :, draw], linkage.arm[:, :, draw]
        centre, size = linkage.centre[:, draw], linkage.size[:, draw]

        def left(
            q: Floats,
            anchor: Floats = anchor,
            arm: Floats = arm,
            high: float = float(centre[2]) + 0.03,
            size: Floats = size,
        ) -> Floats:
            turn = Rotation.from_rotvec(q[2:]).as_matrix()
            rod = turn @ arm + np.array([[q[0]], [q[1]], [high]]) - anchor
            length: Floats = np.linalg.norm(rod, axis=0) - size
            return length

        answer = root(left, [centre[0], centre[1], 0.0, 0.0, 0.0], tol=1e-13)
        worst = max(worst, float(np.max(np.abs(answer.x[:2] - found.centre[:2, 0, 0, draw]))))
    return poses / (time.perf_counter() - begin), worst


def measure(times: int, draws: int, threads: int) -> dict[str, Any]:
    """Rates, with what they were measured on."""
    built = corners(draws)
    rates: dict[str, float] = {}
    for name, (linkage, rack) in built.items():
        solved_by(threads, part_of(linkage, slice(0, 256)), rack)
        took = []
        for _ in range(times):
            begin = time.perf_counter()
            poses = solved_by(threads, linkage, rack)
            took.append(time.perf_counter() - begin)
            if not all(np.all(part.solved == 1.0) for part in poses):
                sys.exit(f"{name}: some poses were not solved")
        rates[name] = len(TRAVEL) * len(rack) * draws / statistics.median(took)
    plain, worst = one_at_a_time(built["double wishbone"][0], 50)
    if worst > SAME:
        sys.exit(f"the plain way gives another wheel centre, {worst:.2g} m off")
    return {
        "linkage_poses_per_second": min(rates.values()),
        "rates": rates,
        "one_at_a_time_poses_per_second": plain,
        "largest_difference_m": worst,
        "threads": threads,
        "cores": os.cpu_count(),
        "draws": draws,
        "times": times,
    }


def main(argv: list[str] | None = None) -> int:
    parser = argparse.ArgumentParser(description="Time the linkage solver.")
    parser.add_argument("--json", action="store_true", help="one JSON object")
    parser.add_argument("--times", type=int, default=5, help="repetitions; the median counts")
    parser.add_argument("--draws", type=int, default=DRAWS)
    parser.add_argument("--threads", type=int, default=1, help="share the draws out")
    asked = parser.parse_args(argv)
    got = measure(asked.times, asked.draws, asked.threads)
    if asked.json:
        print(json.dumps(got))
        return 0
    for name, rate in got["rates"].items():
        print(f"{name:16} {rate / 1e6:.2f} million poses a second, {got['threads']} threads")
    print(f"one at a time    {got['one_at_a_time_poses_per_second']:.0f} poses a second")
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
