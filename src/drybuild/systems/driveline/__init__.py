"""Driveline: gearing, clutch, shafts, and what the stock engine is known to stand."""

from __future__ import annotations

from drybuild.findings import Room
from drybuild.systems.driveline import checks, results

room = Room("driveline", title="Driveline")
results.register(room)
checks.register(room)

__all__ = ["room"]
