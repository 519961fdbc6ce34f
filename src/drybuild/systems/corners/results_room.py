"""The room itself, which results and checks register with."""

from __future__ import annotations

from drybuild.findings import Room

room = Room("corners", title="Corners")
