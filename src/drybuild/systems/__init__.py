"""The rooms of the car's systems, as listed in ``build.kinds.ROOMS``.

Someone who adds a system adds a folder here, its part kinds there, and its name to that list.
"""

from __future__ import annotations

import importlib
from functools import cache, partial

from drybuild.build.fixings import Fixing, in_own_words
from drybuild.build.kinds import ROOMS
from drybuild.findings import Registry, Room


@cache
def registry(fixing: Fixing = "") -> Registry:
    """All results, checks and records of all systems.

    fixing: what holds the wheels of the car that they speak of, where that is known.
    """
    if fixing:
        return registry().in_words(partial(in_own_words, fixing=fixing))
    rooms: list[Room] = []
    for name in ROOMS:
        rooms.append(importlib.import_module(f"{__name__}.{name}").room)
    return Registry(rooms)


def __getattr__(name: str) -> Registry:
    if name == "REGISTRY":
        return registry()
    raise AttributeError(name)
