"""The corner section: wheel, tyre and caliper above the axle, with the gaps that were measured.

To scale, in millimetres. Across: from the hub face, outboard to the right. Up: from the axle. Each
gap is a line from wheel or caliper to the obstacle, its doubt a pale bar; what is known only in
part is drawn with broken lines. Camber is in the numbers; the wheel is drawn upright.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Literal

import numpy as np

from drybuild.examine import Examination
from drybuild.examine.uses import open_text
from drybuild.findings import Finding, Verdict
from drybuild.show.bands import limit_figures
from drybuild.values import System, band_text, show

Side = Literal["outer", "inner", "over", "barrel", "spokes"]

GAPS: dict[str, tuple[Side, str, str]] = {
    "corners.tyre_arch_gap": ("outer", "arch_point", "arch lip, standing"),
    "corners.arch_bump_gap": ("outer", "arch_point", "arch lip, full bump"),
    "corners.caliper_barrel_gap": ("barrel", "", "caliper to the rim's barrel"),
    "corners.caliper_spoke_gap": ("spokes", "", "caliper to the spokes"),
    "corners.tyre_upright_gap": ("inner", "upright_point", "hub carrier or damper"),
    "corners.tyre_arm_gap": ("inner", "arm_point", "arm, spring or body, standing"),
    "corners.arm_bump_gap": ("inner", "arm_point", "arm, spring or body, full bump"),
}
"""Check → side, point of the body or upright, and name; in the order of their letters."""

MM = 1000.0
LABEL_LEFT, LABEL_RIGHT = 98.0, 112.0
"""Room for the labels beside the drawing, mm of the drawing."""
CLEAR = 12.0
"""From the end of the longest gap to the words on the left, mm of the drawing."""

FLANGE = 0.0173
"""Height of a J flange over the bead seat, ISO 4000-2; only to draw the rim."""


@dataclass(frozen=True)
class Gap:
    """One gap. height: of the obstacle over the axle in that pose (m), None where not measured."""

    letter: str
    side: Side
    name: str
    finding: Finding
    height: float | None


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
    spacer: float
    barrel: float | None
    spoke_depth: float | None
    caliper: tuple[float, float] | None
    gaps: tuple[Gap, ...]


@dataclass(frozen=True)
class Frame:
    """What the drawing shows, mm: the same for every axle, so that they compare by eye."""

    left: float
    right: float
    low: float
    top: float


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
    reach = _median(examination, f"caliper.{corner}.outer_radius")
    face = _median(examination, f"caliper.{corner}.face_offset")
    depth = _median(examination, f"wheel.{corner}.spoke_depth")
    return Section(
        corner, f"{corner.replace('.', ' ')}: {_raw(examination, f'tyre.{corner}.marking')}",
        float(outer or 0), float(inner or 0), float(radius or 0),
        float(marking.rim_code) * 0.0127, float(rim or 0) / 2, spacer - float(offset or 0),
        spacer, _median(examination, f"wheel.{corner}.barrel_inner_radius"),
        None if depth is None else depth + spacer,
        None if reach is None or face is None else (reach, face),
        _gaps(examination, corner, float(radius or 0)),
    )  # fmt: skip


def _gaps(examination: Examination, corner: str, radius: float) -> tuple[Gap, ...]:
    here = {f.check: f for f in examination.findings if f.subject == corner and f.check in GAPS}
    found: list[Gap] = []
    for check, (side, point, name) in GAPS.items():
        finding = here.get(check)
        if finding is None:
            continue
        height = _median(examination, f"corner.{corner}.{point}.height") if point else None
        if height is not None and point != "upright_point":
            bump = "bump" in check
            travel = "ride.full_bump" if bump else "ride.ride_height_drop"
            height -= _median(examination, f"{travel}.{corner}") or 0.0
        if side == "outer" and height is not None and height > radius:
            side = "over"
        found.append(Gap("abcdefghij"[len(found)], side, name, finding, height))
    return tuple(found)


def _median(examination: Examination, address: str) -> float | None:
    value = _raw(examination, address)
    return None if value is None else float(np.nanmedian(value))


def _raw(examination: Examination, address: str) -> Any:
    outcome = examination.evaluation.get(address)
    return outcome.value if outcome.known else None


def frame_of(sections: list[Section]) -> Frame:
    """One frame for all of them."""
    wide = max((abs(x) for s in sections for x in _slacks(s)), default=0.0)
    return Frame(
        left=-(max(s.inner for s in sections) + wide) * MM - LABEL_LEFT - CLEAR,
        right=(max(s.outer for s in sections) + wide) * MM + LABEL_RIGHT,
        low=-48.0,
        top=max(s.radius * MM + 30 for s in sections)
        + max((s.finding.slack.high * MM for x in sections for s in x.gaps
               if s.side == "over" and s.finding.slack), default=0.0),
    )  # fmt: skip


def _slacks(section: Section) -> list[float]:
    return [
        end
        for g in section.gaps
        if g.side in ("outer", "inner") and g.finding.slack is not None
        for end in (g.finding.slack.low, g.finding.slack.high)
    ]


def gap_words(gap: Gap, system: System) -> str:
    """A gap and what is wanted of it, in words."""
    f = gap.finding
    if f.slack is None:
        return "cannot be worked out" if f.beyond else "nobody has measured it"
    said = band_text(limit_figures(f, system))
    if f.gap_wanted:
        said += f"; {show('length', f.gap_wanted, system=system)} wanted"
    return f"{said}; {f.why or open_text(f)}" if f.verdict is Verdict.UNSURE else said


def growth_words(examination: Examination, corner: str, system: System) -> str:
    """Why a gap is less than what is read beside the tyre as it stands; empty where it is not."""
    share = _median(examination, f"corners.growth.{corner}")
    radius = _median(examination, f"corners.free_radius.{corner}")
    half = _median(examination, f"corners.half_width.{corner}")
    diameter = _median(examination, f"corners.overall_diameter.{corner}")
    width = _median(examination, f"corners.section_width.{corner}")
    if not share or radius is None or half is None or diameter is None or width is None:
        return ""
    side, tread = max(half - width / 2, 0.0), max(radius - diameter / 2, 0.0)
    said = [show("length", round(2e3 * by) / 2e3, system=system) for by in (tread, side)]
    grown = show("fraction", share, system=system)
    return (
        f"In these gaps the tyre is {grown} larger than new, as tyres grow in use: about "
        f"{said[0]} less over the tread and {said[1]} less beside it than you read on a new one."
    )


def described(section: Section, system: System) -> str:
    """The drawing in words, for those who do not see it."""
    said = [f"Section of the corner {section.title}"]
    said += [f"{g.name} {gap_words(g, system)}, {g.finding.verdict}" for g in section.gaps]
    return "; ".join(said)


def marked(gap: Gap, system: System) -> tuple[str, str, str]:
    """What stands beside a gap in the drawing: letter and size, its unit, what it is if not enough.

    Where there is little room the unit is left out: the list below the drawing has it.
    """
    slack = gap.finding.slack
    if slack is None:
        return gap.letter, "", "not measured"
    middle, _, _, unit = limit_figures(gap.finding, system)
    word = "" if gap.finding.verdict is Verdict.ENOUGH else str(gap.finding.verdict)
    return f"{gap.letter} {middle}", f" {unit}", word
