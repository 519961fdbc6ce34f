"""How a gap at a wheel is measured with the shank of a drill: a sketch of the place, no car's own.

Seen along the car from in front: inboard to the left, outboard to the right. Words are large, for
the sketch is read on a phone beside the car.
"""

from __future__ import annotations

from drybuild.show.drawing import SCREEN, Point
from drybuild.show.measuring_lines import THICK, Sketch

WIDE, TALL = 360.0, 326.0
GROUND = 282.0
INNER, OUTER = 196.0, 288.0
"""Where the tyre's two sides stand."""

SIZE = 16.5

HOW = (
    "Try drills, thickest first, between the tyre and the tightest place beside it. The thickest "
    "whose smooth shank just slides through is the reading."
)
STANDING = "On its wheels, level, straight ahead, nobody in it, engine off. Wheels chocked."


def draw_shank(point: str) -> str:
    """The sketch of upright_point, arm_point or arch_point as SVG."""
    s = Sketch(frozenset("a"), face=SCREEN)
    s.words(10, 20, "seen from in front", size=SIZE)
    s.ground(6, 354, GROUND)
    s.words(10, 318, "← middle of the car", size=SIZE)
    s.words(350, 318, "outside →", size=SIZE, anchor="end")
    _wheel(s)
    told = {"upright_point": _upright, "arm_point": _arm, "arch_point": _arch}[point](s)
    svg = s.svg(WIDE, TALL, f"A drill's shank between the tyre and {told}, seen from in front")
    return svg.replace("#000", "currentColor").replace("#fff", "var(--sheet)")


def _wheel(s: Sketch) -> None:
    s.round_box(INNER, 78, OUTER - INNER, GROUND - 78, 26, width=THICK, fill="var(--rubber)")
    s.box(INNER + 16, 128, OUTER - INNER - 32, 104, width=1.0, fill="var(--metal)")
    for x in (INNER + 30, INNER + 46, OUTER - 46, OUTER - 30):
        s.line((x, 79), (x, 88), width=1.0)
    s.words((INNER + OUTER) / 2, 258, "tyre", size=SIZE, anchor="middle")
    s.line((INNER + 60, 180), (150, 180), width=4.0)


def _shank(s: Sketch, left: float, right: float, y: float, words: Point) -> None:
    """The shank end on, as thick as the gap, and its name on a leader."""
    middle, radius = (left + right) / 2, (right - left) / 2
    s.circle(middle, y, radius, width=2.4, fill="var(--paper)")
    for k in (-0.5, 0.0, 0.5):
        s.line((middle + radius * (k - 0.45), y + radius * 0.6),
               (middle + radius * (k + 0.45), y - radius * 0.6), width=0.8)  # fmt: skip
    x, top = words
    s.line((middle, y - radius), (x, top + 6), width=1.0)
    s.drawing.text(x, top, "drill shank", size=SIZE, heavy=True, anchor="middle")


def _upright(s: Sketch) -> str:
    s.line((96, 40), (140, 186), width=15.0)
    s.line((96, 40), (140, 186), width=11.0)
    s.drawing.parts[-1] = s.drawing.parts[-1].replace('stroke="#000"', 'stroke="var(--metal)"')
    s.line((132, 176), (160, 196), width=9.0)
    s.line((20, 246), (150, 226), width=4.0)
    s.words(12, 104, "strut or", size=SIZE)
    s.words(12, 124, "damper", size=SIZE)
    s.line((70, 112), (110, 112), width=0.9)
    _shank(s, 126, INNER, 112, (196, 50))
    return "strut or damper"


def _arm(s: Sketch) -> str:
    s.line((110, 56), (122, 56), (122, 150), (104, 150), width=THICK)
    s.line((20, 246), (150, 222), width=5.0)
    s.line((122, 40), (350, 40), width=1.0, dash="9 4")
    s.words(12, 96, "body, arm", size=SIZE)
    s.words(12, 116, "or spring", size=SIZE)
    s.line((90, 104), (122, 104), width=0.9)
    _shank(s, 123, INNER, 116, (196, 62))
    return "body, arm or spring"


def _arch(s: Sketch) -> str:
    s.line((120, 44), (300, 44), (330, 56), (336, 100), (326, 106), width=THICK)
    s.words(12, 84, "arch lip:", size=SIZE)
    s.words(12, 104, "its edge", size=SIZE)
    s.line((84, 78), (150, 64), (322, 104), width=0.9)
    _shank(s, OUTER, 326, 122, (310, 176))
    return "the edge of the arch lip"
