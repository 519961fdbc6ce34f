"""What holds the wheels of one car: nuts on studs, or bolts into the hub; said in one word.

Words that hold for every car say ``nuts or bolts``; of a car that is known they say which.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from types import MappingProxyType
from typing import Literal

from drybuild.build.kinds.corners import WheelNut
from drybuild.build.model import Part

Fixing = Literal["nut", "bolt", ""]

ROOT = "wheel_nuts"
"""The place of both, in addresses."""

ONLY_OF: Mapping[str, Fixing] = MappingProxyType({
    "wheel_nuts.thread_length": "nut", "wheel_nuts.closed_depth": "nut", "wheel_studs": "nut",
    "corner.stud_spacing": "nut", "wheel_nuts.shank_length": "bolt", "corner.hub_thread": "bolt",
    "corner.hub_thread_depth": "bolt",
})  # fmt: skip
"""What only one of the two has, by place or table and fact, or by place alone."""

_EITHER = re.compile(r"\b([Nn])ut(s?) or bolts?\b|\bNUTS OR BOLTS\b")


def fixing_of(parts: Mapping[str, Part]) -> Fixing:
    """What holds the wheels, where all that a build has for it, by id, are of one form."""
    forms = {part.form for part in parts.values() if isinstance(part, WheelNut)}
    return (forms.pop() or "") if len(forms) == 1 else ""


def of_the_other(root: str, fact: str, fixing: Fixing) -> bool:
    """Whether a fact is of nuts and studs alone on a car with bolts, or of bolts alone on one with
    nuts: nobody is asked for it."""
    of = only_of(root, fact)
    return bool(fixing and of) and of != fixing


def only_of(root: str, fact: str) -> Fixing:
    """Which of the two has a fact, where the other has none."""
    return ONLY_OF.get(f"{root}.{fact}") or ONLY_OF.get(root) or ""


def in_own_words(text: str, fixing: Fixing) -> str:
    """A text in which ``nuts or bolts`` is the one of them that the car has."""
    return _EITHER.sub(lambda found: _one(found, fixing), text) if fixing else text


def _one(found: re.Match[str], fixing: Fixing) -> str:
    if found[0].isupper():
        return f"{fixing}S".upper()
    word = f"{fixing}{found[2] or ''}"
    return word.capitalize() if found[1] == "N" else word
