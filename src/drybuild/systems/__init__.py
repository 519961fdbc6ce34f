"""The rooms of the car's systems, as listed in ``build.kinds.ROOMS``.

Someone who adds a system adds a folder here, its part kinds there, and its name to that list.
"""

from __future__ import annotations

import importlib
from functools import cache

from drybuild.build.kinds import ROOMS
from drybuild.findings import Registry, Room


@cache
def registry() -> Registry:
    """All results, checks and records of all systems."""
    rooms: list[Room] = []
    for name in ROOMS:
        rooms.append(importlib.import_module(f"{__name__}.{name}").room)
    return Registry(rooms)


def __getattr__(name: str) -> Registry:
    if name == "REGISTRY":
        return registry()
    raise AttributeError(name)
