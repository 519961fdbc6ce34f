"""The alignment sheet: words for the screen, and a drawing of strings on the floor.

The drawing shows the car from above, front to the left, between its two strings. Each side has
its row of words at its own string. Wheels are turned ten times as far as they stand.
"""

from __future__ import annotations

import math
from dataclasses import replace
from html import escape

import numpy as np

from drybuild.examine.setting_sheet import (
    LEFT_OUT,
    ORDER,
    AngleRow,
    SettingSheet,
    WholeRow,
)
from drybuild.findings.finding import Interval
from drybuild.show.lines import wrapped
from drybuild.values import System, show, to_unit

SPRINGS = (
    "Nobody under a car on a jack. Steering and suspension joints that were loosened are tightened "
    "by the maker's figures, or LOOK UP, and seen by a second person."
)
CORNER_WORDS = ("front left", "front right", "rear left", "rear right")
NEAR = math.radians(0.005)  # below this an angle is said to be nothing
EXAGGERATED = 10.0
READ_TO = math.radians(0.01)
"""What an alignment rig shows; no figure of the sheet is finer."""


def as_read(angle: float) -> float:
    """An angle to the hundredth of a degree, nothing without a sign."""
    return round(angle / READ_TO) * READ_TO + 0.0


def angle_text(which: Interval | None) -> str:
    """An angle with its doubt: ``about -1.5 deg, -1.7 to -1.3``."""
    if which is None:
        return "not measured"
    return show("angle", as_read(which.median), as_read(which.low), as_read(which.high))


def aim_figure(aim: float) -> str:
    """An aim as a rig reads it: ``-1.8 deg``."""
    return show("angle", as_read(aim))


def toe_text(row: AngleRow, which: Interval | None, system: System) -> str:
    """Toe of one wheel in degrees and minutes, and in a length over its diameter: all of them of
    the angle as it is read, so that one angle has one length."""
    if which is None:
        return "not measured"
    read = as_read(which.median)
    text = f"{angle_text(which)} ({minutes(read)} {_way(read)}"
    lengths = row.lengths(replace(which, median=read))
    if lengths is not None and row.over is not None:
        text += f"; {_toe_length(lengths.median, system)} over {_over(row.over, system)}"
    return text + ")"


def minutes(angle: float) -> str:
    """Size of an angle in whole degrees and minutes of arc: ``1 deg 12 min``, ``6 min``."""
    whole = round(abs(to_unit("angle", angle, "min")) * 2.0) / 2.0
    degrees, rest = divmod(whole, 60.0)
    return (f"{degrees:.0f} deg " if degrees else "") + f"{rest:g} min"


def _way(toe: float) -> str:
    return "straight" if abs(toe) < NEAR else "in" if toe > 0 else "out"


def _toe_length(length: float, system: System) -> str:
    """Toe in tenths of a millimetre or thousandths of an inch: finer than it is ever read."""
    size = abs(length)
    return f"{1e3 * size:.1f} mm" if system == "metric" else f"{size / 0.0254:.3f} in"


def _over(over: float, system: System) -> str:
    return f"{1e3 * over:.0f} mm" if system == "metric" else f"{over / 0.0254:.2f} in"


def sheet_text(sheet: SettingSheet, system: System = "metric") -> str:
    """The whole sheet as lines for the screen."""
    lines = [f"{sheet.name} · {sheet.state} · alignment", ""]
    for fault in sheet.faults:
        lines += wrapped(f"not used    {fault}", 12)
    if sheet.faults:
        lines.append("")
    for corner in dict.fromkeys(row.corner for row in sheet.rows):
        lines.append(corner.replace(".", " "))
        for row in sheet.rows:
            if row.corner == corner and (row.before or row.after):
                lines += _row_lines(row, system)
    lines += ["", "axles and car"]
    for whole in sheet.whole:
        lines += wrapped(f"  {whole.name:<20}{_whole_text(whole)}", 22)
    if not sheet.whole:
        lines.append("  nothing measured on both sides")
    lines += ["", *_weight_lines(sheet, system)]
    lines += ["", "In this order"]
    for number, step in enumerate(ORDER, 1):
        lines += wrapped(f"  {number}  {step}", 5)
    lines.append("")
    for word in (*LEFT_OUT, SPRINGS):
        lines += wrapped(word, 0)
    return "\n".join(lines).rstrip()


def _row_lines(row: AngleRow, system: System) -> list[str]:
    """One angle of one wheel in two or three lines."""
    said = toe_text if row.angle == "toe" else lambda r, w, s: angle_text(w)
    source = "measured" if row.measured else "worked out from before"
    if row.set_by:
        source = f"as it is to be set: {row.set_by}"
    found = wrapped(f"  {row.angle:<8}before  {said(row, row.before, system)}", 18)
    found += wrapped(f"          after   {said(row, row.after, system)}, {source}", 18)
    did = []
    if row.change is not None and row.measured:
        did.append(f"moved {_moved(row.change)}")
    if row.by_drop is not None and abs(row.by_drop.median) > NEAR / 10:
        did.append(f"the drop did {_moved(row.by_drop)}")
    if (at_parts := by_parts(row)) is not None:
        did.append(f"what is set at the parts adds {at_parts}")
    if row.aim is not None:
        verdict = f" ({row.verdict})" if row.verdict is not None else ""
        whose = {"guess": GUESSED, "found": ", as found"}.get(row.aim_is, "")
        did.append(f"aim {aim_figure(row.aim)}{whose}{verdict}{_to_set(row)}")
    if row.fixed:
        did.append(_fixed_text(row))
    elif row.left is not None:
        did.append(
            f"the adjusters reach it with {angle_text(row.left)} to spare"
            if row.left.low >= 0
            else f"the adjusters may not reach it: {angle_text(row.left)} to spare"
            if row.left.high >= 0
            else f"the adjusters do not reach it by {angle_text(_negated(row.left))}"
        )
    if did:
        found += wrapped("                  " + "; ".join(did), 18)
    return found


FIXED = "nothing sets it here"
"""Of an angle that no adjuster of its axle moves, on the card and on the sheet."""


GUESSED = ", a starter's guess"
"""Of an aim that nobody stated: the figure as found, which nobody read either."""


def _fixed_text(row: AngleRow) -> str:
    """That nothing sets an angle, and how it lies to the window about its aim."""
    if row.left is None:
        return FIXED
    said = (
        f"inside its window with {angle_text(row.left)} to spare"
        if row.left.low >= 0
        else f"perhaps outside its window: {angle_text(row.left)} to spare"
        if row.left.high >= 0
        else f"outside its window by {angle_text(_negated(row.left))}"
    )
    return f"{FIXED}: {said}"


def by_parts(row: AngleRow) -> str | None:
    """What an arm or plate as it is set adds beside the drop, where it is more than nothing."""
    if row.parts is None or row.before is None or row.by_drop is None or row.measured:
        return None
    added = row.parts.median - row.before.median - row.by_drop.median
    if abs(added) <= NEAR:
        return None
    return _moved(Interval(added, added, added))


def _to_set(row: AngleRow) -> str:
    """What is left to set on the rack, where the angle is not read yet: worked out, it is as the
    parts leave it."""
    now = row.parts if row.set_by else row.after
    if row.aim is None or now is None or row.measured:
        return ""
    left = Interval(row.aim - now.median, row.aim - now.high, row.aim - now.low)
    lead = "to it" if row.fixed else "left to set"
    return f", {lead} {angle_text(left)}" if abs(left.median) > NEAR else ""


def _negated(room: Interval) -> Interval:
    """What is lacking, of a room below nothing."""
    return Interval(-room.median, -room.high, -room.low)


def _moved(change: Interval) -> str:
    return angle_text(change).removeprefix("about ")


def _whole_text(row: WholeRow) -> str:
    text = []
    if row.before is not None:
        text.append(f"before {angle_text(row.before)}")
    if row.after is not None:
        text.append(f"after {angle_text(row.after)}")
    both = row.after or row.before
    if both is not None and both.low == both.high == 0.0:
        return "0: both sides were written down as one. Cars are crooked: measure each side"
    if row.finding is not None:
        text.append(str(row.finding.verdict))
    return "; ".join(text)


def _weight_lines(sheet: SettingSheet, system: System) -> list[str]:
    """Corner weights and what the perches must do."""
    setting = sheet.weights
    if setting is None:
        return [
            *wrapped("corner weights  not known: each wheel on scales, and the spring rates", 16)
        ]
    low, middle, high = (float(v) for v in np.nanquantile(setting.share, (0.025, 0.5, 0.975)))
    share = show("fraction", middle, low, high)
    lines = [f"corner weights  diagonal front left + rear right {share}"]
    for i, words in enumerate(CORNER_WORDS):
        text = f"  {words:<14}{show('mass', _mid(setting.loads[i]) / 9.80665, system=system)}"  # type: ignore[index]
        if setting.perch is not None:
            turn = _mid(setting.perch[i])  # type: ignore[index]
            way = "up" if turn > 0 else "down"
            text += f", perch {way} {show('length', abs(turn), system=system)}"
            if setting.load_wanted is not None:
                wanted = _mid(setting.load_wanted[i]) / 9.80665  # type: ignore[index]
                text += f" for {show('mass', wanted, system=system)}"
        lines.append(text)
    if setting.perch is not None:
        lines += wrapped(
            "  The perches move together: each one by its figure, then weigh again. Small moves, a "
            "stiff body, links of the bars off. A squeezed spring is restrained, whatever the "
            "number.", 2,
        )  # fmt: skip
    return lines


def _mid(column: object) -> float:
    return float(np.nanmedian(np.asarray(column, dtype=np.float64)))


WIDTH, HEIGHT = 960.0, 756.0
FRONT_X, REAR_X = 250.0, 710.0
MIDDLE_Y = 376.0
STRING_Y = {"right": 246.0, "left": 506.0}
HUB_Y = {"right": 288.0, "left": 464.0}
WORDS_Y = {"right": 52.0, "left": 538.0}
WHEEL_HALF = 52.0


def sheet_svg(sheet: SettingSheet, system: System = "metric") -> str:
    """Strings and wheels from above, front to the left, words beside each wheel."""
    out = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH:.0f} {HEIGHT:.0f}" '
        f'class="strings" role="img" aria-label="{escape(_in_words(sheet, system), quote=True)}">',
        _text(WIDTH / 2, 26, "from above, front to the left; wheels turned ten times as far as "
              "they stand", "note mid"),
    ]  # fmt: skip
    for side in ("right", "left"):
        y = STRING_Y[side]
        out.append(f'<path d="M40 {y:.0f}H920" class="string"/>')
        out.append(_text(44, y + (-8 if side == "right" else 18), f"string, {side} side", "note"))
    out.append(f'<path d="M120 {MIDDLE_Y}H850" class="middle"/>')
    out.append(_text(800, MIDDLE_Y - 6, "the car's own line", "note mid"))
    out.append(_thrust(sheet))
    for axle, x in (("front", FRONT_X), ("rear", REAR_X)):
        out.append(f'<path d="M{x} {HUB_Y["right"]}V{HUB_Y["left"]}" class="axle"/>')
        for side in ("right", "left"):
            out += _wheel(sheet, axle, side, x, system)
    out.append(_key())
    out.append("</svg>")
    return "".join(out)


def _of(sheet: SettingSheet, corner: str, angle: str) -> AngleRow | None:
    return next((r for r in sheet.rows if r.corner == corner and r.angle == angle), None)


def _wheel(sheet: SettingSheet, axle: str, side: str, x: float, system: System) -> list[str]:
    corner = f"{axle}.{side}"
    y = HUB_Y[side]
    toe = _of(sheet, corner, "toe")
    out = []
    if toe is not None:
        for which, style in ((toe.after, "after"), (toe.before, "before")):
            if which is not None:
                out.append(_turned(x, y, which.median, side, style))
    if toe is None or (toe.before is None and toe.after is None):
        out.append(_turned(x, y, 0.0, side, "unknown"))
    words = [f"{axle} {side}"]
    for angle in ("camber", "toe", "caster"):
        row = _of(sheet, corner, angle)
        if row is None or (row.before is None and row.after is None):
            if angle != "caster":
                words.append(f"{angle}: not measured")
            continue
        words += _labels(row, system)
    for i, line in enumerate(words):
        style = "mid heavy" if i == 0 else "mid"
        out.append(_text(x, WORDS_Y[side] + 19 * i, line, style))
    return out


def _labels(row: AngleRow, system: System) -> list[str]:
    """Words at a wheel: what it is, what it was, what is wanted."""
    both = row.after if row.after is not None else row.before
    said = toe_text(row, both, system) if row.angle == "toe" else angle_text(both)
    first = [f"{row.angle} {said}"]
    if row.angle == "toe" and " (" in said:  # two lines, or the wheels' words meet
        first = [f"toe {said.split(' (')[0]}", said.split(" (")[1].removesuffix(")")]
    rest = []
    if row.before is not None and row.after is not None:
        rest.append(f"was {show('angle', row.before.median)}")
    if row.aim is not None:
        rest.append(f"aim {show('angle', row.aim)}")
    if row.verdict is not None:
        rest.append(str(row.verdict))
    return [*first, "; ".join(rest)] if rest else first


def _turned(x: float, y: float, toe: float, side: str, style: str) -> str:
    """A wheel as a plain line, turned by toe; the front edge lies to the left."""
    # Front in means towards the middle: down on the page for the right side, up for the left.
    inwards = 1.0 if side == "right" else -1.0
    angle = max(-0.5, min(0.5, EXAGGERATED * toe))
    # The thin line of before reaches past the thick one of after, so that both are seen.
    half = WHEEL_HALF + (26.0 if style == "before" else 0.0)
    dx, dy = half * math.cos(angle), half * math.sin(angle) * inwards
    return (
        f'<path d="M{x - dx:.1f} {y + dy:.1f}L{x + dx:.1f} {y - dy:.1f}" class="wheel {style}"/>'
        f'<circle cx="{x:.1f}" cy="{y:.1f}" r="3" class="hub"/>'
    )


def _thrust(sheet: SettingSheet) -> str:
    """The line in which the rear wheels push, ten times as far off as it is."""
    now = sheet.thrust[1] if sheet.thrust[1] is not None else sheet.thrust[0]
    if now is None:
        return _text(480, MIDDLE_Y + 22, "thrust angle: not measured", "note mid")
    length = 420.0
    # To the right of the car is up on the page, for its front lies to the left.
    rise = -length * math.sin(max(-0.3, min(0.3, EXAGGERATED * now.median)))
    text = "straight ahead" if abs(now.median) < NEAR else angle_text(now) + " to the " + (
        "right" if now.median > 0 else "left")  # fmt: skip
    return (
        f'<path d="M{REAR_X} {MIDDLE_Y}L{REAR_X - length:.0f} {MIDDLE_Y + rise:.1f}" '
        'class="thrust"/>' + _text(480, MIDDLE_Y + 22, f"rear wheels push {text}", "note mid")
    )


def _key() -> str:
    y = HEIGHT - 16.0
    return "".join(
        f'<path d="M{x} {y - 4}h52" class="{style}"/>' + _text(x + 60, y, words, "note")
        for x, style, words in (
            (300, "wheel before", "before"), (430, "wheel after", "after"),
            (560, "thrust", "thrust line"),
        )
    )  # fmt: skip


def _text(x: float, y: float, words: str, style: str) -> str:
    return f'<text x="{x:.0f}" y="{y:.0f}" class="{style}">{escape(words)}</text>'


def _in_words(sheet: SettingSheet, system: System) -> str:
    said = ["The wheels from above between two strings"]
    for row in sheet.rows:
        if row.after is not None:
            text = toe_text(row, row.after, system) if row.angle == "toe" else angle_text(row.after)
            said.append(f"{row.corner.replace('.', ' ')} {row.angle} {text}")
    return "; ".join(said)


STYLE = """
svg text { font:13px "Source Sans 3","Noto Sans","DejaVu Sans",sans-serif; fill:#26343b; }
svg text.note { font-size:11.5px; fill:#4a585f; } svg .mid { text-anchor:middle; }
svg .end { text-anchor:end; } svg .heavy { font-weight:700; }
svg path { fill:none; stroke:#26343b; stroke-width:1.3; }
svg .string { stroke-width:.9; } svg .axle { stroke-width:.8; }
svg .middle { stroke-width:.8; stroke-dasharray:14 4 2 4; }
svg .thrust { stroke:#9a4f1c; stroke-width:1.6; stroke-dasharray:2 4; }
svg .wheel { stroke-width:7; stroke-linecap:butt; } svg .wheel.after { stroke:#7d898e; }
svg .wheel.before { stroke-width:1.6; stroke-dasharray:6 4; stroke-linecap:butt; }
svg .wheel.unknown { stroke-width:1; stroke-dasharray:1 4; } svg .hub { fill:#26343b; }
"""
