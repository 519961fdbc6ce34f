"""All part kinds, places and sections of the car: one module a room, joined here."""

from __future__ import annotations

import importlib
from functools import cache
from types import ModuleType

from drybuild.build.model import Part, Place, Section

ROOMS = (
    "ride",
    "corners",
    "brakes",
    "breathing",
    "cooling",
    "fuel",
    "electrics",
    "driveline",
    "calibration",
    "law",
)
PAPERS = ("identity",)
"""Modules beside the rooms: what they hold is printed, and no system asks for it."""


@cache
def _modules() -> tuple[ModuleType, ...]:
    found = []
    for room in (*ROOMS, *PAPERS):
        found.append(importlib.import_module(f"{__name__}.{room}"))
    return tuple(found)


@cache
def part_kinds() -> dict[str, type[Part]]:
    """Kind → model of its parts."""
    found: dict[str, type[Part]] = {}
    for module in _modules():
        for thing in vars(module).values():
            if isinstance(thing, type) and issubclass(thing, Part) and "kind" in thing.model_fields:
                kind = str(thing.model_fields["kind"].default)
                if found.setdefault(kind, thing) is not thing:
                    raise TypeError(f"part kind {kind!r} is declared twice")
    return found


@cache
def places() -> dict[str, Place]:
    """Root → place."""
    found: dict[str, Place] = {}
    for module in _modules():
        for place in getattr(module, "PLACES", ()):
            if place.root in found:
                raise TypeError(f"place {place.root!r} is declared twice")
            found[place.root] = place
    return found


@cache
def room_of() -> dict[str, str]:
    """Root of a place → the room that declares it."""
    return {
        place.root: module.__name__.rpartition(".")[2]
        for module in _modules()
        for place in getattr(module, "PLACES", ())
    }


@cache
def place_of() -> dict[str, Place]:
    """Place instance (``wheel.front.left``) → place."""
    return {instance: p for p in places().values() for instance in p.instances}


@cache
def sections() -> dict[str, type[Section]]:
    """Table name → its model; rooms that share a table are joined in the order of ROOMS."""
    shares: dict[str, list[type[Section]]] = {}
    for module in _modules():
        for name, model in getattr(module, "SECTIONS", {}).items():
            shares.setdefault(name, []).append(model)
    joined: dict[str, type[Section]] = {}
    for name, models in shares.items():
        owners: dict[str, str] = {}
        for model in models:
            for field in model.model_fields:
                if field in owners:
                    raise TypeError(f"[{name}] {field} is declared twice")
                owners[field] = model.__name__
        doc = " ".join((model.__doc__ or "").strip() for model in models)
        joined[name] = type(name.capitalize(), tuple(models), {"__doc__": doc})
    return joined
