"""What the drawings of measuring sheets are made of: letters in rings, and lines with ends."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass, field
from math import cos, hypot, pi, sin

from drybuild.show.drawing import PAPER, Drawing, Face, Point

THIN, LINE, THICK = 0.9, 1.5, 2.6
RING = 11.0
LEGIBLE = 1.2
"""Letters of words against those of the same drawing on a larger sheet: to be read on paper."""


@dataclass
class Sketch:
    """A drawing with letters. shown: the spots that the sheet asks for, others are left out; as a
    mapping, each with the letter that the sheet names it by."""

    shown: Collection[str] | Mapping[str, str]
    face: Face = PAPER
    paper: str = "#fff"
    drawing: Drawing = field(init=False)

    def __post_init__(self) -> None:
        self.drawing = Drawing(self.face, ink="#000")

    def line(self, *points: Point, width: float = LINE, dash: str = "", fill: str = "none",
             closed: bool = False) -> None:  # fmt: skip
        """A line through points."""
        self.drawing.line(points, width=width, dash=dash, fill=fill, closed=closed)

    def box(self, left: float, top: float, wide: float, tall: float, *, width: float = LINE,
            fill: str = "none", dash: str = "") -> None:  # fmt: skip
        """A rectangle."""
        self.drawing.box(left, top, wide, tall, width=width, fill=fill, dash=dash)

    def circle(self, x: float, y: float, radius: float, *, width: float = LINE, dash: str = "",
               fill: str = "none") -> None:  # fmt: skip
        """A circle."""
        self.arc(x, y, radius, 0, 360, width=width, dash=dash, fill=fill)

    def arc(self, x: float, y: float, radius: float, start: float, end: float, *,
            width: float = LINE, dash: str = "", fill: str = "none") -> None:  # fmt: skip
        """Part of a circle; degrees, clockwise from the right."""
        steps = max(8, int(abs(end - start) / 6))
        turns = [pi / 180 * (start + (end - start) * k / steps) for k in range(steps + 1)]
        points = [(x + radius * cos(t), y + radius * sin(t)) for t in turns]
        self.drawing.line(points, width=width, dash=dash, fill=fill)

    def round_box(self, left: float, top: float, wide: float, tall: float, corner: float, *,
                  width: float = LINE, fill: str = "none") -> None:  # fmt: skip
        """A rectangle with round corners."""
        right, foot = left + wide, top + tall
        turns = [(left + corner, top + corner, 180), (right - corner, top + corner, 270),
                 (right - corner, foot - corner, 0),
                 (left + corner, foot - corner, 90)]  # fmt: skip
        points: list[Point] = []
        for x, y, start in turns:
            for k in range(7):
                t = pi / 180 * (start + 15 * k)
                points.append((x + corner * cos(t), y + corner * sin(t)))
        self.drawing.line(points, width=width, fill=fill, closed=True)

    def words(self, x: float, y: float, text: str, *, size: float = 12.0,
              anchor: str = "start") -> None:  # fmt: skip
        """Words on one line."""
        size *= LEGIBLE if self.face is PAPER else 1.0
        self.drawing.text(x, y, text, size=size, anchor=anchor)  # type: ignore[arg-type]

    def ring(self, x: float, y: float, letter: str) -> None:
        """A letter in a ring."""
        if letter in self.shown:
            self.circle(x, y, RING, width=1.3, fill=self.paper)
            said = self.shown[letter] if isinstance(self.shown, Mapping) else letter
            self.drawing.text(x, y + 4.6, said, size=14, heavy=True, anchor="middle")

    def across(self, letter: str, one: Point, other: Point, *, at: float = 0.5,
               aside: Point = (0.0, 0.0)) -> None:  # fmt: skip
        """A measured distance: a line with an arrow at each end, its letter on it or beside it.

        at: where along it the letter stands; aside: how far the letter stands from there.
        """
        if letter not in self.shown:
            return
        (x0, y0), (x1, y1) = one, other
        self.line(one, other, width=THIN)
        for end, back in ((one, other), (other, one)):
            self._head(end, back)
        x, y = x0 + (x1 - x0) * at, y0 + (y1 - y0) * at
        if hypot(*aside) > RING:
            self.line((x, y), (x + aside[0], y + aside[1]), width=0.6)
        self.ring(x + aside[0], y + aside[1], letter)

    def _head(self, tip: Point, back: Point) -> None:
        long = hypot(back[0] - tip[0], back[1] - tip[1]) or 1.0
        ux, uy = (back[0] - tip[0]) / long, (back[1] - tip[1]) / long
        size = min(8.0, long / 2.2)
        left = (tip[0] + size * ux - size * 0.32 * uy, tip[1] + size * uy + size * 0.32 * ux)
        right = (tip[0] + size * ux + size * 0.32 * uy, tip[1] + size * uy - size * 0.32 * ux)
        self.drawing.line([left, tip, right], width=0.8, fill="#000", closed=True)

    def points_at(self, letter: str, tip: Point, ring: Point) -> None:
        """A letter with a leader to what it means."""
        if letter not in self.shown:
            return
        self.line(ring, tip, width=0.7)
        self.circle(*tip, 2.2, width=0.5, fill="#000")
        self.ring(*ring, letter)

    def edge(self, *points: Point) -> None:
        """A line out from an edge, along which something is measured."""
        self.line(*points, width=0.6)

    def middle(self, *points: Point) -> None:
        """A middle line: long, short."""
        self.line(*points, width=0.8, dash="14 3 3 3")

    def ground(self, left: float, right: float, y: float) -> None:
        """The floor: a line, hatched below."""
        self.line((left, y), (right, y), width=2.0)
        x = left + 6
        while x < right:
            self.line((x, y + 1), (x - 7, y + 9), width=0.6)
            x += 14

    def coil(self, x: float, top: float, foot: float, wide: float, turns: int) -> None:
        """A spring."""
        step = (foot - top) / (2 * turns)
        points = [(x + (wide / 2 if k % 2 else -wide / 2), top + step * k)
                  for k in range(2 * turns + 1)]  # fmt: skip
        self.line(*points, width=2.0)

    def svg(self, wide: float, tall: float, told: str) -> str:
        """The drawing as an SVG text."""
        return self.drawing.svg(wide, tall, told)
