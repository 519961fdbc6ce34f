"""Load transfer in steady cornering as bars: front and rear, before and after, part by part.

Each part has its own hatch and its word with its number, so that colour tells nothing alone.
"""

from __future__ import annotations

from html import escape

from drybuild.examine.setting_sheet import PartsNow, SettingSheet
from drybuild.show.lines import wrapped
from drybuild.values import System, show, stepped, unsigned

GRAVITY = 9.80665
USUAL = 0.5 * GRAVITY
COMPARISON = (
    "A comparison of before and after only: it says nothing of how the car balances. Tyres, camber "
    "and toe that changed too are not in it."
)
MODEL = (
    "Steady cornering, small angles, stiff links and body; jacking and the tyres' give sideways "
    "are left out."
)
HATCH = {"springs": "plain", "bar": "lines", "roll centre": "dots", "wheels and hubs": "cross"}
WIDTH, BAR, LEFT, ROW = 960.0, 30.0, 150.0, 74.0


def acceleration(sheet: SettingSheet) -> float:
    """Lateral acceleration that is shown, m/s²: the goal's, else half a g."""
    return USUAL if sheet.cornering is None else sheet.cornering


def transfer_text(sheet: SettingSheet, system: System = "metric") -> str:
    """Load transfer in words, a line for each axle before and after."""
    if not sheet.transfer_after:
        return "load transfer  not known: masses, roll centres, springs or bars are missing"
    ay = acceleration(sheet)
    lines = [f"load moved to the outer wheel at {show('acceleration', ay)}, steady, laden"]
    for when, parts in (("before", sheet.transfer_before), ("after", sheet.transfer_after)):
        for axle in parts:
            named = ", ".join(
                f"{name} {_force(ay * value, system)}" for name, value in axle.parts
            )
            lines += wrapped(f"  {axle.axle:<7}{when:<8}{_total(axle, ay, system)}: {named}", 17)
    for name, load in sheet.inner:
        left = show("force", load.median, load.low, load.high, system)
        lines += wrapped(f"  {name} inner wheel, after: {left} left on it", 4)
    lines += ["", *wrapped(tendency(sheet), 0), *wrapped(MODEL, 0)]
    return "\n".join(lines)


def tendency(sheet: SettingSheet) -> str:
    """Which way the change pushes, in one sentence, with its chance."""
    change, falls = sheet.share_change, sheet.share_falls
    if change is None or falls is None:
        return "Which way the balance moved is not known."
    if change.low == change.high == 0.0:
        return "The front's share of the load transfer is as it was."
    less = falls >= 0.5
    sure = falls if less else 1.0 - falls
    middle, _, _ = stepped(*(100.0 * c for c in (change.median, change.low, change.high)))
    points = unsigned(middle)
    way = "oversteer" if less else "understeer"
    said = (
        f"The front takes {points} points {'less' if less else 'more'} of the whole than "
        f"before: a push towards {way} ({100 * sure:.0f} in 100)."
    )
    if sure < 0.95:
        said = f"The front's share moved by less than the doubt ({points} points)."
    return f"{said} {COMPARISON}"


def _force(newton: float, system: System) -> str:
    return show("force", newton, system=system)


def _total(axle: PartsNow, ay: float, system: System) -> str:
    t = axle.total
    return show("force", ay * t.median, ay * t.low, ay * t.high, system)


def transfer_svg(sheet: SettingSheet, system: System = "metric") -> str | None:
    """The bars, to one scale; None where nothing is known."""
    if not sheet.transfer_after:
        return None
    ay = acceleration(sheet)
    bars = []
    for axle in ("front", "rear"):
        for when, parts in (("before", sheet.transfer_before), ("after", sheet.transfer_after)):
            bars += [(f"{axle}, {when}", p) for p in parts if p.axle == axle]
    most = max(max(p.total.high, sum(max(v, 0.0) for _, v in p.parts)) for _, p in bars)
    least = min(0.0, *(sum(min(v, 0.0) for _, v in p.parts) for _, p in bars))
    scale = (WIDTH - LEFT - 40.0) / (most - least)
    zero = LEFT - scale * least
    height = 60.0 + ROW * len(bars) + 34.0
    words = transfer_text(sheet, system).replace("\n", " ")
    out = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH:.0f} {height:.0f}" '
        f'class="transfer" role="img" aria-label="{escape(words, quote=True)}">',
        _PATTERNS,
        f'<text x="{LEFT:.0f}" y="24">load moved to the outer wheel at '
        f"{escape(show('acceleration', ay))}, steady, laden</text>",
        f'<path d="M{zero:.1f} 40V{height - 30:.0f}" class="zero"/>',
    ]
    for i, (name, one) in enumerate(bars):
        out += _bar(name, one, 52.0 + ROW * i, zero, scale, ay, system)
    out.append(
        f'<text x="{LEFT:.0f}" y="{height - 8:.0f}" class="note">hatches: springs plain, bar '
        "slanted lines, roll centre dots, wheels and hubs crossed; the line at the end is the "
        "doubt of the whole</text></svg>"
    )
    return "".join(out)


def _bar(
    name: str, parts: PartsNow, y: float, zero: float, scale: float, ay: float, system: System
) -> list[str]:
    """One bar with its words under it; parts below nothing lie left of the zero line."""
    out = [f'<text x="{LEFT - 12:.0f}" y="{y + 20:.0f}" class="end heavy">{escape(name)}</text>']
    at = {True: zero, False: zero}
    boxes, labels = [], []
    for part, value in parts.parts:
        up = value >= 0.0
        size = abs(value) * scale
        x = at[up] if up else at[up] - size
        at[up] += size if up else -size
        boxes.append((x, size))
        labels.append(f"{part} {_force(ay * value, system)}")
        out.append(
            f'<rect x="{x:.1f}" y="{y:.1f}" width="{max(size, 0.6):.1f}" height="{BAR:.0f}" '
            f'fill="url(#{HATCH[part]})" class="part"/>'
        )
    under = y + BAR
    for (x, size), start, label in zip(boxes, _starts(boxes, labels), labels, strict=True):
        out.append(
            f'<path d="M{x + min(size, 8.0) / 2:.1f} {under:.0f}L{start + 3:.1f} {under + 7:.0f}" '
            f'class="leader"/><text x="{start:.1f}" y="{under + 18:.0f}" class="note">'
            f"{escape(label)}</text>"
        )
    low, high = (zero + scale * v for v in (parts.total.low, parts.total.high))
    middle = y + BAR / 2
    out.append(
        f'<path d="M{low:.1f} {middle:.1f}H{high:.1f}M{low:.1f} {middle - 6:.1f}v12'
        f'M{high:.1f} {middle - 6:.1f}v12" class="doubt"/>'
        f'<text x="{WIDTH - 8:.0f}" y="{y - 5:.0f}" class="end note">'
        f"{escape(_total(parts, ay, system))}</text>"
    )
    return out


def _starts(boxes: list[tuple[float, float]], labels: list[str]) -> list[float]:
    """Where the words of the parts begin: under their part, clear of each other, on the paper."""
    widths = [6.0 * len(label) + 12.0 for label in labels]
    starts: list[float] = []
    free = -1e9
    for (x, _), wide in zip(boxes, widths, strict=True):
        starts.append(max(x + 2.0, free))
        free = starts[-1] + wide
    edge = WIDTH - 4.0
    for i in reversed(range(len(starts))):
        starts[i] = min(starts[i], edge - widths[i])
        edge = starts[i]
    return starts


def _pattern(name: str, size: int, marks: str) -> str:
    return (
        f'<pattern id="{name}" width="{size}" height="{size}" patternUnits="userSpaceOnUse">'
        f'<rect width="{size}" height="{size}" fill="#fffdf7"/>{marks}</pattern>'
    )


_LINE = 'stroke="#26343b" stroke-width="1.1" fill="none"'
_PATTERNS = (
    "<defs>"
    + _pattern("plain", 8, '<rect width="8" height="8" fill="#b9c4c6"/>')
    + _pattern("lines", 8, f'<path d="M-2 2l4-4M0 8l8-8M6 10l4-4" {_LINE}/>')
    + _pattern("dots", 7, '<circle cx="3.5" cy="3.5" r="1.4" fill="#26343b"/>')
    + _pattern("cross", 8, f'<path d="M0 0l8 8M0 8l8-8" {_LINE}/>')
    + "</defs>"
)

STYLE = """
svg .part { stroke:#26343b; stroke-width:1; } svg .zero { stroke-width:1; }
svg .leader { stroke:#4a585f; stroke-width:.6; } svg .doubt { stroke:#9a4f1c; stroke-width:2; }
"""
