"""The corner section: tyre and wheel in the half-plane of the hub, the gaps that were measured.

To scale. Across: distance from the hub face, outboard to the right. Up: distance from the axle.
Each gap is drawn as a bar from the tyre's side to the obstacle, its doubt as a paler bar.
"""

from __future__ import annotations

from dataclasses import dataclass
from html import escape
from typing import Any

import numpy as np

from drybuild.examine import Examination
from drybuild.findings import Finding
from drybuild.values import System, show

GAPS = {
    "corners.tyre_upright_gap": ("inner", 0.52, "upright"),
    "corners.tyre_arm_gap": ("inner", 0.34, "arm, at rest"),
    "corners.arm_bump_gap": ("inner", 0.16, "arm, full bump"),
    "corners.tyre_arch_gap": ("outer", 0.06, "arch lip, at rest"),
    "corners.arch_bump_gap": ("outer", 0.24, "arch lip, full bump"),
}
"""Check → side, height down the sidewall as a share of it, and name."""


@dataclass(frozen=True)
class Gap:
    """One gap beside the tyre, m: median and 95 % interval of the slack."""

    side: str
    down: float
    name: str
    finding: Finding


@dataclass(frozen=True)
class Section:
    """Medians of one corner's shape, m, from the hub face and the axle."""

    corner: str
    title: str
    outer: float
    inner: float
    radius: float
    rim_radius: float
    rim_half: float
    rim_centre: float
    disc_radius: float | None
    caliper: tuple[float, float] | None
    gaps: tuple[Gap, ...]


def corner_section(examination: Examination, corner: str) -> Section | None:
    """What the drawing needs of a corner; None when wheel or tyre are not known."""
    outer = _median(examination, f"corners.outer_reach.{corner}")
    inner = _median(examination, f"corners.inner_reach.{corner}")
    radius = _median(examination, f"corners.free_radius.{corner}")
    rim = _median(examination, f"wheel.{corner}.rim_width")
    offset = _median(examination, f"wheel.{corner}.offset")
    spacer = _median(examination, f"corners.spacer_thickness.{corner}") or 0.0
    marking = _raw(examination, f"corners.marking.{corner}")
    if None in (outer, inner, radius, rim, offset) or marking is None:
        return None
    disc = _median(examination, f"disc.{corner}.outer_diameter")
    reach = _median(examination, f"caliper.{corner}.outer_radius")
    face = _median(examination, f"caliper.{corner}.face_offset")
    gaps = tuple(
        Gap(*GAPS[f.check], finding=f)
        for f in examination.findings
        if f.subject == corner and f.check in GAPS and f.slack is not None
    )
    return Section(
        corner, f"{corner.replace('.', ' ')}: {_raw(examination, f'tyre.{corner}.marking')}",
        float(outer or 0), float(inner or 0), float(radius or 0),
        float(marking.rim_code) * 0.0127, float(rim or 0) / 2, spacer - float(offset or 0),
        None if disc is None else disc / 2,
        None if reach is None or face is None else (reach, face), gaps,
    )  # fmt: skip


def _median(examination: Examination, address: str) -> float | None:
    value = _raw(examination, address)
    return None if value is None else float(np.nanmedian(value))


def _raw(examination: Examination, address: str) -> Any:
    outcome = examination.evaluation.get(address)
    return outcome.value if outcome.known else None


def draw_section(section: Section, system: System = "metric") -> str:
    """The section as an SVG text."""
    scale = 1000.0  # user units are millimetres
    reach = max((abs(g.finding.slack.median) for g in section.gaps if g.finding.slack), default=0)
    left = -(section.inner + reach) * scale - 70
    right = (section.outer + reach) * scale + 70
    low = (section.rim_radius - 0.075) * scale
    top = section.radius * scale + 26
    label = 205.0
    width, height = right - left + 2 * label, top - low + 34

    def at(x: float, r: float) -> tuple[float, float]:
        return x * scale - left + label, top - r * scale

    parts = [
        f'<svg viewBox="0 0 {width:.0f} {height:.0f}" role="img" class="section" '
        f'aria-label="{escape(_described(section, system))}" xmlns="http://www.w3.org/2000/svg">'
    ]
    parts += _wheel_lines(section, at)
    parts += _gap_lines(section, at, scale, width, system)
    x0, y0 = at(0.0, low / scale)
    _, y1 = at(0.0, section.radius)
    parts.append(f'<path d="M{x0:.1f} {y0:.1f}V{y1:.1f}" class="hub"/>')
    parts.append(f'<text x="{x0:.1f}" y="{y0 + 14:.1f}" class="note mid">hub face</text>')
    parts.append(
        f'<path d="M{label:.0f} {height - 8:.0f}h100m-100 -4v8m100 -8v8" class="hub solid"/>'
        f'<text x="{label + 106:.0f}" y="{height - 4:.0f}" class="note">'
        f"{escape(show('length', 0.1, system=system))}</text>"
    )
    parts.append("</svg>")
    return "".join(parts)


def _wheel_lines(section: Section, at: Any) -> list[str]:
    """Tyre outline, rim, disc and caliper."""
    xo, xi = section.outer, -section.inner
    rim, top = section.rim_radius, section.radius
    c, half = section.rim_centre, section.rim_half
    bulge = rim + 0.55 * (top - rim)
    shoulder = 0.22 * (top - rim)
    tyre = [
        (c - half, rim), (xi, bulge), (xi, top - shoulder), (xi + shoulder, top),
        (xo - shoulder, top), (xo, top - shoulder), (xo, bulge), (c + half, rim),
    ]  # fmt: skip
    drop = 0.018
    barrel = [
        (c - half - 0.006, rim + 0.012), (c - half, rim), (c - half + 0.02, rim - drop),
        (c + half - 0.02, rim - drop), (c + half, rim), (c + half + 0.006, rim + 0.012),
    ]  # fmt: skip
    found = [
        f'<path d="{_path(tyre, at)}Z" class="tyre"/>',
        f'<path d="{_path(barrel, at)}" class="rim"/>',
    ]
    if section.caliper is not None:
        reach, face = section.caliper
        x, y = at(face - 0.115, reach)
        x2, y2 = at(face, rim - 0.074)
        if y2 > y:
            found.append(
                f'<rect x="{x:.1f}" y="{y:.1f}" width="{x2 - x:.1f}" height="{y2 - y:.1f}" '
                f'class="caliper"/><text x="{(x + x2) / 2:.1f}" y="{y2 - 6:.1f}" '
                f'class="note mid">caliper</text>'
            )
    return found


def _path(points: list[tuple[float, float]], at: Any) -> str:
    return "M" + "L".join(f"{x:.1f} {y:.1f}" for x, y in (at(*p) for p in points))


def _gap_lines(section: Section, at: Any, scale: float, width: float, system: System) -> list[str]:
    found: list[str] = []
    wall = section.radius - section.rim_radius
    for gap in section.gaps:
        slack = gap.finding.slack
        if slack is None:
            continue
        sign = 1.0 if gap.side == "outer" else -1.0
        edge = section.outer if gap.side == "outer" else -section.inner
        r = section.radius - (0.1 + gap.down) * wall * 1.5
        x0, y = at(edge, r)
        x1, _ = at(edge + sign * slack.median, r)
        xa, _ = at(edge + sign * slack.low, r)
        xb, _ = at(edge + sign * slack.high, r)
        verdict = str(gap.finding.verdict)
        found.append(
            f'<path d="M{xa:.1f} {y:.1f}H{xb:.1f}" class="doubt"/>'
            f'<path d="M{x0:.1f} {y:.1f}H{x1:.1f}" class="gap {verdict}"/>'
            f'<path d="M{x1:.1f} {y - 7:.1f}v14" class="obstacle"/>'
        )
        text = f"{gap.name}: {show('length', slack.median, slack.low, slack.high, system=system)}"
        anchor, xt = ("start", max(x1, x0, xb) + 8) if sign > 0 else ("end", min(x1, x0, xb) - 8)
        found.append(
            f'<text x="{xt:.1f}" y="{y - 1:.1f}" text-anchor="{anchor}" class="label">'
            f'{escape(text)}</text><text x="{xt:.1f}" y="{y + 11:.1f}" text-anchor="{anchor}" '
            f'class="note">{verdict}</text>'
        )
    return found


def _described(section: Section, system: System) -> str:
    said = [f"Section of the {section.title}"]
    for gap in section.gaps:
        s = gap.finding.slack
        if s is not None:
            gap_text = show("length", s.median, s.low, s.high, system=system)
            said.append(f"{gap.name} {gap_text}, {gap.finding.verdict}")
    return "; ".join(said)
