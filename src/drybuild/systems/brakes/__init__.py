"""Brakes: torque, balance, heat, fluid and pedal, before and after."""

from __future__ import annotations

from drybuild.findings import Room
from drybuild.systems.brakes import checks, checks_depth, results, results_depth

room = Room("brakes", title="Brakes")
results.register(room)
results_depth.register(room)
checks.register(room)
checks_depth.register(room)

__all__ = ["room"]
