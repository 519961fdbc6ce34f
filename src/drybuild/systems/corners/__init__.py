"""Corners: tyre, rim, fasteners, clearances moved from where they were measured by hand."""

from __future__ import annotations

from drybuild.systems.corners import (
    checks,
    checks_clearance,
    checks_fasteners,
    checks_swept,
    records,
    results,
    results_fasteners,
    results_holding,
    results_swept,
)
from drybuild.systems.corners.results_room import room

__all__ = [
    "checks",
    "checks_clearance",
    "checks_fasteners",
    "checks_swept",
    "records",
    "results",
    "results_fasteners",
    "results_holding",
    "results_swept",
    "room",
]
