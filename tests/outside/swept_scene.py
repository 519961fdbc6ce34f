"""A tyre, a grid and the room about it, for the tests of swept clearance."""

from __future__ import annotations

import numpy as np

from drybuild.systems.corners import swept

CELL = 0.002
GRID = swept.Grid(-0.25, 0.20, 0.05, 0.45, cell=CELL)
CORE = swept.Core(axial=-0.03, bead_radius=0.2, tread_radius=0.24, half_width=0.06)
STILL = np.eye(3, 4)[None]


def tyre(**other: float) -> swept.Outline:
    given = {
        "section_width": 0.225, "rim_width": 0.2, "offset": 0.03, "bead_radius": 0.2,
        "overall_radius": 0.31, "shoulder_radius": 0.02,
    }  # fmt: skip
    return swept.tyre_outline(**(given | other))


def box(inner: float, outer: float, low: float, high: float) -> swept.Outline:
    corners = np.array([[inner, low], [inner, high], [outer, high], [outer, low]])
    return swept.Outline(corners, ("inner", "top", "outer", "bottom"))


def room_of(points: np.ndarray, transforms: np.ndarray, outline: swept.Outline) -> float:
    """Room as the fold and look-up give it."""
    fold = swept.fold(name="thing", points=points, poses=transforms, grid=GRID)
    around = swept.envelope(folds=[fold], allowances=[0.0], core=CORE)
    shapes = swept.shapes_of([outline])
    found = swept.rooms(envelope=around, shapes=shapes, shape=np.array([0]), shift=np.zeros(1))
    return float(found[0])


def within_a_cell(exact: np.ndarray) -> dict[str, object]:
    """Expected value and tolerance of something that errs towards contact by up to one cell."""
    return {"expected": np.asarray(exact) - CELL / 2.0, "abs": CELL / 2.0}




def ring(axial: float, radius: float) -> np.ndarray:
    turn = np.linspace(-0.6, 0.6, 400)
    return np.stack([radius * np.sin(turn), np.full(400, axial), radius * np.cos(turn)], axis=1)
