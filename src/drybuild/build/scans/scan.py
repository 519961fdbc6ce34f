"""What a scan file gives, and how one is refused."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from drybuild.build.errors import BuildProblem, Fault

Points = NDArray[np.float64]
Triangles = NDArray[np.int64]


class ScanRefused(BuildProblem):
    """A scan that cannot be used: which file, what was found, what was expected."""

    def __init__(self, file: str, found: str, expected: str, hint: str = "") -> None:
        self.fault = Fault(file, None, "", found, expected, hint)
        super().__init__(str(self.fault))


class FormFault(ValueError):
    """Raised by the readers of one form; the front door adds the file's name."""

    def __init__(self, found: str, expected: str, hint: str = "") -> None:
        self.found, self.expected, self.hint = found, expected, hint
        super().__init__(f"{found}; expected {expected}")


@dataclass(frozen=True)
class Raw:
    """What a reader of one form hands over, unchecked: numbers as the file has them."""

    form: str
    points: NDArray[np.floating[Any]]
    triangles: NDArray[np.integer[Any]] | None = None
    notes: tuple[str, ...] = ()
    units: str | None = None  # where the form itself fixes them


@dataclass(frozen=True)
class Scan:
    """Points in the file's own units and axes, finite all of them.

    triangles index points, None where the file has none. form says what the file is, units what
    its form fixes (None: the file does not say), notes what was left out or mended.
    """

    file: str
    form: str
    points: Points
    triangles: Triangles | None
    units: str | None
    notes: tuple[str, ...]

    @property
    def extent(self) -> Points:
        """Size of the box around the points along its own axes (3,)."""
        size: Points = np.ptp(self.points, axis=0)
        return size


def checked(raw: Raw, file: str) -> Scan:
    """Leave out what is no number or points nowhere; refuse what has nothing left."""
    notes = list(raw.notes)
    points = np.ascontiguousarray(raw.points, dtype=np.float64)
    if points.ndim != 2 or points.shape[1] != 3 or not len(points):
        raise ScanRefused(file, f"{raw.form} without points", "three coordinates of each point")
    with np.errstate(over="ignore"):
        good = np.all(np.abs(points) < 1e12, axis=1)  # false for NaN as well
    triangles: Triangles | None = None
    if raw.triangles is not None and len(raw.triangles):
        named = np.asarray(raw.triangles, dtype=np.int64)
        there = np.all((named >= 0) & (named < len(points)), axis=1)
        if not there.all():
            notes.append(
                f"{np.count_nonzero(~there)} of {len(named)} faces name points that are not there: "
                "left out"
            )
        named = named[there]
        kept = np.all(good[named], axis=1) if len(named) else np.zeros(0, bool)
        new = np.cumsum(good) - 1
        triangles = np.asarray(new[named[kept]], dtype=np.int64)
    if not good.all():
        bad = np.count_nonzero(~good)
        notes.append(f"{bad} of {len(points)} points are not numbers: left out")
        points = points[good]
    if len(points) < 3:
        raise ScanRefused(
            file, f"{raw.form} with {len(points)} usable points",
            "a surface: three points at the very least",
        )  # fmt: skip
    if not np.any(np.ptp(points, axis=0) > 0.0):
        raise ScanRefused(file, "all points in one place", "a surface")
    if triangles is not None and not len(triangles):
        triangles = None
    return Scan(file, raw.form, points, triangles, raw.units, tuple(notes))
