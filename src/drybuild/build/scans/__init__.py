"""Scan files: points and triangles out of PLY, STL, OBJ, XYZ and glTF, or a plain refusal."""

from __future__ import annotations

from .read import MOST_BYTES, read_scan
from .scan import Scan, ScanRefused
from .surface import surface_points
from .units import UNITS, guess_units

__all__ = [
    "MOST_BYTES", "UNITS", "Scan", "ScanRefused", "guess_units", "read_scan", "surface_points",
]  # fmt: skip
