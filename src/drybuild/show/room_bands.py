"""The room that an answer leaves, answer by answer: one band a row over one scale, the last heavy.

What touches stands to the left of the line, what clears to the right; each row is a sentence above
its band, so that the drawing keeps its letters on a phone.
"""

from __future__ import annotations

from dataclasses import dataclass

from drybuild.findings import Finding
from drybuild.show.bands import limit_figures, said_as
from drybuild.show.drawing import SCREEN, Anchor, Drawing
from drybuild.values import (
    System,
    Unit,
    band_text,
    figures,
    kind_named,
    number_of,
    show,
    shown_unit,
    with_minus,
)
from drybuild.values.units import unit_of

WIDE = 360.0
LEFT, RIGHT = 8.0, 352.0
TOP, ROW, FOOT = 44.0, 62.0, 66.0
SIZE = 17.0


@dataclass(frozen=True, slots=True)
class Band:
    """What is there after an answer. SI; None: nothing is known. said: which answer it was;
    beside: the other band of the same finding, as ``figures`` takes it."""

    said: str
    low: float | None = None
    median: float | None = None
    high: float | None = None
    beside: tuple[float, float, float] | None = None


@dataclass(frozen=True, slots=True)
class Scale:
    """Which quantity the bands are of. wanted: the least that is wanted, 0 where that is all;
    below, above: words for either side of nothing."""

    kind: str
    wanted: float
    below: str
    above: str


@dataclass(frozen=True, slots=True)
class _Axis:
    """Where a value lies across the sheet. unit, label: in which it is written."""

    low: float
    high: float
    unit: Unit
    label: str

    def at(self, value: float) -> float:
        return LEFT + (RIGHT - LEFT) * (value - self.low) / (self.high - self.low)

    def said(self, value: float) -> str:
        number = self.unit.from_si(value)
        return with_minus(f"{number:.0f}" if abs(number) >= 99.5 else f"{number:.2g}")


def scale_of(finding: Finding) -> Scale:
    """A gap between things is drawn as it is; of anything else the margin is."""
    if _as_gap(finding):
        return Scale(finding.kind, finding.gap_wanted or 0.0, "touches", "clear")
    return Scale(said_as(finding.kind), 0.0, "short", "to spare")


def room_sentence(finding: Finding, system: System) -> str:
    """The gap that there is, and the gap that is wanted; empty where it is of no gap."""
    if finding.slack is None or not _as_gap(finding):
        return ""
    there = band_text(limit_figures(finding, system))
    wanted = show(finding.kind, finding.gap_wanted or 0.0, system=system)
    touching = " (below 0 it touches)" if finding.slack.low < 0 else ""
    return f"gap {there}{touching}; {wanted} is wanted"


def gap_said(finding: Finding) -> float:
    """The middle of a gap as it is said, SI: what stands beside it is rounded to add up to it."""
    middle, _, _, label = limit_figures(finding, "metric")
    return unit_of(label, finding.kind).to_si(number_of(middle))


def band_of(said: str, finding: Finding) -> Band:
    """The band of a finding on its scale."""
    found, other = finding.margin, finding.slack
    if _as_gap(finding):
        found, other = other, found
    if found is None:
        return Band(said)
    beside = None if other is None else (other.median, other.low, other.high)
    return Band(said, found.low, found.median, found.high, beside)


def band_words(band: Band, scale: Scale, system: System) -> str:
    """A band as it is said."""
    if band.low is None or band.median is None or band.high is None:
        return "not known"
    return band_text(
        figures(scale.kind, band.median, band.low, band.high, system, beside=band.beside)
    )


def draw_bands(bands: tuple[Band, ...], scale: Scale, system: System) -> str:
    """The picture as SVG."""
    axis = _axis_of(bands, scale, system)
    foot = TOP + ROW * len(bands)
    drawing = Drawing(SCREEN, ink="currentColor")
    _sides(drawing, axis.at(0.0), scale)
    drawing.line([(axis.at(0.0), TOP - 14), (axis.at(0.0), foot + 6)], width=2.2)
    if scale.wanted > 0:
        x = axis.at(scale.wanted)
        drawing.line([(x, TOP - 4), (x, foot + 6)], dash="3 4")
    for number, band in enumerate(bands):
        last = number == len(bands) - 1
        y = TOP + ROW * number
        # Beside a band nothing may hide the line that says where touching begins.
        words = drawing.broken(band.said, RIGHT - LEFT - 8, size=SIZE, heavy=last, most=1)
        _behind(drawing, LEFT, y + 6, drawing.long(words[0], size=SIZE, heavy=last))
        drawing.text(LEFT + 2, y + SIZE + 1, words[0], size=SIZE, heavy=last)
        _band(drawing, band, axis, y + 38, last)
    _marks(drawing, foot + 6, axis, scale)
    told = "; ".join(f"{b.said}: {band_words(b, scale, system)}" for b in bands)
    return drawing.svg(WIDE, foot + FOOT, told).replace("#fff", "var(--sheet)")


def _axis_of(bands: tuple[Band, ...], scale: Scale, system: System) -> _Axis:
    low = min([0.0, *(b.low for b in bands if b.low is not None)])
    high = max([scale.wanted, 0.0, *(b.high for b in bands if b.high is not None)])
    room = (high - low) * 0.05 or 1.0
    low, high = low - room, high + room
    unit, label = shown_unit(kind_named(scale.kind), max(abs(low), abs(high)), system)
    return _Axis(low, high, unit, label)


def _as_gap(finding: Finding) -> bool:
    """Whether the finding is of two things that may touch, with a gap wanted between them."""
    return (
        finding.check.endswith("_gap") and finding.kind == "length"
        and finding.slack is not None and bool(finding.gap_wanted)
    )  # fmt: skip


def _behind(drawing: Drawing, x: float, y: float, long: float) -> None:
    drawing.parts.append(
        f'<rect x="{x:.1f}" y="{y - 3:.1f}" width="{long + 6:.1f}" height="20" fill="#fff"/>'
    )


def _sides(drawing: Drawing, zero: float, scale: Scale) -> None:
    y = TOP - 20
    if zero - LEFT > drawing.long(scale.below, size=16) + 20:
        drawing.text(zero - 10, y, f"← {scale.below}", size=16, anchor="end")
    drawing.text(zero + 10, y, f"{scale.above} →", size=16)


def _band(drawing: Drawing, band: Band, axis: _Axis, y: float, last: bool) -> None:
    if band.low is None or band.median is None or band.high is None:
        drawing.line([(LEFT, y), (RIGHT, y)], width=1.2, dash="2 6")
        return
    left, right = axis.at(band.low), max(axis.at(band.high), axis.at(band.low) + 3)
    thick, middle = 12.0 if last else 7.0, axis.at(band.median)
    drawing.box(left, y - thick, right - left, 2 * thick, width=2.2 if last else 1.2,
                fill="var(--rubber)" if last else "none", dash="" if last else "5 4")  # fmt: skip
    drawing.line([(middle, y - thick - 2), (middle, y + thick + 2)], width=2.8 if last else 1.8)


def _marks(drawing: Drawing, y: float, axis: _Axis, scale: Scale) -> None:
    """The line at the foot with nothing and both ends, and under it what is wanted."""
    drawing.line([(LEFT, y), (RIGHT, y)], width=1.0)
    room = 0.16 * (axis.high - axis.low)
    marks: list[tuple[float, str]] = [(0.0, "0")]
    if axis.low < -room:
        marks.append((axis.low, axis.said(axis.low)))
    if axis.high > room:
        marks.append((axis.high, f"{axis.said(axis.high)} {axis.label}".strip()))
    for value, words in marks:
        x = axis.at(value)
        anchor: Anchor = "end" if x > RIGHT - 40 else "start" if x < LEFT + 30 else "middle"
        drawing.line([(x, y - 4), (x, y + 5)], width=1.0)
        drawing.text(x, y + 24, words, size=16, anchor=anchor)
    if scale.wanted > 0:
        x, words = axis.at(scale.wanted), f"{axis.said(scale.wanted)} {axis.label} wanted"
        ends = x + 1.2 * drawing.long(words, size=16) > WIDE
        drawing.line([(x, y - 4), (x, y + 5)], width=1.0)
        # Whatever letters the browser has, it ends on the sheet.
        drawing.text(WIDE if ends else x, y + 46, words, size=16, anchor="end" if ends else "start")
