"""The fit window: offset across, width up, chance of clearing in hatches, what binds in words.

Chance is shown by how dense the hatching is and by labelled lines, never by colour alone: blank
where 95 in 100 clear, denser the fewer do. The obstacle that binds is written where it binds.
"""

from __future__ import annotations

from dataclasses import dataclass
from html import escape

import numpy as np
import numpy.typing as npt

from drybuild.examine.catalogue.window import Window
from drybuild.show.sentences import chance_text, joint_text
from drybuild.values import System, with_minus

Floats = npt.NDArray[np.float64]
Point = tuple[float, float]

LEVELS = (0.05, 0.5, 0.95)
LEFT, TOP, WIDE, HIGH, BELOW = 116.0, 34.0, 600.0, 300.0, 92.0
INCH = 0.0254
APART, UNDER = 130.0, 22.0
"""Two marks nearer than so: the name of the second stands so far under it."""

STYLE = """
svg.fit text { font:13px "Source Sans 3","Noto Sans","DejaVu Sans",sans-serif; fill:currentColor; }
svg.fit text.note { font-size:11.5px; }
svg.fit text.over { paint-order:stroke; stroke:var(--sheet,#fffdf7); stroke-width:5px; }
svg.fit .clear { fill:var(--sheet,#fffdf7); }
svg.fit .line { fill:none; stroke:currentColor; stroke-width:1.1; }
svg.fit .l95 { stroke-width:2.2; } svg.fit .l50 { stroke-dasharray:7 4; }
svg.fit .l5 { stroke-dasharray:2 4; }
svg.fit .border { fill:none; stroke:currentColor; stroke-width:.8; stroke-dasharray:1 3; }
svg.fit .frame { fill:none; stroke:currentColor; stroke-width:1.2; }
svg.fit .mark { fill:var(--sheet,#fffdf7); stroke:currentColor; stroke-width:2; }
"""

_HATCHES = """<defs>
<pattern id="fit-few" width="5" height="5" patternUnits="userSpaceOnUse">\
<path d="M0 5L5 0M0 0L5 5" stroke="#8b8b85" stroke-width="1.1"/></pattern>
<pattern id="fit-some" width="7" height="7" patternUnits="userSpaceOnUse"><path d="M-1 8L8 -1" \
stroke="#9b9b95" stroke-width="1.1"/></pattern>
<pattern id="fit-most" width="14" height="14" patternUnits="userSpaceOnUse"><path d="M-1 15L15 -1" \
stroke="#b5b5ae" stroke-width="1"/></pattern>
</defs>"""


@dataclass(frozen=True)
class _Frame:
    """Where a place of the window lies on the sheet."""

    window: Window

    def x(self, offset: float) -> float:
        low, high = float(self.window.offsets[0]), float(self.window.offsets[-1])
        return LEFT + WIDE * (offset - low) / (high - low)

    def y(self, width: float) -> float:
        low, high = float(self.window.widths[0]), float(self.window.widths[-1])
        return TOP + HIGH * (1.0 - (width - low) / (high - low if high > low else 1.0))

    def holds(self, offset: float, width: float) -> bool:
        w = self.window
        return bool(
            w.offsets[0] <= offset <= w.offsets[-1]
            and w.widths[0] - 1e-6 <= width <= w.widths[-1] + 1e-6
        )


def window_svg(window: Window, system: System = "metric") -> str:
    """The window as an SVG text."""
    frame = _Frame(window)
    parts = [
        f'<svg class="fit" viewBox="0 0 {LEFT + WIDE + 24:.0f} {TOP + HIGH + BELOW:.0f}" '
        f'role="img" aria-label="{escape(window_words(window))}" '
        'xmlns="http://www.w3.org/2000/svg">',
        _HATCHES,
        f'<text x="{LEFT:.0f}" y="16">{escape(title_of(window))}</text>',
        f'<rect x="{LEFT}" y="{TOP}" width="{WIDE}" height="{HIGH}" fill="url(#fit-few)"/>',
    ]
    for level, fill in zip(LEVELS, ("fit-some", "fit-most", ""), strict=True):
        area = _area(window, frame, level)
        if area:
            parts.append(f'<path class="clear" d="{area}"/>')
            if fill:
                parts.append(f'<path d="{area}" fill="url(#{fill})"/>')
    parts += [
        f'<path class="line l{level * 100:.0f}" d="{line}"/>'
        for level in LEVELS
        if (line := _line(window, frame, level))
    ]
    parts.append(f'<path class="border" d="{_borders(window, frame)}"/>')
    parts.append(
        f'<rect class="frame" x="{LEFT}" y="{TOP}" width="{WIDE}" height="{HIGH}"/>'
    )
    parts += _axes(window, frame, system)
    parts += _names(window, frame)
    parts += _level_labels(window, frame)
    parts += _marks(window, frame)
    parts.append("</svg>")
    return "".join(parts)


def title_of(window: Window) -> str:
    """What the picture is of."""
    what = f"wheels behind a {window.tyre}" if window.tyre else "tyres on this rim width"
    return f"Chance that it clears: {what}, {window.axle}"


def window_words(window: Window) -> str:
    """The same in words, for those who cannot see it."""
    said = [title_of(window)]
    for row, name in enumerate(window.rows):
        clear = window.offsets[window.chance[row] >= LEVELS[-1]]
        if clear.size:
            span = f"offset {clear[0] * 1e3:.0f} to {clear[-1] * 1e3:.0f} mm"
            said.append(f"{name}: {span} clears 95 in 100 and more")
        else:
            best = int(np.argmax(window.chance[row]))
            said.append(
                f"{name}: at best {joint_text(float(window.chance[row, best]))}, "
                f"at offset {window.offsets[best] * 1e3:.0f} mm"
            )
    return "; ".join(said)


def alike_words(
    window: Window, where: str = "the same all over the picture, so not in it"
) -> list[str]:
    """Checks that the picture does not show, for they say the same all over it."""
    return [f"{where}: {a.title}: {chance_text(a.chance)}" for a in window.alike]


def _corners(window: Window, frame: _Frame, row: int, col: int) -> list[tuple[Point, float]]:
    """The four corners of a cell in turn, with the chance there."""
    return [
        (
            (frame.x(float(window.offsets[c])), frame.y(float(window.widths[r]))),
            float(window.chance[r, c]),
        )
        for r, c in ((row, col), (row, col + 1), (row + 1, col + 1), (row + 1, col))
    ]


def _between(a: tuple[Point, float], b: tuple[Point, float], level: float) -> Point:
    (ax, ay), av = a
    (bx, by), bv = b
    part = (level - av) / (bv - av)
    return ax + part * (bx - ax), ay + part * (by - ay)


def _area(window: Window, frame: _Frame, level: float) -> str:
    """Outline, cell by cell, of where the chance is at least ``level``."""
    found = []
    rows, columns = window.chance.shape
    for row in range(rows - 1):
        for col in range(columns - 1):
            ring = _corners(window, frame, row, col)
            kept: list[Point] = []
            for one, two in zip(ring, ring[1:] + ring[:1], strict=True):
                if one[1] >= level:
                    kept.append(one[0])
                if (one[1] >= level) != (two[1] >= level):
                    kept.append(_between(one, two, level))
            if len(kept) > 2:
                found.append("M" + "L".join(f"{x:.1f} {y:.1f}" for x, y in kept) + "Z")
    return "".join(found)


def _line(window: Window, frame: _Frame, level: float) -> str:
    return "".join(
        f"M{ax:.1f} {ay:.1f}L{bx:.1f} {by:.1f}"
        for (ax, ay), (bx, by) in _segments(window, frame, level)
    )


def _segments(window: Window, frame: _Frame, level: float) -> list[tuple[Point, Point]]:
    """Pieces of the line where the chance is ``level``."""
    found = []
    rows, columns = window.chance.shape
    for row in range(rows - 1):
        for col in range(columns - 1):
            ring = _corners(window, frame, row, col)
            cuts = [
                _between(one, two, level)
                for one, two in zip(ring, ring[1:] + ring[:1], strict=True)
                if (one[1] >= level) != (two[1] >= level)
            ]
            found += [(cuts[i], cuts[i + 1]) for i in range(0, len(cuts) - 1, 2)]
    return found


def _borders(window: Window, frame: _Frame) -> str:
    """Lines between neighbouring places where different things bind."""
    found = []
    binding, offsets, widths = window.binding, window.offsets, window.widths
    rows, columns = binding.shape
    for row in range(rows):
        down = frame.y(float((widths[row] + widths[max(row - 1, 0)]) / 2))
        up = frame.y(float((widths[row] + widths[min(row + 1, rows - 1)]) / 2))
        for col in range(columns - 1):
            here, there = binding[row, col], binding[row, col + 1]
            if here != there and min(here, there) >= 0:
                x = frame.x(float((offsets[col] + offsets[col + 1]) / 2))
                found.append(f"M{x:.1f} {down:.1f}V{up:.1f}")
        for col in range(columns) if row + 1 < rows else ():
            here, there = binding[row, col], binding[row + 1, col]
            if here != there and min(here, there) >= 0:
                left = frame.x(float((offsets[col] + offsets[max(col - 1, 0)]) / 2))
                right = frame.x(float((offsets[col] + offsets[min(col + 1, columns - 1)]) / 2))
                found.append(f"M{left:.1f} {up:.1f}H{right:.1f}")
    return "".join(found)


def _axes(window: Window, frame: _Frame, system: System) -> list[str]:
    found = []
    bottom = TOP + HIGH
    for offset in window.offsets:
        whole = round(float(offset) * 1e3)
        if whole % 5:
            continue
        x = frame.x(float(offset))
        said = with_minus(f"{whole}" if system == "metric" else f"{offset / INCH:.2f}")
        found.append(
            f'<path class="frame" d="M{x:.1f} {bottom}v5"/>'
            f'<text x="{x:.1f}" y="{bottom + 20:.1f}" text-anchor="middle">{said}</text>'
        )
    unit = "mm" if system == "metric" else "in"
    found.append(
        f'<text x="{LEFT + WIDE / 2:.0f}" y="{bottom + 40:.0f}" text-anchor="middle">'
        f"offset, {unit} (less: further out; more: further in)</text>"
    )
    for name, width in zip(window.rows, window.widths, strict=True):
        y = frame.y(float(width))
        found.append(
            f'<path class="frame" d="M{LEFT} {y:.1f}h-5"/>'
            f'<text x="{LEFT - 9:.1f}" y="{y + 4.5:.1f}" text-anchor="end">{escape(name)}</text>'
        )
    found.append(
        f'<text x="{LEFT - 9:.0f}" y="{TOP - 14:.0f}" text-anchor="end">{window.up}</text>'
    )
    legend = (
        ("", "95 in 100 and more"), ("fit-most", "50 to 95"), ("fit-some", "5 to 50"),
        ("fit-few", "fewer than 5"),
    )  # fmt: skip
    x = LEFT
    for fill, words in legend:
        inside = f' fill="url(#{fill})"' if fill else ' class="clear"'
        found.append(
            f'<rect x="{x:.0f}" y="{bottom + 56:.0f}" width="26" height="15"{inside}/>'
            f'<rect class="frame" x="{x:.0f}" y="{bottom + 56:.0f}" width="26" height="15"/>'
            f'<text class="note" x="{x + 32:.0f}" y="{bottom + 68:.0f}">{words}</text>'
        )
        x += 60 + 6.6 * len(words)
    return found


def _names(window: Window, frame: _Frame) -> list[str]:
    """Each thing that binds, written in the middle of the largest place where it does."""
    found = []
    taken: list[tuple[float, float, float]] = []
    for number, region in enumerate(window.regions):
        cells = _largest(window.binding == number)
        if len(cells) < 3:
            continue
        rows, columns = np.array(cells).T
        near = np.argmin((rows - rows.mean()) ** 2 * 25 + (columns - columns.mean()) ** 2)
        x = frame.x(float(window.offsets[columns[near]]))
        y = frame.y(float(window.widths[rows[near]]))
        lines = _broken(region.title, 24)
        half = 3.3 * max(len(line) for line in lines)
        x = float(np.clip(x, LEFT + half + 6, LEFT + WIDE - half - 6))
        y = float(np.clip(y, TOP + 16, TOP + HIGH - 14 * len(lines)))
        for ox, oy, reach in taken:
            if abs(ox - x) < reach + half and abs(oy - y) < 34:
                y = oy + 36 if oy + 36 < TOP + HIGH - 14 * len(lines) else oy - 36
        taken.append((x, y, half))
        for i, line in enumerate(lines):
            found.append(
                f'<text class="over" x="{x:.1f}" y="{y + 14 * i:.1f}" text-anchor="middle">'
                f"{escape(line)}</text>"
            )
    return found


def _broken(text: str, most: int) -> list[str]:
    lines = [""]
    for word in text.split():
        if lines[-1] and len(lines[-1]) + len(word) >= most:
            lines.append("")
        lines[-1] = f"{lines[-1]} {word}".strip()
    return lines


def _largest(mask: npt.NDArray[np.bool_]) -> list[tuple[int, int]]:
    """Cells of the largest connected part."""
    left = {(int(r), int(c)) for r, c in zip(*np.nonzero(mask), strict=True)}
    best: list[tuple[int, int]] = []
    while left:
        waiting, part = [left.pop()], []
        while waiting:
            r, c = waiting.pop()
            part.append((r, c))
            for near in ((r + 1, c), (r - 1, c), (r, c + 1), (r, c - 1)):
                if near in left:
                    left.remove(near)
                    waiting.append(near)
        if len(part) > len(best):
            best = part
    return best


def _level_labels(window: Window, frame: _Frame) -> list[str]:
    """The chance at each line, written on it at a height of its own."""
    found = []
    for i, level in enumerate(LEVELS):
        pieces = _segments(window, frame, level)
        if not pieces:
            continue
        wanted = TOP + HIGH * (0.72 - 0.22 * i)
        near = min(pieces, key=lambda p: (round(abs(p[0][1] - wanted) / 24), p[0][0]))
        (ax, ay), (bx, by) = near
        found.append(
            f'<text class="note over" x="{(ax + bx) / 2:.1f}" y="{(ay + by) / 2 + 4:.1f}" '
            f'text-anchor="middle">{level * 100:.0f}</text>'
        )
    return found


def _marks(window: Window, frame: _Frame) -> list[str]:
    found: list[str] = []
    before: Point | None = None
    for place, name in ((window.planned, "as planned"), (window.best, "best of the list")):
        if place is None or not frame.holds(*place):
            continue
        x, y = frame.x(place[0]), frame.y(place[1])
        near = before is not None and abs(x - before[0]) < APART and abs(y - before[1]) < UNDER
        before, below = (x, y), UNDER if near else -11.0
        shape = (
            f'<rect class="mark" x="{x - 5:.1f}" y="{y - 5:.1f}" width="10" height="10"/>'
            if name == "as planned"
            else f'<circle class="mark" cx="{x:.1f}" cy="{y:.1f}" r="6"/>'
        )
        found.append(
            f'{shape}<text class="note over" x="{x:.1f}" y="{y + below:.1f}" text-anchor="middle">'
            f"{name}</text>"
        )
    return found
