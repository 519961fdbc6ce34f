"""The doubt of one figure before and after a reading: two bars over one scale, and the words."""

from __future__ import annotations

from dataclasses import dataclass

from drybuild.show.drawing import SCREEN, Anchor, Drawing
from drybuild.values import System, kind_named, show, shown_unit

WIDE, TALL = 440.0, 168.0
LEFT, RIGHT = 72.0, 426.0
ROWS = (("before", 42.0), ("after", 92.0))
FOOT = 132.0


@dataclass(frozen=True, slots=True)
class Spread:
    """A figure with its doubt. low, median, high: SI, 95 of 100; known: how it is known."""

    kind: str
    low: float
    median: float
    high: float
    known: str = ""


def spread_words(spread: Spread | None, system: System) -> str:
    """A figure as it is said, and how it is known."""
    if spread is None:
        return "nobody had said"
    said = show(spread.kind, spread.median, spread.low, spread.high, system=system)
    return f"{said}, {spread.known}" if spread.known else said


def narrowed_words(before: Spread | None, after: Spread | None) -> str:
    """How much less doubt there is, in words; empty where there is nothing to compare."""
    if before is None or after is None:
        return ""
    if after.high < before.low or after.low > before.high:
        return "The two do not agree beyond their doubt: read it once more, or ask about the first."
    was, now = before.high - before.low, after.high - after.low
    if was <= 0 or now <= 0:
        return ""
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
