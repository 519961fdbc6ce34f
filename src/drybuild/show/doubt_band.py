"""The doubt of one figure before and after a reading: two bars over one scale, and the words."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from drybuild.build.declared import field_kind
from drybuild.examine.noting import declared_at, drawn_at, present_words
from drybuild.examine.opened import OpenBuild
from drybuild.show.drawing import SCREEN, Anchor, Drawing
from drybuild.values import System, figures, kind_named, parse_value, show, shown_unit

WIDE, TALL = 440.0, 168.0
LEFT, RIGHT = 72.0, 426.0
ROWS = (("before", 42.0), ("after", 92.0))
FOOT = 132.0
SLIP = 5.0
"""So many times more or less than a typical value is no car: mm for cm, kPa for psi."""
GUESS = "assumed"
"""How a figure is known that nobody read off the car nor stated."""
APART = "The two do not agree beyond their doubt: read it once more, or ask about the first."
FAR = "It is far from what was guessed: read it once more."
"""A guess was made by nobody who could be asked."""


@dataclass(frozen=True, slots=True)
class Spread:
    """A figure with its doubt. low, median, high: SI, 95 in 100; known: how it is known."""

    kind: str
    low: float
    median: float
    high: float
    known: str = ""


def spread_at(opened: OpenBuild, address: str) -> Spread | None:
    """A figure as it stands, with its doubt; None where none is stated."""
    draws, declared = drawn_at(opened, address), declared_at(opened, address)
    kind = field_kind(declared.field) if declared is not None else None
    if draws is None or kind is None or not np.isfinite(draws).any():
        return None
    low, median, high = (float(v) for v in np.nanquantile(draws, (0.025, 0.5, 0.975)))
    known = present_words(opened, address).rpartition(", ")[2]
    return Spread(kind, low, median, high, known if not known[:1].isdigit() else "")


def spread_words(spread: Spread | None, system: System) -> str:
    """A figure as it is said, and how it is known."""
    if spread is None:
        return "nobody had said"
    said = show(spread.kind, spread.median, spread.low, spread.high, system=system)
    return f"{said}, {spread.known}" if spread.known else said


def apart(before: Spread | None, after: Spread | None) -> bool:
    """Whether two figures of the same thing do not agree beyond their doubt.

    Figures whose spans meet agree. A guess is of no car in particular: beside all of its span only
    a slip of the unit stands out. What was reckoned (nobody said how it is known) is no reading.
    """
    if before is None or after is None:
        return False
    if after.low <= before.high and before.low <= after.high:
        return False
    if before.known != GUESS:
        return bool(before.known)
    least, most = sorted((abs(before.low), abs(before.high)))
    least = 0.0 if before.low < 0 < before.high else least
    return not least / SLIP <= abs(after.median) <= most * SLIP


def apart_words(before: Spread | None) -> str:
    """What is said where two figures do not agree beyond their doubt."""
    return FAR if before is not None and before.known == GUESS else APART


def slip_text(before: Spread | None, read: str, system: System) -> str:
    """What is asked once of a reading that stands far out of all that was guessed of it, most often
    a slip of the unit; empty of any other."""
    if before is None or before.known != GUESS:
        return ""
    value = parse_value(read, before.kind)
    low, high = value.interval
    if not apart(before, Spread(before.kind, low, value.centre, high)):
        return ""
    ends = figures(before.kind, before.median, before.low, before.high, system)
    found = show(before.kind, value.centre, system=system)
    return f"{found}, where {ends[1]} to {ends[2]} {ends[3]} was expected: is it so?"


def narrowed_words(before: Spread | None, after: Spread | None) -> str:
    """How much less doubt there is, in words; empty where there is nothing to compare."""
    if before is None or after is None:
        return ""
    if apart(before, after):
        return apart_words(before)
    was, now = before.high - before.low, after.high - after.low
    if was <= 0 or now <= 0:
        return ""
    if now > was * 1.05 and before.known == GUESS:
        return "It is a reading now; before, it was a guess of no car in particular."
    if now > was * 1.05:
        return "The doubt grew: what was said before was said more surely than it could be read."
    if now > was * 0.95:
        return "The doubt is what it was."
    return f"The doubt shrank to {max(1, round(100 * now / was))} % of what it was."


def draw_band(before: Spread | None, after: Spread, system: System) -> str:
    """The picture as SVG."""
    shown = [s for s in (before, after) if s is not None]
    low, high = min(s.low for s in shown), max(s.high for s in shown)
    room = (high - low) * 0.06 or abs(high) * 0.05 or 1.0
    low, high = low - room, high + room
    unit, label = shown_unit(kind_named(after.kind), max(abs(low), abs(high)), system)

    def at(value: float) -> float:
        return LEFT + (RIGHT - LEFT) * (value - low) / (high - low)

    drawing = Drawing(SCREEN, ink="currentColor")
    for (words, y), spread in zip(ROWS, (before, after), strict=True):
        drawing.text(0, y + 6, words, size=17, heavy=words == "after")
        if spread is None:
            drawing.line([(LEFT, y), (RIGHT, y)], width=1.2, dash="2 6")
            continue
        left, right = at(spread.low), max(at(spread.high), at(spread.low) + 3)
        thick = 13.0 if words == "after" else 8.0
        drawing.box(
            left, y - thick, right - left, 2 * thick, width=1.6,
            dash="" if words == "after" else "5 4",
        )  # fmt: skip
        drawing.line([(at(spread.median), y - 17), (at(spread.median), y + 17)], width=2.6)
    drawing.line([(LEFT, FOOT), (RIGHT, FOOT)], width=1.0)
    ends: tuple[tuple[float, Anchor], ...] = (
        (low, "start"), ((low + high) / 2, "middle"), (high, "end")
    )  # fmt: skip
    for value, anchor in ends:
        drawing.line([(at(value), FOOT - 5), (at(value), FOOT + 5)], width=1.0)
        said = f"{float(f'{unit.from_si(value):.3g}'):,.12g}".replace(",", " ")
        said = f"{said} {label}".strip() if anchor == "middle" else said
        drawing.text(at(value), FOOT + 26, said, size=16, anchor=anchor)
    told = f"before {spread_words(before, system)}; after {spread_words(after, system)}"
    return drawing.svg(WIDE, TALL, told)
