"""What holds the wheel of a corner, as somebody said or read it: nuts on studs, or bolts."""

from __future__ import annotations

from drybuild.build import Build, State
from drybuild.build.declared import declaration
from drybuild.build.drawn import stated
from drybuild.build.fixings import ROOT, Fixing
from drybuild.build.kinds.corners import WheelNut
from drybuild.findings import CORNERS
from drybuild.values import HowKnown


def said_form(build: Build, part: str) -> Fixing:
    """Of a part by itself; empty where its file only guesses it, and of any other kind."""
    found = build.parts[part]
    if not isinstance(found, WheelNut) or found.form is None:
        return ""
    guessed = found.how_known("form", build.part_known[part]) is HowKnown.ASSUMED
    return "" if guessed else found.form


def held_by(state: State, corner: str) -> Fixing:
    """Of one corner; empty where nobody said, or a file only guesses it."""
    declared = declaration(f"{ROOT}.{corner}.form")
    there = stated(state, declared) if declared is not None else None
    if there is None or there.known is HowKnown.ASSUMED:
        return ""
    return "bolt" if there.value == "bolt" else "nut"


def all_held_by(state: State) -> Fixing:
    """Of all four corners where they are alike, else empty."""
    found = {held_by(state, corner) for corner in CORNERS}
    return found.pop() if len(found) == 1 else ""
