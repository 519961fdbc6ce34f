"""What holds the wheels of one car: nuts on studs, or bolts into the hub; said in one word.

Words that hold for every car say ``nuts or bolts``; of a car that is known they say which.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Literal

from drybuild.build.kinds.corners import WheelNut
from drybuild.build.model import Part

Fixing = Literal["nut", "bolt", ""]

ROOT = "wheel_nuts"
"""The place of both, in addresses."""

_EITHER = re.compile(r"\b([Nn])ut(s?) or bolts?\b|\bNUTS OR BOLTS\b")


def fixing_of(parts: Mapping[str, Part]) -> Fixing:
    """What holds the wheels, where all that a build has for it, by id, are of one form."""
    forms = {part.form for part in parts.values() if isinstance(part, WheelNut)}
    return (forms.pop() or "") if len(forms) == 1 else ""


def in_own_words(text: str, fixing: Fixing) -> str:
    """A text in which ``nuts or bolts`` is the one of them that the car has."""
    return _EITHER.sub(lambda found: _one(found, fixing), text) if fixing else text


def _one(found: re.Match[str], fixing: Fixing) -> str:
    if found[0].isupper():
        return f"{fixing}S".upper()
    word = f"{fixing}{found[2] or ''}"
    return word.capitalize() if found[1] == "N" else word
