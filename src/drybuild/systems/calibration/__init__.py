"""Calibration: what the map in the control unit believes, against what is fitted."""

from __future__ import annotations

from drybuild.findings import Room
from drybuild.systems.calibration import checks, results

room = Room("calibration", title="Calibration")
results.register(room)
checks.register(room)

__all__ = ["room"]
