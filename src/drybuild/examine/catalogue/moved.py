"""What else moves in the whole car when one thing is chosen instead of another."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from drybuild.examine.examination import Examination
from drybuild.findings import Finding, Verdict
from drybuild.values import interval, quantile


@dataclass(frozen=True)
class Figure:
    """A figure of the car that moved. change is in SI of kind, or a share where share is set.

    before, after: medians (SI). low, high: ends of the change's own 95 % band, draw by draw; none
    where it is not counted so. also: how many more gaps moved as much.
    """

    what: str
    kind: str
    share: bool
    before: float
    after: float
    change: float
    low: float | None = None
    high: float | None = None
    also: int = 0


@dataclass(frozen=True)
class Turned:
    """A check whose verdict is another than before, at its places."""

    check: str
    subjects: tuple[str, ...]
    title: str
    before: Verdict
    after: Verdict


@dataclass(frozen=True)
class Moves:
    """All that moved: figures, room in millimetres at the tight places, verdicts."""

    figures: tuple[Figure, ...]
    margins: tuple[Figure, ...]
    turned: tuple[Turned, ...]


@dataclass(frozen=True)
class _Watched:
    address: str
    what: str
    kind: str
    least: float
    share: bool = False


WATCHED = (
    _Watched("corners.rolling_radius.{axle}.left", "rolling radius", "length", 0.002, share=True),
    _Watched("corners.track_width.{axle}", "track between wheel centres", "length", 0.5e-3),
    _Watched(
        "corners.outer_reach.{axle}.left", "outer side of the tyre, outboard", "length", 0.5e-3
    ),
    _Watched(
        "corners.inner_reach.{axle}.left", "inner side of the tyre, inboard", "length", 0.5e-3
    ),
    _Watched("corners.wheel_and_tyre_mass.{axle}.left", "wheel and tyre, each", "mass", 0.1),
    _Watched("ride.ground_clearance.{axle}", "ground clearance", "length", 0.5e-3),
    _Watched("ride.camber.{axle}.left", "camber, left", "angle", np.radians(0.05)),
)
"""Figures worth a sentence, and from what change on."""

LEAST_MARGIN = 0.5e-3
MOST_MARGINS = 3


def moves(before: Examination, after: Examination, axle: str) -> Moves:
    """What differs between two examinations of the same draws."""
    figures = [found for w in WATCHED if (found := _figure(before, after, w, axle)) is not None]
    figures += _speed(before, after, axle)
    old = {(f.check, f.subject): f for f in before.findings}
    return Moves(tuple(figures), tuple(_margins(old, after)), tuple(_turned(old, after)))


def _figure(
    before: Examination, after: Examination, watched: _Watched, axle: str
) -> Figure | None:
    address = watched.address.format(axle=axle)
    first, second = (_value(e, address) for e in (before, after))
    if first is None or second is None:
        return None
    with np.errstate(all="ignore"):
        changed = second / first - 1.0 if watched.share else second - first
        low, change, high = _band(changed)
        medians = float(np.nanmedian(first)), float(np.nanmedian(second))
    if not abs(change) >= watched.least:
        return None
    return Figure(watched.what, watched.kind, watched.share, *medians, change, low, high)


def _band(changed: Any) -> tuple[float, float, float]:
    low, high = interval(changed)
    return low, quantile(changed, 0.5), high


def _speed(before: Examination, after: Examination, axle: str) -> list[Figure]:
    """What the speedometer shows at the same true speed, where it counts this axle's turns."""
    outcome = after.evaluation.get("speedo.axle")
    if not outcome.known or outcome.value != axle:
        return []
    first, second = (_value(e, f"corners.rolling_radius.{axle}.left") for e in (before, after))
    if first is None or second is None:
        return []
    low, change, high = _band(first / second - 1.0)
    if not abs(change) >= 0.001:
        return []
    return [Figure("speed reading", "fraction", True, 1.0, 1.0 + change, change, low, high)]


def _value(examination: Examination, address: str) -> Any:
    outcome = examination.evaluation.get(address)
    if not outcome.known or not isinstance(outcome.value, float | np.ndarray):
        return None
    return np.asarray(outcome.value, dtype=np.float64)


def _margins(old: dict[tuple[str, str], Finding], after: Examination) -> list[Figure]:
    """Gaps beside the wheel that moved, each check once at its worse side, most lost first."""
    found: dict[str, Figure] = {}
    for new in after.findings:
        was = old.get((new.check, new.subject))
        if was is None or was.margin is None or new.margin is None:
            continue
        if new.kind != "length" or not new.check.endswith("_gap"):
            continue
        change = new.margin.median - was.margin.median
        kept = found.get(new.check)
        if abs(change) >= LEAST_MARGIN and (kept is None or change < kept.change):
            found[new.check] = Figure(
                new.title, "length", False, was.margin.median, new.margin.median, change
            )
    return _as_much(sorted(found.values(), key=lambda f: f.change))[:MOST_MARGINS]


def _as_much(gaps: list[Figure]) -> list[Figure]:
    """Gaps that one thing moves alike said once: the first of them, and how many more."""
    found: list[Figure] = []
    for gap in gaps:
        last = found[-1] if found else None
        if last is not None and abs(gap.change - last.change) < LEAST_MARGIN:
            found[-1] = replace(last, also=last.also + 1)
        else:
            found.append(gap)
    return found


def _turned(old: dict[tuple[str, str], Finding], after: Examination) -> list[Turned]:
    same: dict[tuple[str, Verdict, Verdict], list[Finding]] = {}
    for new in after.findings:
        was = old.get((new.check, new.subject))
        before = was.verdict if was is not None else Verdict.ENOUGH
        if before is not new.verdict:
            same.setdefault((new.check, before, new.verdict), []).append(new)
    return [
        Turned(check, tuple(f.subject for f in found), found[0].title, first, second)
        for (check, first, second), found in same.items()
    ]
