"""What a reading depends on besides the thing it was taken of (``depends.toml``).

Kinds of figure are told apart. How the car stands now goes stale with the next Change it
depends on. How it stood as found is the start from which changes are reckoned: it outlives them,
but it can no longer be read once one of them is made. What is set to suit a part stays as it was
set, and is wrong while another part is there.
"""

from __future__ import annotations

import tomllib
from functools import cache
from importlib.resources import files
from typing import Literal

from drybuild.build.declared import declaration

Stand = Literal["now", "as_found", "set_for"]


@cache
def _rules(stand: Stand) -> tuple[tuple[tuple[str, ...], tuple[str, ...]], ...]:
    text = files(__package__).joinpath("depends.toml").read_text(encoding="utf-8")
    return tuple((tuple(row["readings"]), tuple(row["on"])) for row in tomllib.loads(text)[stand])


@cache
def _depends_on(address: str, stand: Stand) -> tuple[str, ...]:
    declared = declaration(address)
    words = (declared.owner if declared is not None else address).split(".")
    axle = words[1] if len(words) > 1 else "*"
    return tuple(
        pattern.replace("{axle}", axle)
        for readings, on in _rules(stand)
        if any(_answers(address, reading) for reading in readings)
        for pattern in on
    )


def _answers(name: str, pattern: str) -> bool:
    """Word for word between dots; ``*`` is any one word."""
    words, wanted = name.split("."), pattern.split(".")
    return len(words) == len(wanted) and all(
        w in ("*", word) for w, word in zip(wanted, words, strict=True)
    )


@cache
def depends(address: str, touched: tuple[str, ...], stand: Stand) -> bool:
    """Whether a figure of that kind at an address depends on one of the things touched."""
    return any(_answers(t, p) for p in _depends_on(address, stand) for t in touched)
