"""What a scan leaves no room for: the space swept by the obstacles in the wheel's half-plane.

To scale. Across: distance from the hub face, outboard to the right. Up: distance from the axle.
Every pose of the wheel is folded into this one plane, so the tyre stands still and what it meets
on its way is drawn as points around it.
"""

from __future__ import annotations

from html import escape
from typing import Any

import numpy as np
import numpy.typing as npt

from drybuild.examine import Examination
from drybuild.findings import Finding
from drybuild.show.bands import limit_figures
from drybuild.values import System, band_text, show

MM = 1000.0
AROUND = 0.075
"""m of the swept space shown around the tyre."""

SPOT = 0.0025
"""m; points of the swept space nearer together than this are drawn as one."""

MARGIN = 14.0


def swept_drawings(examination: Examination, system: System) -> list[tuple[str, str, str]]:
    """Title, SVG and words for each corner that has a scan."""
    found = []
    for finding in examination.findings:
        if finding.check == "corners.swept_gap" and finding.slack is not None:
            outcome = examination.evaluation.get(f"corners.swept.{finding.subject}")
            if outcome.known:
                svg = draw_swept(outcome.value, finding, system)
                words = _met(outcome.value, system)
                found.append((f"{finding.place}, swept by its scan", svg, words))
    return found


def _met(swept: Any, system: System) -> str:
    """What comes closest, with which part of the tyre and where in the travel."""
    if not swept.bounds:
        return "nothing that was scanned comes near the tyre"
    bound = swept.bounds[0]
    height = show("length", abs(bound.travel), system=system)
    way = "up" if bound.travel >= 0 else "down"
    return (
        f"{bound.name} and the tyre's {bound.contact.place}, with the hub {height} {way} from ride "
        "height as found"
    )


def draw_swept(swept: Any, finding: Finding, system: System = "metric") -> str:
    """The half-plane as an SVG text: swept space, tyre, and where they come closest."""
    outline = np.asarray(swept.outline.corners)
    low, high = outline.min(axis=0) - AROUND, outline.max(axis=0) + AROUND
    low[1] = outline[:, 1].min() - 0.01
    wide, tall = (high - low) * MM + 2 * MARGIN

    def at(points: npt.ArrayLike) -> npt.NDArray[np.float64]:
        plain = np.atleast_2d(np.asarray(points, dtype=np.float64))
        placed: npt.NDArray[np.float64] = (plain - low) * MM + MARGIN
        placed[:, 1] = tall - placed[:, 1]
        return placed

    spots = at(_thinned(np.asarray(swept.half_plane), low, high))
    size = SPOT * MM
    cells = "".join(f"M{x - size / 2:.1f} {y:.1f}h{size:.1f}" for x, y in spots)
    tyre = " L".join(f"{x:.1f} {y:.1f}" for x, y in at(outline))
    room = "" if finding.slack is None else band_text(limit_figures(finding, system))
    words = f"{finding.place}: {room} at the closest, {finding.verdict}; {_met(swept, system)}"
    parts = [
        f'<svg viewBox="0 0 {wide:.0f} {tall:.0f}" role="img" class="swept" '
        f'aria-label="{escape(words)}" xmlns="http://www.w3.org/2000/svg">',
        f'<path d="{cells}" class="taken"/>',
        f'<path d="M{tyre}" class="tyre"/>',
    ]
    if swept.bounds:
        contact = swept.bounds[0].contact
        x, y = at([contact.axial, contact.radius])[0]
        parts.append(f'<path d="M{x - 9:.1f} {y - 9:.1f}l18 18m0 -18l-18 18" class="closest"/>')
    mid = at([[outline[:, 0].mean(), outline[:, 1].mean()]])[0]
    said = f"{room}: {finding.verdict}"
    parts.append(f'<text x="{mid[0]:.1f}" y="{mid[1]:.1f}" class="label">{escape(said)}</text>')
    parts.append("</svg>")
    return "".join(parts)


def _thinned(
    points: npt.NDArray[np.float64], low: npt.NDArray[np.float64], high: npt.NDArray[np.float64]
) -> npt.NDArray[np.float64]:
    """The points inside the sheet, one to a spot."""
    inside = points[((points > low) & (points < high)).all(axis=1)]
    spots = np.unique(np.round((inside - low) / SPOT).astype(int), axis=0)
    return spots * SPOT + low
