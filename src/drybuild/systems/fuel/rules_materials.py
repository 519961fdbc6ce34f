"""The table of wetted materials: data beside this module, read once."""

from __future__ import annotations

import tomllib
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

from drybuild.values import Array


@dataclass(frozen=True)
class Material:
    """What one material stands: highest ethanol fraction by volume, why, and by whose word."""

    name: str
    limit: float
    note: str
    source: str


@cache
def materials() -> dict[str, Material]:
    """Name → material."""
    text = (files(__package__) / "materials.toml").read_text(encoding="utf-8")
    data = tomllib.loads(text)
    sources: dict[str, str] = data["source"]
    return {
        name: Material(name, float(row["limit"]), row.get("note", ""), sources[row["source"]])
        for name, row in data["material"].items()
    }


def ethanol_limit(stated: Array | Iterable[str]) -> Array:
    """Ethanol limit of a part: as its maker states it, or the weakest of its wetted materials."""
    if isinstance(stated, tuple | list | frozenset):
        table = materials()
        return min((table[name].limit for name in stated), default=1.0)
    return stated  # type: ignore[return-value]
