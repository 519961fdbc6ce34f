"""What stands on a tyre and on a wheel, taken apart: each figure with a line to what it means."""

from __future__ import annotations

import math
import re

from drybuild.show.drawing import SCREEN, Drawing
from drybuild.systems.corners.formulas_wheel import bolt_circle

WIDE = 360.0
BIG, SIZE = 28.0, 16.5
FOOT, ROW = 52.0, 32.0

MEANT = {
    "tyre": ("width, mm", "height, % of the width", "rim", "load, speed"),
    "wheel": ("rim width, inch", "rim", "holes, circle in mm", "offset, mm"),
}
"""What each piece of a marking means, in the order in which they stand."""
PIECES = {
    "tyre": re.compile(r"(\d+)(/\d+)( R\d+)( \w+)"),
    "wheel": re.compile(r"([\d.]+J)(x\d+)( \dx\d+)( ET\d+)"),
}
HOLES = 5
FACE, CIRCLE, HOLE = 66.0, 40.0, 8.0
"""Radii of the wheel's middle, of the circle through its holes and of a hole, as they are drawn."""


def draw_marking(of: str, marking: str) -> str:
    """The sketch of a marking, of a ``tyre`` or a ``wheel``, as SVG.

    marking: one with all its pieces; the same that is given as the example beside it.
    """
    found = PIECES[of].fullmatch(marking)
    if found is None:
        raise ValueError(f"not all pieces of a {of}'s marking: {marking!r}")
    pieces = tuple(zip(found.groups(), MEANT[of], strict=True))
    drawing = Drawing(SCREEN, ink="currentColor")
    whole = "".join(piece for piece, _ in pieces)
    # A longer marking stands closer, so that the words at its lines keep room to the right.
    step = BIG * min(0.62, 9.6 / len(whole))
    x = 14.0
    for number, (piece, meaning) in enumerate(pieces):
        shown = piece.strip()
        x += step * 0.5 * (len(piece) - len(shown))
        long = step * len(shown)
        drawing.parts.append(
            f'<text x="{x:.1f}" y="{FOOT - 16:.0f}" font-size="{BIG:g}" font-weight="700" '
            f'textLength="{long:.1f}" lengthAdjust="spacingAndGlyphs" fill="{drawing.ink}">'
            f"{shown}</text>"
        )
        middle, y = x + long / 2, FOOT + 30 + ROW * (len(pieces) - 1 - number)
        drawing.line([(x + 2, FOOT - 8), (x + long - 2, FOOT - 8)], width=1.6)
        drawing.line([(middle, FOOT - 8), (middle, y - 5), (middle + 12, y - 5)], width=0.9)
        drawing.text(middle + 17, y, meaning, size=SIZE)
        x += long
    told = "; ".join(f"{piece.strip()}: {meaning}" for piece, meaning in pieces)
    tall = FOOT + 14 + ROW * len(pieces)
    if of == "wheel":
        told += ". " + _bolt_holes(drawing, tall)
        tall += 2 * FACE + 18
    return drawing.svg(WIDE, tall, f"{whole}. {told}")


def _bolt_holes(drawing: Drawing, top: float) -> str:
    """The circle through the bolt holes and how it is found with a rule; says so in words too."""
    x, y = FACE + 8, top + FACE + 4
    for radius, width, dash in ((FACE, 2.2, ""), (CIRCLE, 0.9, "4 4"), (14.0, 1.4, "")):
        _round(drawing, x, y, radius, width=width, dash=dash)
    turns = [math.tau * (n - 0.5) / HOLES - math.pi / 2 for n in range(HOLES)]
    spots = [(x + CIRCLE * math.cos(turn), y + CIRCLE * math.sin(turn)) for turn in turns]
    for spot in spots:
        _round(drawing, *spot, HOLE, width=1.8)
    drawing.line(spots[:2], width=1.6)
    drawing.text(x, spots[0][1] + 14, "a", size=SIZE, heavy=True, anchor="middle")
    found = [f"{n} holes: a × {float(bolt_circle(count=n, spacing=1.0)):.2f}" for n in (4, 5)]
    said = ("circle, dashed:", *found, "a: middle to middle", "of two neighbours")
    drawing.lines(2 * FACE + 30, y - 42, said, size=SIZE, pitch=1.4)
    return f"The circle goes through the middles of the holes. {'; '.join((*found, *said[-2:]))}"


def _round(
    drawing: Drawing, x: float, y: float, radius: float, *, width: float, dash: str = ""
) -> None:
    dashed = f' stroke-dasharray="{dash}"' if dash else ""
    drawing.parts.append(
        f'<circle cx="{x:.1f}" cy="{y:.1f}" r="{radius:g}" fill="none" stroke="{drawing.ink}" '
        f'stroke-width="{width:g}"{dashed}/>'
    )
