"""The car on the first page: a chassis in lines, and what each part of it says, on leader lines.

On a wide sheet the words stand beside the drawing, each a link. On a phone the drawing carries
letters, and the same words stand below it in a list, so that they keep their size.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from html import escape
from urllib.parse import quote

from drybuild.examine import Examination
from drybuild.findings import AXLES, CORNERS, Finding, Verdict
from drybuild.show.chassis import (
    HALF_TRACK,
    WHEEL,
    WHEELBASE,
    Chassis,
    Place,
    free_near,
    layout,
    seen,
)
from drybuild.show.drawing import SCREEN, Drawing, Point
from drybuild.show.sentences import headline

WIDE, TALL = 1300.0, 530.0
CAR = (70.0, 412.0)
"""From where to where down the sheet the chassis reaches."""

ORIGIN = (464.0, 250.0)
LARGER = 1.08
"""How much larger than on a sheet of the work the chassis is drawn."""

LEFT, RIGHT = 304.0, 1002.0
"""Where the columns of words end and begin."""

SIZE = 18.5
PITCH = 1.18
TOP = 8.0
MOST_LETTERS = 64
"""Longer words are cut at their first colon: the page behind the label has them whole."""

FRAME = (312.0, 24.0, 690.0, 392.0)
"""What a phone is shown of the sheet: left, top, wide, tall."""

LETTER = 33.0
MARKS = {Verdict.SHORT: "▼", Verdict.UNSURE: "◆", Verdict.UNMEASURED: "?", Verdict.ENOUGH: "■"}
ORDER = (Verdict.SHORT, Verdict.UNMEASURED, Verdict.UNSURE)


@dataclass(frozen=True, slots=True)
class Part:
    """A part of the car that has a label. rooms: of its checks; at: on the chassis."""

    name: str
    where: str
    rooms: tuple[str, ...]
    at: Place


@dataclass(frozen=True, slots=True)
class Label:
    """What a part says. where: its page; mark, words: its heaviest finding; more: the others in
    figures; counts: all of them in figures."""

    letter: str
    name: str
    where: str
    mark: str
    words: str
    more: str
    counts: str
    verdict: str
    at: Place


AT_THE_CORNER = ("corners", "ride", "brakes", "law", "driveline")
PARTS = (
    Part("Breathing and map", "/engine", ("breathing", "calibration"), (0.0, 0.1, 0.7)),
    Part("Fuel", "/engine", ("fuel",), (2.0, 0.2, 0.56)),
    Part("Cooling", "/findings?of=cooling", ("cooling",), (-0.6, 0.2, 0.62)),
    Part("Driveline", "/findings?of=driveline", ("driveline",), (0.62, 0.0, 0.5)),
    Part("Electrics", "/findings?of=electrics", ("electrics",), (-0.1, 0.42, 0.62)),
    Part("Steering, brakes, rules", "/findings?of=ride,brakes,law,corners",
         ("ride", "brakes", "law", "corners"),
         (0.98, 0.36, 0.98)),
)  # fmt: skip


def labels(examination: Examination, state: str = "") -> tuple[Label, ...]:
    """Every label, corners first. A part without a finding has none. state: as the pages that the
    labels lead to are asked for it, empty for their own."""
    found: list[Label] = []
    for corner in CORNERS:
        axle, _, side = corner.partition(".")
        here = [f for f in examination.findings
                if f.subject in (corner, axle) and f.system in AT_THE_CORNER]  # fmt: skip
        x = 0.0 if axle == "front" else WHEELBASE
        y = (HALF_TRACK + 0.1) * (1 if side == "left" else -1)
        part = Part(f"{axle} {side}".capitalize(), f"/corner/{axle}/{side}", (),
                    (x, y, WHEEL * (1.0 if side == "left" else 1.6)))  # fmt: skip
        found += _label(part, here, len(found), corner)
    for part in PARTS:
        here = [f for f in examination.findings if f.system in part.rooms
                and f.subject not in CORNERS and f.subject not in AXLES]  # fmt: skip
        found += _label(part, here, len(found), "")
    return tuple(replace(one, where=_asked(one.where, state)) for one in found)


def _asked(where: str, state: str) -> str:
    return f"{where}{'&' if '?' in where else '?'}state={quote(state)}" if state else where


def _label(part: Part, findings: list[Finding], number: int, corner: str) -> list[Label]:
    armed = [f for f in findings if f.armed]
    if not findings:
        return []
    letter = "ABCDEFGHIJKLMN"[number]

    def said(mark: str, words: str, more: str, counts: str, verdict: str) -> list[Label]:
        return [Label(letter, part.name, part.where, mark, words, more, counts, verdict, part.at)]

    if not armed:
        return said("○", "as found: no change touches it", "", "as found", "found")
    heavy = min(armed, key=lambda f: f.weight)
    verdict, mark = str(heavy.verdict), MARKS[heavy.verdict]
    if heavy.verdict is Verdict.ENOUGH:
        count = len({f.check for f in armed})
        words = f"enough in all {count} checks" if count > 1 else "enough in its one check"
        return said(mark, words, "", f"{count} enough", verdict)
    open_ = {v: {f.check for f in armed if f.verdict is v} for v in ORDER}
    counts = _counted(open_)
    open_[heavy.verdict].discard(heavy.check)
    # The heaviest may be of the whole axle; its label stands at each of its corners.
    place = f"{heavy.place} " if corner and heavy.subject != corner else ""
    words = f"{verdict}: {place}{_short(headline(heavy).removeprefix(f'{heavy.place}: '))}"
    return said(mark, words, _counted(open_), counts, verdict)


def _counted(checks: dict[Verdict, set[str]]) -> str:
    return ", ".join(f"{len(found)} {verdict}" for verdict, found in checks.items() if found)


def _short(words: str) -> str:
    return words.partition(": ")[0] if len(words) > MOST_LETTERS else words


def _seen(place: Place) -> Point:
    """A place on the sheet, where the chassis is drawn larger."""
    x, y = seen(place, (0.0, 0.0))
    return ORIGIN[0] + x * LARGER, ORIGIN[1] + y * LARGER


def _chassis(drawing: Drawing, outline: str) -> None:
    x, y = ORIGIN
    drawing.parts.append(f'<g transform="translate({x:g} {y:g}) scale({LARGER:g})">')
    Chassis(drawing, (0.0, 0.0), layout(outline)).draw()
    drawing.parts.append("</g>")


def draw_wide(found: tuple[Label, ...], outline: str) -> str:
    """The sheet with words on leader lines, as SVG."""
    drawing = Drawing(SCREEN, ink="currentColor")
    _chassis(drawing, outline)
    placed = [(label, _seen(label.at)) for label in found]
    placed.sort(key=lambda one: one[1][0])
    half = (len(placed) + 1) // 2
    top, foot = CAR
    for column, left in ((placed[:half], True), (placed[half:], False)):
        ends = _column(drawing, sorted(column, key=lambda o: o[1][1]), left)
        top, foot = min(top, ends[0]), max(foot, ends[1])
    svg = drawing.svg(WIDE, TALL, "The car, and what each part of it says")
    svg = svg.replace(f'viewBox="0 0 {WIDE:.0f} {TALL:.0f}"',
                      f'viewBox="0 {top - 4:.0f} {WIDE:.0f} {foot - top + 8:.0f}"')  # fmt: skip
    return svg.replace("#fff", "var(--sheet)").replace('role="img"', 'role="group"', 1)


def draw_narrow(found: tuple[Label, ...], outline: str) -> str:
    """The same with letters, for a list that stands below."""
    drawing = Drawing(SCREEN, ink="currentColor")
    _chassis(drawing, outline)
    taken: list[Point] = []
    for label in found:
        tip = _seen(label.at)
        x, y = free_near(tip, taken, FRAME, LETTER)
        taken.append((x, y))
        drawing.line([tip, (x, y)], width=1.6)
        _ring(drawing, x, y, label)
    svg = drawing.svg(WIDE, TALL, "The car; its letters stand for the list below")
    left, top, wide, tall = FRAME
    svg = svg.replace(f'viewBox="0 0 {WIDE:.0f} {TALL:.0f}"',
                      f'viewBox="{left:.0f} {top:.0f} {wide:.0f} {tall:.0f}"')  # fmt: skip
    return svg.replace("#fff", "var(--sheet)")


def _ring(drawing: Drawing, x: float, y: float, label: Label) -> None:
    """Its letter on paper; a heavy frame where something stops."""
    heavy = label.verdict in ("short", "unmeasured")
    side = LETTER * 0.72
    drawing.box(x - side, y - side, 2 * side, 2 * side, width=4.5 if heavy else 1.8, fill="#fff")
    drawing.text(x, y + LETTER * 0.37, label.letter, size=LETTER, heavy=heavy, anchor="middle")


def _column(
    drawing: Drawing, column: list[tuple[Label, Point]], left: bool
) -> tuple[float, float]:  # fmt: skip
    """One column of words, each as near to the height of its place as the others let it; returns
    where it begins and ends."""
    edge = LEFT if left else RIGHT
    room = LEFT - 22 if left else WIDE - RIGHT - 22
    blocks = [_lines(drawing, label, room) for label, _ in column]
    heights = [len(block) * SIZE * PITCH + 16 for block in blocks]
    free, below, top = TOP, sum(heights), TALL
    for (label, tip), block, tall in zip(column, blocks, heights, strict=True):
        y = max(free, min(tip[1] - tall / 2, TALL - 8 - below))
        below -= tall
        free, top = y + tall, min(top, y)
        foot = y + SIZE
        elbow = edge + 16 if left else edge - 16
        drawing.line([tip, (elbow, foot - 6), (edge, foot - 6)], width=0.8)
        drawing.box(tip[0] - 3.5, tip[1] - 3.5, 7, 7, width=1.2, fill=drawing.ink)
        aloud = escape(_aloud(label), quote=True)
        drawing.parts.append(
            f'<a href="{escape(label.where)}" class="on-car" aria-label="{aloud}">'
        )
        x = edge - 8 if left else edge + 8
        for k, words in enumerate(block):
            drawing.text(x, foot + k * SIZE * PITCH, words, size=SIZE, heavy=k == 0,
                         anchor="end" if left else "start")  # fmt: skip
        drawing.parts.append("</a>")
    return top, free


def _aloud(label: Label) -> str:
    """A label as it is read out: its mark is a shape, and its words say the same."""
    more = f", and {label.more}" if label.more else ""
    return f"{label.name}: {label.words}{more}"


def _lines(drawing: Drawing, label: Label, room: float) -> list[str]:
    said = drawing.broken(f"{label.mark} {label.words}", room, size=SIZE, most=3)
    more = drawing.broken(f"and {label.more}", room, size=SIZE) if label.more else []
    return [label.name, *said, *more]
