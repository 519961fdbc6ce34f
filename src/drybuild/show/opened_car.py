"""The opened car at the end of a day: what is off, in the order in which it came off.

A chassis in lines, each thing that is off on a leader to where it belongs; beside each its number
in order, for it goes back on in the other direction. On a phone the drawing carries the numbers
alone, and the words stand below it, so that they keep their size.
"""

from __future__ import annotations

from dataclasses import dataclass

from drybuild.show.cards_words import off_title
from drybuild.show.chassis import Chassis, free_near, layout, seen
from drybuild.show.drawing import SCREEN, Drawing, Face, Point
from drybuild.show.whereabouts import place_of
from drybuild.work.sheets import Sheets

WIDE, TALL = 1160.0, 580.0
ORIGIN = (392.0, 318.0)
LEFT, RIGHT = 246.0, 906.0
"""Where the columns of labels end and begin."""

MIDDLE, NEAR = 560.0, 90.0
"""Left of the middle a label goes left; it may shift that far to share the labels out."""

SIZE = 15.0
TOP = 88.0
FRAME = (176.0, 138.0, 776.0, 362.0)
"""What a phone is shown of the sheet: left, top, wide, tall."""
NUMBER = 34.0

MOST = 14
"""Labels in one column; what is more is listed below without a leader."""


@dataclass(frozen=True, slots=True)
class Label:
    """number: in the order in which they came off. at: on the sheet, or None."""

    number: int
    words: str
    at: Point | None


def labels(sheets: Sheets, session: str) -> tuple[Label, ...]:
    """What is off at a session's end."""
    problem = sheets.todo.problem
    found = []
    for number, name in enumerate(sheets.ends[session].off, 1):
        component = problem.components[name]
        place = place_of(component)
        at = None if place is None else seen(place, ORIGIN)
        found.append(Label(number, off_title(sheets, name), at))
    return tuple(found)


def opened_svg(sheets: Sheets, session: str, *, face: Face = SCREEN) -> str:
    """The picture as an SVG text."""
    problem, car = sheets.todo.problem, sheets.ends[session]
    day = problem.session(session)
    found = labels(sheets, session)
    drawing = Drawing(face)
    drawing.text(12, 34, f"How the car is left: {day.title}", size=24, heavy=True)
    drawing.text(12, 58, _under_title(len(found)), size=SIZE)
    Chassis(drawing, ORIGIN, layout(sheets.outline)).draw()
    rest, foot = _columns(drawing, found)
    y = max(TALL - 62, foot + SIZE)
    for line in (rest, _left_so(sheets, session)):
        y = drawing.lines(12, y, drawing.broken(line, WIDE - 24, size=SIZE), size=SIZE)
    titles = "; ".join(label.words for label in found) or "nothing"
    told = f"Off at the end of {day.title}, in order: {titles}"
    return drawing.svg(WIDE, max(TALL, y + 4), told if car.off else f"{told} is off")


def opened_narrow_svg(sheets: Sheets, session: str) -> str:
    """The same for a phone: numbers for a list that stands below, and nothing beside the car."""
    drawing = Drawing(SCREEN, ink="currentColor")
    Chassis(drawing, ORIGIN, layout(sheets.outline)).draw()
    taken: list[Point] = []
    for label in labels(sheets, session):
        if label.at is None:
            continue
        x, y = free_near(label.at, taken, FRAME, NUMBER)
        taken.append((x, y))
        drawing.line([label.at, (x, y)], width=1.6)
        half = NUMBER * (0.62 if label.number < 10 else 0.84)
        drawing.box(x - half, y - 0.66 * NUMBER, 2 * half, 1.32 * NUMBER, width=2.2, fill="#fff")
        drawing.text(
            x, y + NUMBER * 0.36, str(label.number), size=NUMBER, heavy=True, anchor="middle"
        )
    left, top, wide, tall = FRAME
    svg = drawing.svg(wide, tall, "The car as it is left; its numbers stand for the list below")
    svg = svg.replace('viewBox="0 0', f'viewBox="{left:.0f} {top:.0f}', 1)
    return svg.replace("#fff", "var(--sheet)")


def _under_title(count: int) -> str:
    if not count:
        return "nothing is off"
    return "numbers: the order in which it came off"


def _left_so(sheets: Sheets, session: str) -> str:
    problem = sheets.todo.problem
    said = [problem.effects[name].title for name in sheets.ends[session].pending]
    return f"left so: {'; '.join(said)}" if said else "nothing else is left undone"


def _columns(drawing: Drawing, found: tuple[Label, ...]) -> tuple[str, float]:
    """Labels left and right of the drawing, in the order of their places; those without one in
    words, and where the lowest label ends."""
    placed = [label for label in found if label.at is not None]
    across = sorted(label.at[0] for label in placed if label.at is not None)
    half = across[len(across) // 2] if len(across) > 1 else MIDDLE
    middle = min(max(half, MIDDLE - NEAR), MIDDLE + NEAR)
    left = [label for label in placed if label.at is not None and label.at[0] < middle]
    right = [label for label in placed if label not in left]
    rest = [label for label in found if label.at is None]
    foot = TOP
    for column, edge in ((left, LEFT), (right, RIGHT)):
        column.sort(key=lambda one: (one.at or (0.0, 0.0))[1])
        rest += column[MOST:]
        foot = max(foot, _column(drawing, column[:MOST], edge))
    if not rest:
        return "", foot
    said = [f"{one.number} {one.words}" for one in sorted(rest, key=lambda one: one.number)]
    return f"also off: {'; '.join(said)}", foot


def _column(drawing: Drawing, column: list[Label], edge: float) -> float:
    """One column: each label as near to the height of its place as the others let it; its end."""
    left = edge == LEFT
    room = LEFT - 24 if left else WIDE - RIGHT - 24
    blocks = [drawing.broken(f"{c.number}  {c.words}", room, size=SIZE, most=2) for c in column]
    free = TOP
    heights = [len(block) * SIZE * 1.2 + 8 for block in blocks]
    below = sum(heights)
    for label, block, tall in zip(column, blocks, heights, strict=True):
        at = label.at or (edge, free)
        y = min(max(free, at[1] - tall / 2), TALL - 80 - below)
        y = max(y, free)
        below -= tall
        free = y + tall
        x = edge - 10 if left else edge + 10
        foot = y + SIZE * 0.7
        drawing.line([at, (edge + (18 if left else -18), foot - 4), (edge, foot - 4)], width=0.7)
        drawing.box(at[0] - 3, at[1] - 3, 6, 6, width=1.2, fill=drawing.ink)
        drawing.lines(
            x, foot, block, size=SIZE, heavy=True, anchor="end" if left else "start", pitch=1.15
        )
    return free
