"""Electrics: wires, fuses, relays, alternator."""

from __future__ import annotations

from drybuild.findings import Room
from drybuild.systems.electrics import checks, results

room = Room("electrics", title="Electrics")
results.register(room)
checks.register(room)
