"""How a gap at a wheel is measured, with the shank of a drill or a rule: a sketch of no car's own.

Seen along the car from in front: inboard to the left, outboard to the right. Words are large, for
the sketch is read on a phone beside the car.
"""

from __future__ import annotations

from drybuild.build.declared import declaration
from drybuild.findings import CORNERS
from drybuild.show.drawing import SCREEN, Point
from drybuild.show.measuring_lines import THICK, Sketch
from drybuild.values import show

WIDE, TALL = 360.0, 326.0
GROUND = 282.0
INNER, OUTER = 196.0, 288.0
"""Where the tyre's two sides stand."""

SIZE = 16.5

USUAL_SET = 13e-3
"""The thickest drill of a usual set, m: what a usual chuck takes."""

HOW = (
    "Try drills, thickest first, between the tyre and the tightest place beside it. The thickest "
    "whose smooth shank just slides through is the reading."
)
STACKED = (
    "shanks side by side, or coins, until they just slide through together; the vernier across "
    "them is the reading. Or a rule, to the nearest mm."
)
RULE = "Hold the rule upright from the tread's outer shoulder to the edge of the arch above it."
STANDING = (
    "On the wheels that are on it now, level, straight ahead, nobody in it, engine off. "
    "Wheels chocked."
)


POINTS = ("upright_point.gap", "arm_point.gap", "arch_point.gap", "arch_point.over")
"""What is measured so."""


def named(point: str) -> str:
    """One of POINTS as one says it."""
    known = declaration(f"corner.{CORNERS[0]}.{point}")
    assert known is not None  # only what the model of a corner declares is measured so
    return known.plain


def with_shank(most: float) -> str:
    """How it is done, and what to use where more is there than a drill is thick.

    most: the widest that is likely, m.
    """
    if most <= USUAL_SET:
        return f"{HOW} Wider than your thickest: {STACKED}"
    wide, thickest = show("length", round(most, 3)), show("length", USUAL_SET)
    return f"{HOW} Up to about {wide} may be there, and a usual set ends at {thickest}: {STACKED}"


def draw_shank(point: str) -> str:
    """The sketch of one of POINTS as SVG."""
    s = Sketch(frozenset("a"), face=SCREEN)
    s.words(10, 20, "seen from in front", size=SIZE)
    s.ground(6, 354, GROUND)
    s.words(10, 318, "← middle of the car", size=SIZE)
    s.words(350, 318, "outside →", size=SIZE, anchor="end")
    _wheel(s)
    {"upright_point.gap": _upright, "arm_point.gap": _arm, "arch_point.gap": _arch,
     "arch_point.over": _over}[point](s)  # fmt: skip
    tool = "A rule" if point.endswith(".over") else "A drill's shank"
    svg = s.svg(WIDE, TALL, f"{tool}: {named(point)}, seen from in front")
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
    if top > y:  # beside it there is no room: the name stands on the left, as high as the shank
        s.drawing.text(12, top, "drill shank", size=SIZE, heavy=True)
        s.line((x, top - 6), (middle - radius, y), width=1.0)
        return
    s.line((middle, y - radius), (x, top + 6), width=1.0)
    s.drawing.text(x, top, "drill shank", size=SIZE, heavy=True, anchor="middle")


def _upright(s: Sketch) -> None:
    s.line((96, 40), (140, 186), width=15.0)
    s.line((96, 40), (140, 186), width=11.0)
    s.drawing.parts[-1] = s.drawing.parts[-1].replace('stroke="#000"', 'stroke="var(--metal)"')
    s.line((132, 176), (160, 196), width=9.0)
    s.line((20, 246), (150, 226), width=4.0)
    s.words(12, 92, "hub", size=SIZE)
    s.words(12, 112, "carrier or", size=SIZE)
    s.words(12, 132, "damper", size=SIZE)
    s.line((90, 107), (109, 107), width=0.9)
    _shank(s, 126, INNER, 112, (196, 50))


def _arm(s: Sketch) -> None:
    s.line((110, 56), (122, 56), (122, 150), (104, 150), width=THICK)
    s.line((20, 246), (150, 222), width=5.0)
    s.line((122, 40), (350, 40), width=1.0, dash="9 4")
    s.words(12, 96, "arm, spring", size=SIZE)
    s.words(12, 116, "or body", size=SIZE)
    s.line((90, 104), (122, 104), width=0.9)
    _shank(s, 123, INNER, 116, (196, 62))


def _arch(s: Sketch) -> None:
    s.line((120, 44), (300, 44), (330, 56), (336, 100), (326, 106), width=THICK)
    s.words(12, 84, "arch lip:", size=SIZE)
    s.words(12, 104, "its edge", size=SIZE)
    s.line((84, 78), (150, 64), (322, 104), width=0.9)
    _shank(s, OUTER, 326, 122, (118, 158))


def _over(s: Sketch) -> None:
    s.line((120, 36), (292, 36), (326, 44), (332, 66), (322, 70), width=THICK)
    s.words(12, 60, "arch lip", size=SIZE)
    s.line((78, 54), (120, 54), (318, 66), width=0.9)
    s.words(12, 128, "shoulder", size=SIZE)
    s.line((92, 122), (150, 104), (INNER + 74, 82), width=0.9)
    left, right = OUTER - 22, OUTER - 8
    s.box(left, 38, right - left, 42, width=2.0, fill="var(--paper)")
    for k in range(1, 7):
        y = 38 + 6 * k
        s.line((left, y), (left + (8 if k % 2 else 5), y), width=0.9)
    s.line((right, 60), (338, 108), width=1.0)
    s.drawing.text(350, 124, "rule", size=SIZE, heavy=True, anchor="end")
