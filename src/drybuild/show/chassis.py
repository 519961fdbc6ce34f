"""A chassis to point at: a line drawing of no car in particular, seen from the left and in front.

Points are metres: x rearwards from the front axle, y to the left, z up from the ground. It is drawn
from the back to the front, each shape covering what lies behind it. It is not to scale.
"""

from __future__ import annotations

from itertools import pairwise
from math import cos, pi, radians, sin

from drybuild.show.drawing import Drawing, Point

Place = tuple[float, float, float]

WHEELBASE, HALF_TRACK, WHEEL, TREAD = 2.5, 0.74, 0.31, 0.2
TURN, TILT = radians(32), radians(24)
SCALE = 168.0

OUTLINES = {"transverse": "transverse", "flat": "flat-four", "line": "in-line"}
"""Word in an outline's name → how its engine lies."""


def layout(outline: str) -> str:
    """How the engine lies, by the outline's name; in-line where nothing is said."""
    plain = outline.lower()
    return next((lies for word, lies in OUTLINES.items() if word in plain), "in-line")


def seen(place: Place, origin: Point) -> Point:
    """A place on the sheet."""
    x, y, z = place
    along = x * cos(TURN) - y * sin(TURN)
    depth = x * sin(TURN) + y * cos(TURN)
    return origin[0] + along * SCALE, origin[1] - (z * cos(TILT) - depth * sin(TILT)) * SCALE


def free_near(
    tip: Point, taken: list[Point], frame: tuple[float, float, float, float], size: float
) -> Point:
    """A place for a letter or a number near its tip, inside the frame and clear of the others.

    frame: left, top, wide, tall; size: of the letters.
    """
    reach = size * 1.3
    left, top, wide, tall = frame
    ways = [(0.0, -1.0), (0.0, 1.0), (-1.0, -0.3), (1.0, -0.3), (-0.8, 0.8), (0.8, 0.8),
            (-0.8, -0.9), (0.8, -0.9)]  # fmt: skip
    for far in (1.0, 1.7, 2.4, 3.2):
        for dx, dy in ways:
            x, y = tip[0] + dx * reach * far, tip[1] + dy * reach * far
            inside = (left + 24 < x < left + wide - 24) and (top + 24 < y < top + tall - 24)
            if inside and all((x - a) ** 2 + (y - b) ** 2 > (size * 1.5) ** 2 for a, b in taken):
                return x, y
    return tip


class Chassis:
    """The drawing under way. origin: where the ground under the front axle's middle lies."""

    def __init__(self, drawing: Drawing, origin: Point, lies: str) -> None:
        self.d, self.origin, self.lies = drawing, origin, lies

    def draw(self) -> None:
        """All of it, from the far side to the near one."""
        self._wheel(0, -1)
        self._wheel(WHEELBASE, -1)
        self._rail(-1)
        self._cross()
        self._exhaust()
        self._engine()
        self._tank()
        self._nose()
        self._rail(1)
        self._springs()
        self._cabin()
        self._wheel(0, 1)
        self._wheel(WHEELBASE, 1)
        self._body()

    def line(self, places: list[Place], *, width: float = 0.9, dash: str = "") -> None:
        self.d.line([seen(p, self.origin) for p in places], width=width, dash=dash)

    def face(self, places: list[Place], *, width: float = 0.9) -> None:
        self.d.line(
            [seen(p, self.origin) for p in places], width=width, fill="#fff", closed=True
        )

    def block(self, low: Place, high: Place, *, width: float = 0.9) -> None:
        """A box: its left side, its front and its top, which are the ones that are seen."""
        (x0, y0, z0), (x1, y1, z1) = low, high
        self.face([(x0, y0, z0), (x0, y1, z0), (x0, y1, z1), (x0, y0, z1)], width=width)
        self.face([(x0, y1, z0), (x1, y1, z0), (x1, y1, z1), (x0, y1, z1)], width=width)
        self.face([(x0, y0, z1), (x1, y0, z1), (x1, y1, z1), (x0, y1, z1)], width=width)

    def ring(
        self, middle: Place, radius: float, *, width: float = 0.9, filled: bool = False
    ) -> None:
        """A circle that stands along the car."""
        x, y, z = middle
        turns = [2 * pi * k / 40 for k in range(40)]
        places = [(x + radius * cos(t), y, z + radius * sin(t)) for t in turns]
        self.d.line(
            [seen(p, self.origin) for p in places], width=width, closed=True,
            fill="#fff" if filled else "none",
        )  # fmt: skip

    def _wheel(self, x: float, side: int) -> None:
        far, near = side * HALF_TRACK - TREAD / 2, side * HALF_TRACK + TREAD / 2
        self.ring((x, far, WHEEL), WHEEL, filled=True)
        # the tread between the two faces: their hull, drawn as slices
        for k in range(1, 12):
            y = far + (near - far) * k / 12
            self.ring((x, y, WHEEL), WHEEL, width=0.0, filled=True)
        for t in (0.62 * pi, 1.62 * pi):
            edge = (x + WHEEL * cos(t), WHEEL + WHEEL * sin(t))
            self.line([(edge[0], far, edge[1]), (edge[0], near, edge[1])])
        self.ring((x, near, WHEEL), WHEEL, width=1.2, filled=True)
        self.ring((x, near, WHEEL), 0.68 * WHEEL)
        self.ring((x, near, WHEEL), 0.2 * WHEEL)
        for k in range(5):
            t = 2 * pi * k / 5 + 0.3
            self.line([
                (x + r * WHEEL * cos(t), near, WHEEL + r * WHEEL * sin(t)) for r in (0.2, 0.68)
            ])  # fmt: skip

    def _rail(self, side: int) -> None:
        y = side * 0.42
        low, high = 0.24, 0.33
        kinks = [(-0.55, 0.06), (0.35, 0.0), (1.95, 0.0), (2.3, 0.14), (3.0, 0.14)]
        for (x0, up0), (x1, up1) in pairwise(kinks):
            near = y + 0.04
            self.face([(x0, near, low + up0), (x1, near, low + up1), (x1, near, high + up1),
                       (x0, near, high + up0)])  # fmt: skip
            self.face([(x0, y - 0.04, high + up0), (x1, y - 0.04, high + up1),
                       (x1, near, high + up1), (x0, near, high + up0)])  # fmt: skip

    def _cross(self) -> None:
        for x, up in ((-0.5, 0.06), (0.12, 0.0), (1.2, 0.0), (2.45, 0.14), (2.95, 0.14)):
            self.block((x, -0.42, 0.24 + up), (x + 0.08, 0.42, 0.31 + up))
        for x in (0.0, WHEELBASE):
            for side in (-1, 1):
                tip = (x, side * 0.62, 0.24)
                self.line([(x - 0.16, side * 0.38, 0.27), tip, (x + 0.16, side * 0.38, 0.27)],
                          width=1.4)  # fmt: skip

    def _engine(self) -> None:
        if self.lies == "transverse":
            self.block((-0.22, -0.38, 0.3), (0.12, 0.1, 0.68))
            self.block((-0.2, 0.1, 0.28), (0.14, 0.36, 0.52))
            self.line([(0.0, -0.6, 0.31), (0.0, -0.38, 0.36)], width=1.6)
            self.line([(0.0, 0.36, 0.36), (0.0, 0.6, 0.31)], width=1.6)
            return
        if self.lies == "flat-four":
            self.block((-0.42, -0.36, 0.32), (0.0, 0.36, 0.5))
            self.block((-0.36, -0.14, 0.5), (-0.06, 0.14, 0.66))
        else:
            self.block((-0.18, -0.12, 0.3), (0.42, 0.12, 0.7))
        back = 0.42 if self.lies == "in-line" else 0.0
        self.block((back, -0.11, 0.3), (back + 0.28, 0.11, 0.52))
        self.block((back + 0.28, -0.07, 0.32), (back + 0.62, 0.07, 0.46))
        self.line([(back + 0.62, 0.0, 0.39), (WHEELBASE - 0.14, 0.0, 0.34)], width=2.2)
        self.block((WHEELBASE - 0.14, -0.1, 0.24), (WHEELBASE + 0.14, 0.1, 0.44))
        self.line([(WHEELBASE, 0.1, 0.33), (WHEELBASE, 0.6, 0.31)], width=1.6)

    def _nose(self) -> None:
        self.block((-0.62, -0.44, 0.34), (-0.56, 0.44, 0.66))
        for k in range(1, 8):
            y = -0.44 + 0.88 * k / 8
            self.line([(-0.62, y, 0.36), (-0.62, y, 0.64)], width=0.4)

    def _exhaust(self) -> None:
        self.line([(0.3, -0.2, 0.3), (0.9, -0.24, 0.2), (2.2, -0.24, 0.2), (2.5, -0.3, 0.26),
                   (2.8, -0.3, 0.26)], width=2.0)  # fmt: skip
        self.block((1.25, -0.32, 0.15), (1.65, -0.16, 0.25))
        self.block((2.75, -0.44, 0.2), (3.15, -0.14, 0.36))

    def _tank(self) -> None:
        self.block((1.82, -0.36, 0.34), (2.2, 0.36, 0.56))

    def _springs(self) -> None:
        for x in (0.0, WHEELBASE):
            for side in (-1, 1):
                y = side * 0.52
                coils = [
                    (x + (0.07 if k % 2 else -0.07), y, 0.34 + 0.045 * k) for k in range(10)
                ]  # fmt: skip
                self.line([(x, y, 0.28), *coils, (x, y, 0.84)], width=1.1)

    def _cabin(self) -> None:
        for side in (-1, 1):
            y0, y1 = side * 0.36 - 0.2, side * 0.36 + 0.2
            self.face([(1.3, y0, 0.45), (1.3, y1, 0.45), (1.72, y1, 0.42), (1.72, y0, 0.42)])
            self.face([(1.72, y0, 0.42), (1.72, y1, 0.42), (1.9, y1, 1.02), (1.9, y0, 1.02)])
        self.line([(0.62, 0.36, 0.5), (0.98, 0.36, 0.82)], width=1.6)
        turns = [2 * pi * k / 24 for k in range(25)]
        self.line([
            (0.98 + 0.1 * sin(t), 0.36 + 0.18 * cos(t), 0.82 + 0.15 * sin(t)) for t in turns
        ], width=1.2)  # fmt: skip

    def _body(self) -> None:
        """The body's middle line, as one draws what is not there: long and two short."""
        self.line([
            (-0.78, 0, 0.3), (-0.8, 0, 0.52), (-0.62, 0, 0.76), (0.45, 0, 0.92), (1.1, 0, 1.3),
            (1.5, 0, 1.37), (2.2, 0, 1.3), (2.75, 0, 0.98), (3.2, 0, 0.92), (3.26, 0, 0.6),
            (3.2, 0, 0.32),
        ], width=0.6, dash="14 3 2 3 2 3")  # fmt: skip
