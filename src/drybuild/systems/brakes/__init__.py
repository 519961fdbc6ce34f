"""Brakes: torque, balance, heat, fluid and pedal, before and after."""

from __future__ import annotations

from drybuild.findings import Room
from drybuild.systems.brakes import checks, results

room = Room("brakes", title="Brakes")
results.register(room)
checks.register(room)

__all__ = ["room"]
