"""What else moves in the whole car when one thing is chosen instead of another."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from drybuild.examine.examination import Examination
from drybuild.findings import SIDES, Finding, Verdict
from drybuild.values import interval, quantile


@dataclass(frozen=True)
class Figure:
    """A figure of the car that moved. change is in SI of kind, or a share where share is set.

    before, after: medians (SI). low, high: ends of the change's own 95 % band, draw by draw; none
    where it is not counted so. also: how many more gaps moved as much; to: what it comes to is
    worth saying as well.
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
    to: bool = False


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
    """A figure that is watched. {axle}, {side}, {blend} in its address: at each of them.

    of: the part of a result that is the figure, at its highest along engine speed; over: what it
    is counted over, a result and its part; both: said where the two sides move alike; to: what it
    comes to is said as well.
    """

    address: str
    what: str
    kind: str
    least: float
    share: bool = False
    of: str = ""
    over: tuple[str, str] = ("", "")
    both: str = ""
    to: bool = False


ENGINE = (
    _Watched("breathing.power.{blend}", "most power with {blend}", "power", 500.0, of="power",
             to=True),
    _Watched("breathing.power.{blend}", "most torque with {blend}", "torque", 2.0, of="torque",
             to=True),
    _Watched("breathing.peak_manifold_pressure", "highest boost", "pressure_difference", 2e3,
             over=("breathing.air", "pressure"), to=True),
)  # fmt: skip
"""Figures of the engine worth a sentence, wherever a part goes."""

WATCHED = (
    _Watched("corners.rolling_radius.{axle}.{side}", "rolling radius", "length", 0.002, share=True),
    _Watched("corners.track_width.{axle}", "track between wheel centres", "length", 0.5e-3),
    _Watched(
        "corners.outer_reach.{axle}.{side}", "outer side of the tyre, outboard", "length", 0.5e-3
    ),
    _Watched(
        "corners.inner_reach.{axle}.{side}", "inner side of the tyre, inboard", "length", 0.5e-3
    ),
    _Watched("corners.wheel_and_tyre_mass.{axle}.{side}", "wheel and tyre", "mass", 0.1,
             both=", each"),
    _Watched("ride.ground_clearance.{axle}", "ground clearance", "length", 0.5e-3),
    _Watched("ride.camber_set.{axle}.{side}", "camber", "angle", np.radians(0.05),
             both=", both sides"),
)  # fmt: skip
"""Figures worth a sentence, and from what change on."""

LEAST_MARGIN = 0.5e-3
MOST_MARGINS = 3


def moves(before: Examination, after: Examination, axle: str) -> Moves:
    """What differs between two examinations of the same draws."""
    figures = _engine(before, after)
    figures += [found for w in WATCHED for found in _at_sides(before, after, w, axle)]
    figures += _speed(before, after, axle)
    old = {(f.check, f.subject): f for f in before.findings}
    return Moves(tuple(figures), tuple(_margins(old, after)), tuple(_turned(old, after)))


def _engine(before: Examination, after: Examination) -> list[Figure]:
    """What the engine gives at full throttle, on each fuel that is used; nothing of what is the
    same whichever parts it has."""
    blends = [
        blend for blend in after.state.build.blends
        if not (used := after.evaluation.get(f"blend.{blend}.used")).known or used.value
    ]  # fmt: skip
    found = []
    for watched in ENGINE:
        for blend in blends if "{blend}" in watched.address else [""]:
            named = replace(watched, what=watched.what.format(blend=blend))
            figure = _figure(before, after, named, watched.address.format(blend=blend))
            found += [figure] if figure is not None else []
    return found


def _at_sides(
    before: Examination, after: Examination, watched: _Watched, axle: str
) -> list[Figure]:
    """A figure of an axle; of its two sides once where both moved alike, else each."""
    if "{side}" not in watched.address:
        found = _figure(before, after, watched, watched.address.format(axle=axle))
        return [found] if found is not None else []
    at = {
        side: found for side in SIDES
        if (found := _figure(before, after, watched,
                             watched.address.format(axle=axle, side=side))) is not None
    }  # fmt: skip
    left, right = (at.get(side) for side in SIDES)
    alike = left and right and abs(left.change - right.change) < watched.least / 2
    if left is not None and alike:
        return [replace(left, what=f"{watched.what}{watched.both}")]
    return [replace(found, what=f"{watched.what}, {side}") for side, found in at.items()]


def _figure(
    before: Examination, after: Examination, watched: _Watched, address: str
) -> Figure | None:
    first, second = (_value(e, address, watched.of) for e in (before, after))
    if watched.over[0] and first is not None and second is not None:
        base, other = (_value(e, *watched.over) for e in (before, after))
        if base is None or other is None:
            return None
        first, second = first - base, second - other
    if first is None or second is None:
        return None
    with np.errstate(all="ignore"):
        changed = second / first - 1.0 if watched.share else second - first
        low, change, high = _band(changed)
        medians = float(np.nanmedian(first)), float(np.nanmedian(second))
    if not abs(change) >= watched.least:
        return None
    return Figure(
        watched.what, watched.kind, watched.share, *medians, change, low, high, to=watched.to
    )  # fmt: skip


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


def _value(examination: Examination, address: str, of: str = "") -> Any:
    outcome = examination.evaluation.get(address)
    value = getattr(outcome.value, of, None) if of and outcome.known else outcome.value
    if not outcome.known or not isinstance(value, float | np.ndarray):
        return None
    array = np.asarray(value, dtype=np.float64)
    return array.max(axis=0) if of and array.ndim == 2 else array


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
