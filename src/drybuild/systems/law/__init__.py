"""Law: rule sets as data, and how far inside them the car lies. A reading aid, not the law."""

from __future__ import annotations

from drybuild.findings import Room
from drybuild.systems.law import checks, results

room = Room("law", title="law and rulebooks")
results.register(room)
checks.register(room)

__all__ = ["room"]
