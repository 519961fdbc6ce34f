"""Breathing: from the air outside to power at the wheels."""

from __future__ import annotations

from drybuild.findings import Room
from drybuild.systems.breathing import checks, records, results

room = Room("breathing", title="Breathing")
results.register(room)
checks.register(room)
records.register(room)

__all__ = ["room"]
