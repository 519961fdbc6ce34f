"""Cooling: the engine's heat and the charge air's against what the coolers pass."""

from __future__ import annotations

from drybuild.findings import Room
from drybuild.systems.cooling import checks, results

room = Room("cooling", title="Cooling")
results.register(room)
checks.register(room)

__all__ = ["room"]
