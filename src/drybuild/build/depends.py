"""What makes a reading stale: the Changes that touch what it was taken of or depends on."""

from __future__ import annotations

import tomllib
from fnmatch import fnmatchcase
from functools import cache
from importlib.resources import files

from drybuild.build.declared import declaration


@cache
def _rules() -> tuple[tuple[str, tuple[str, ...]], ...]:
    text = files(__package__).joinpath("depends.toml").read_text(encoding="utf-8")
    return tuple((row["reading"], tuple(row["on"])) for row in tomllib.loads(text)["depends"])


@cache
def depends_on(address: str) -> tuple[str, ...]:
    """Patterns of places and addresses whose Change makes a reading of ``address`` stale."""
    declared = declaration(address)
    owner = declared.owner if declared is not None else address
    words = owner.split(".")
    axle = words[1] if len(words) > 1 else "*"
    patterns = [owner, address]
    for pattern, on in _rules():
        if fnmatchcase(address, pattern):
            patterns += [p.replace("{axle}", axle) for p in on]
    return tuple(patterns)


def spoils(touched: tuple[str, ...], address: str) -> bool:
    """Whether a Change that touches these places makes a reading of ``address`` stale."""
    patterns = depends_on(address)
    return any(fnmatchcase(t, p) for t in touched for p in patterns)
