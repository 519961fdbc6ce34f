"""What cannot be measured while the car is apart: the piece is off, or it does not stand or run.

A reading of a wheel's room is one of a car on its wheels; one that is taken while it hangs on
stands would be believed of the car as it is driven.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import replace

from drybuild.build import State
from drybuild.build.declared import declaration
from drybuild.build.model import Measure
from drybuild.examine.measuring import Measurement
from drybuild.examine.uses import opened_hold
from drybuild.findings import AXLES

STANDING = re.compile(
    r"\b(on its wheels|level floor|level pads|weighbridge|rolled|hub centres to the floor)\b"
)
OFF = re.compile(
    r"\b(wheel off|spring out|wheel hanging|wheel hangs|outside to outside|engine cold)\b"
)
"""Words of a way to measure that want the car standing; that want it apart."""

IDLES = re.compile(r"\b(idle|idling|loads off|full speed)\b")
TABLES = ("corner", "axle")
"""Tables of what is seen at a wheel that is on, where the way to measure says nothing else."""


def not_now(address: str, state: State) -> str:
    """Why it cannot be measured on a car as it stands, in words; empty where it can. state: the
    present one; address: of the car, or of a part in hand, which no opening keeps from it."""
    plain = address.removeprefix("base:")
    declared = declaration(plain)
    if not state.open or declared is None or declared.measure is None:
        return ""
    way = declared.measure
    if way.under_way:
        return _does_not_run(way, state)
    table, _, place = declared.owner.partition(".")
    axle = place.partition(".")[0]
    at_wheel = table in TABLES and axle in AXLES and not OFF.search(way.how)
    if not at_wheel and not STANDING.search(way.how):
        return ""
    return _not_standing(axle if axle in AXLES else "", state)


def _does_not_run(way: Measure, state: State) -> str:
    """Whether the engine may run, or the car be driven, in words where it may not."""
    idles = IDLES.search(way.how) is not None
    wanted = {"run", "turn over"} if idles else {"run", "move", "creep", "drive"}
    said = "the engine does not run" if idles else "the car is not driven"
    for component in dict.fromkeys(state.open):
        hold, stops = opened_hold(component, state)
        if wanted & set(stops):
            return f"{said} as it stands: {hold.why}"
    up = _not_standing("", state)  # nobody runs one to read a gauge on it
    return f"{said} as it stands: {up}" if up else ""


def _not_standing(axle: str, state: State) -> str:
    """axle: at which it is measured; empty of the whole car."""
    ends = [axle] if axle else AXLES
    off = [a for a in ends if f"wheels_{a}" in state.open]
    if off:
        return f"the {' and '.join(off)} wheels are off"
    up = [a for a in ends if f"raised_{a}" in state.open]
    if up or "raised_lift" in state.open:
        return f"the car stands raised{': ' + ' and '.join(up) if up else ''}"
    return ""


def told_now(found: Iterable[Measurement], state: State) -> tuple[Measurement, ...]:
    """The measurements, each with why it cannot be taken as the car stands. state: the present."""
    if not state.open:
        return tuple(found)
    return tuple(
        m if m.awaited or m.note_as.startswith("part.")
        else replace(m, not_now=not_now(m.input, state))
        for m in found
    )  # fmt: skip
