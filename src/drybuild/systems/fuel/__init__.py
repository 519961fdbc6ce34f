"""Fuel: blends, tank, pump, lines, regulator, rails, injectors."""

from __future__ import annotations

from drybuild.findings import Room
from drybuild.systems.fuel import checks, results

room = Room("fuel", title="Fuel")
results.register(room)
checks.register(room)
