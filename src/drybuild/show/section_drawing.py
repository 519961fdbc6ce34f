"""Draws a corner section as SVG; every coordinate is a millimetre of the car."""

from __future__ import annotations

from html import escape

from drybuild.show.section import (
    FLANGE,
    LABEL_LEFT,
    LABEL_RIGHT,
    MM,
    Frame,
    Gap,
    Section,
    described,
    frame_of,
    marked,
)
from drybuild.values import System, show

Points = list[tuple[float, float]]
_Label = tuple[float, float, str, str, str]
"""Where a gap ends, its letter and size, its unit, and what it is if not enough."""

APART = 25.0
"""Least distance between the labels of one side, mm of the drawing: a phone's letters are large."""


ASKED = ("spoke_depth", "barrel_inner_radius", "offset", "rim_width", "outer_radius", "face_offset")
"""Lengths of wheel and caliper that are marked in the drawing, where one of them is asked for."""


def draw_section(
    section: Section, system: System = "metric", frame: Frame | None = None, asked: str = ""
) -> str:
    """The section as an SVG text, in the frame given (else in its own).

    asked: one of ASKED, marked in place of the gaps; empty: the gaps.
    """
    return _Sheet(section, frame or frame_of([section]), system).svg(asked)


class _Sheet:
    """One drawing under way: turns millimetres of the car into places on the sheet."""

    def __init__(self, section: Section, frame: Frame, system: System) -> None:
        self.section, self.frame, self.system = section, frame, system

    def at(self, x: float, y: float) -> tuple[float, float]:
        """A point of the car, mm from hub face and axle, on the sheet."""
        return x - self.frame.left, self.frame.top - y

    def line(self, points: Points, kind: str, *, closed: bool = False) -> str:
        places = " L".join(f"{x:.1f} {y:.1f}" for x, y in (self.at(*p) for p in points))
        return f'<path d="M{places}{"Z" if closed else ""}" class="{kind}"/>'

    def text(self, x: float, y: float, words: str, kind: str, *, unit: str = "") -> str:
        px, py = self.at(x, y)
        said = escape(words) + (f'<tspan class="roomy">{escape(unit)}</tspan>' if unit else "")
        return f'<text x="{px:.1f}" y="{py:.1f}" class="{kind}">{said}</text>'

    def svg(self, asked: str = "") -> str:
        f = self.frame
        parts = [
            f'<svg viewBox="0 0 {f.right - f.left:.0f} {f.top - f.low:.0f}" role="img" '
            f'class="section" aria-label="{escape(self._said(asked))}" '
            'xmlns="http://www.w3.org/2000/svg">'
        ]
        parts += [*self._reference(), *self._tyre(), *self._wheel(), *self._caliper()]
        marks = self._asked(asked)
        parts += marks or self._all_gaps()
        return "".join([*parts, "</svg>"])

    def _said(self, asked: str) -> str:
        if not self._span(asked):
            return described(self.section, self.system)
        return f"Section of the corner {self.section.title}; marked: {asked.replace('_', ' ')}"

    def _span(self, asked: str) -> Points:
        """The two ends of a length that is asked for, mm; none where it cannot be drawn."""
        s = self.section
        pad, rim, half = s.spacer * MM, s.rim_centre * MM, s.rim_half * MM
        barrel = (s.barrel or s.rim_radius - 0.014) * MM
        deep, face = (v * MM for v in s.caliper or (0.75 * barrel / MM, 0.0))
        spokes = s.spoke_depth * MM if s.spoke_depth is not None else max(rim + half - 26, pad + 12)
        level = (s.rim_radius + FLANGE) * MM + 14
        spans: dict[str, Points] = {
            "spoke_depth": [(pad, deep - 4), (spokes, deep - 4)],
            "barrel_inner_radius": [(face - 46, 0.0), (face - 46, barrel)],
            "offset": [(rim, 40.0), (pad, 40.0)],
            "rim_width": [(rim - half, level), (rim + half, level)],
            "outer_radius": [(face - 35, 0.0), (face - 35, deep)],
            "face_offset": [(0.0, deep - 22), (face, deep - 22)],
        }
        lacks_caliper = s.caliper is None and asked in ("outer_radius", "face_offset")
        return [] if lacks_caliper else spans.get(asked, [])

    def _asked(self, asked: str) -> list[str]:
        """A length between two ticks, its name beside it; a level one down to the hub face."""
        ends = self._span(asked)
        if not ends:
            return []
        (x0, y0), (x1, y1) = ends
        level = y0 == y1
        ticks = [
            [(x, y - 10), (x, y + 10)] if level else [(x - 10, y), (x + 10, y)] for x, y in ends
        ]
        down = [[ends[0], (x0, 78.0)]] if level and y0 > 88 and asked != "rim_width" else []
        marks = [self.line(ends, "asked"), *(self.line(tick, "asked") for tick in ticks)]
        leaders = [self.line(way, "hubface") for way in down]
        name = asked.replace("_", " ")
        at = (max(x0, x1) + 8, y0 - 4) if level else (x0 + 8, (y0 + y1) / 2)
        return [*leaders, *marks, self.text(*at, name, "label heavy")]

    def _reference(self) -> list[str]:
        """Axle, hub face, scale, and which way is out."""
        s, f = self.section, self.frame
        length = 0.1 if self.system == "metric" else 0.1016
        x0, y0 = f.left + 8, f.low + 8
        sides: list[str] = []
        for x in (-s.inner * MM, s.outer * MM):  # the tyre's widest, carried down the wheel
            sides.append(self.line([(x, s.rim_radius * MM), (x, -6)], "widest"))
        return [
            *sides,
            self.line([(f.left + LABEL_LEFT, 0), (f.right - 60, 0)], "axis"),
            self.line([(0, -14), (0, 78)], "hubface"),
            self.text(0, -24, "hub face", "note mid"),
            self.line([(x0, y0), (x0 + length * MM, y0)], "scale"),
            self.line([(x0, y0 - 4), (x0, y0 + 4)], "scale"),
            self.line([(x0 + length * MM, y0 - 4), (x0 + length * MM, y0 + 4)], "scale"),
            self.text(x0, y0 + 8, show("length", length, system=self.system), "note"),
            self.text(f.right - 6, f.low + 5, "outboard →", "note end"),
        ]

    def _tyre(self) -> list[str]:
        """Carcass and tread, closed round the air; the rubber's thickness is only to draw."""
        s = self.section
        xo, xi, rim, top = s.outer * MM, -s.inner * MM, s.rim_radius * MM, s.radius * MM
        c, half = s.rim_centre * MM, s.rim_half * MM
        wall, width = top - rim, xo - xi
        wide, shoulder = rim + 0.52 * wall, 0.11 * width

        def bow(x_bead: float, x_side: float, x_top: float, roof: float, foot: float) -> Points:
            """From the bead by the widest point to the shoulder: three cubic pieces."""
            return [
                (x_bead, foot), (x_bead, foot + 0.2 * wall), (x_side, wide - 0.26 * wall),
                (x_side, wide), (x_side, wide + 0.3 * wall), (x_top, roof), (x_top, roof),
            ]  # fmt: skip

        outside = bow(c - half, xi, xi + shoulder, top - 1.5, rim)
        outside_back = bow(c + half, xo, xo - shoulder, top - 1.5, rim)
        inside = bow(c - half + 9, xi + 8, xi + shoulder + 4, top - 13, rim + 2)
        inside_back = bow(c + half - 9, xo - 8, xo - shoulder - 4, top - 13, rim + 2)
        path = "M" + self._cubic(outside) + self._to("Q", [((xi + xo) / 2, top + 1.5)])
        path += self._to(" ", [(xo - shoulder, top - 1.5)])
        path += self._cubic(outside_back[::-1], start=False)
        path += self._to("L", [(c + half - 9, rim + 2)]) + self._cubic(inside_back, start=False)
        path += self._to("L", [(xi + shoulder + 4, top - 13)])
        path += self._cubic(inside[::-1], start=False) + "Z"
        grooves = [
            self.line([(x, top), (x, top - 7)], "groove")
            for x in (xi + width * k for k in (0.26, 0.42, 0.58, 0.74))
        ]
        return [f'<path d="{path}" class="tyre"/>', *grooves]

    def _cubic(self, points: Points, *, start: bool = True) -> str:
        head = self._to("", points[:1]) if start else ""
        return head + self._to("C", points[1:4]) + self._to("C", points[4:7])

    def _to(self, letter: str, points: Points) -> str:
        return letter + " ".join(f"{x:.1f} {y:.1f}" for x, y in (self.at(*p) for p in points))

    def _wheel(self) -> list[str]:
        """Rim with flanges and well, and the spokes from rim to hub."""
        s = self.section
        c, half, seat = s.rim_centre * MM, s.rim_half * MM, s.rim_radius * MM
        barrel = s.barrel * MM if s.barrel is not None else seat - 14
        left, right, flange = c - half, c + half, seat + FLANGE * MM
        well, out = max(barrel + 5, seat - 17), right - 0.42 * half
        rim = [
            (left - 11, flange - 3), (left - 7, flange), (left, flange - 5), (left, seat),
            (left + 20, seat - 1), (left + 30, well + 4), (left + 42, well), (out - 14, well),
            (out, seat - 3), (right - 16, seat - 1), (right, seat), (right, flange - 5),
            (right + 7, flange), (right + 11, flange - 3), (right + 4, seat - 5),
            (out + 2, min(barrel + 3, seat - 8)), (out - 14, barrel), (left + 20, barrel),
            (left + 4, seat - 6),
        ]  # fmt: skip
        pad, hub = s.spacer * MM, 74.0
        known = s.spoke_depth is not None
        depth = s.spoke_depth * MM if s.spoke_depth is not None else max(right - 26, pad + 12)
        deep = s.caliper[0] * MM if s.caliper is not None else 0.75 * barrel
        spokes = [
            (pad, 20), (pad, hub), (pad + 8, hub), (depth, 0.5 * (hub + deep)),
            (depth, min(deep + 8, barrel - 2)), (out + 2, min(barrel + 3, seat - 8)),
            (right + 4, seat - 5), (depth + 24, deep), (depth + 18, hub), (pad + 15, 20),
        ]  # fmt: skip
        found = [self.line(spokes, "spokes" if known else "spokes unknown", closed=True)]
        if pad > 0.5:
            spacer = [(0, 20), (pad, 20), (pad, hub), (0, hub)]
            found.append(self.line(spacer, "spacer", closed=True))
        return [*found, self.line(rim, "rim", closed=True)]

    def _caliper(self) -> list[str]:
        """Only its outermost edges are known: the rest is broken off."""
        if self.section.caliper is None:
            return []
        reach, face = (v * MM for v in self.section.caliper)
        edge = [(face - 70, reach), (face - 5, reach), (face, reach - 5), (face, reach - 52)]
        rest = [(face - 70, reach), (face - 70, reach - 52), (face, reach - 52)]
        return [
            self.line([*edge, (face - 70, reach - 52)], "caliper", closed=True),
            self.line(rest, "broken"), self.line(edge, "edge"),
            self.text(face - 35, reach - 32, "caliper", "note mid"),
        ]  # fmt: skip

    def _all_gaps(self) -> list[str]:
        found: list[str] = []
        labels: dict[str, list[_Label]] = {"left": [], "right": []}
        for gap in self.section.gaps:
            drawn, anchor = self._gap(gap)
            found += drawn
            side = "left" if gap.side == "inner" else "right"
            labels[side].append((*anchor, *marked(gap, self.system)))
        for side, these in labels.items():
            found += self._labels(side, these)
        return found

    def _gap(self, gap: Gap) -> tuple[list[str], tuple[float, float]]:
        """One gap as drawn, and where its label's leader begins."""
        s = self.section
        slack = gap.finding.slack
        low, mid, high = (
            (0.0, 0.0, 0.0) if slack is None
            else (slack.low * MM, slack.median * MM, slack.high * MM)
        )  # fmt: skip
        if gap.side in ("over", "barrel"):
            if gap.side == "over":
                x, y = (s.outer * MM) - 26, s.radius * MM
            else:
                reach, face = s.caliper or (0.0, 0.0)
                x, y = face * MM - 46, reach * MM
            spots = [(x, y), (x, y + mid), (x, y + low), (x, y + high)]
            tick = [(x - 8, y + mid), (x + 8, y + mid)]
        else:
            sign = -1.0 if gap.side == "inner" else 1.0
            if gap.side == "spokes":
                reach, face = s.caliper or (0.0, 0.0)
                x, y = face * MM, reach * MM - 22
            else:
                x = -s.inner * MM if gap.side == "inner" else s.outer * MM
                measured = gap.height is not None
                y = (gap.height if gap.height is not None else s.rim_radius + FLANGE) * MM
                y = max(y, 0.0) if measured else y
            spots = [(x, y), (x + sign * mid, y), (x + sign * low, y), (x + sign * high, y)]
            tick = [(x + sign * mid, y - 8), (x + sign * mid, y + 8)]
        start, end, least, most = spots
        verdict = str(gap.finding.verdict)
        if slack is None:
            (x, y), cross = start, 3.0
            strokes = ([(x - cross, y + k * cross), (x + cross, y - k * cross)] for k in (1, -1))
            return [self.line(stroke, "obstacle") for stroke in strokes], start
        drawn = [
            self.line([least, most], "doubt"),
            self.line([start, end], f"gap {verdict}"),
            self.line(tick, "obstacle"),
        ]
        return drawn, end

    def _labels(self, side: str, these: list[_Label]) -> list[str]:
        """Labels in a column beside the drawing, apart from each other, with leaders."""
        f = self.frame
        column = f.left + LABEL_LEFT - 4 if side == "left" else f.right - LABEL_RIGHT + 10
        end, anchor = (column + 4, " end") if side == "left" else (column - 4, "")
        found: list[str] = []
        free = f.top
        for x, y, words, unit, verdict in sorted(these, key=lambda row: -row[1]):
            place = min(y, free)
            free = place - (2 * APART - 5 if verdict else APART)
            found.append(self.line([(x, y), (end, place)], "leader"))
            weight = " heavy" if verdict else ""
            found.append(self.text(column, place - 4, words, f"label{anchor}{weight}", unit=unit))
            if verdict:
                roomy = "" if unit else " roomy"
                found.append(self.text(column, place - 16, verdict, f"note under{roomy}{anchor}"))
        return found
