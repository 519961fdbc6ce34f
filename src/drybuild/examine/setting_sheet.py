"""The sheet for setting a car up: before, after, what the drop did, what the adjusters have left.

It gathers results; it works out nothing but differences draw by draw, in which what is wrong with
an instrument falls out because both readings share its column.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Literal

import numpy as np

from drybuild.build import State
from drybuild.build.build import Stated
from drybuild.build.declared import declaration
from drybuild.build.drawn import stated
from drybuild.build.state import addresses_of
from drybuild.examine.aimed import as_given
from drybuild.examine.examination import Examination
from drybuild.examine.usual import NO_RODS, said_at
from drybuild.findings import CORNERS, SIDES, Evaluation, Finding, Verdict
from drybuild.findings.finding import Interval
from drybuild.systems.corners.formulas import MM, SPECIFIED_RIM_DIAMETER_MM
from drybuild.systems.corners.formulas_wheel import J_FLANGE_HEIGHT
from drybuild.systems.ride import results_weights, toe, transfer
from drybuild.values import HowKnown, Value, summary

# The room is asked for whole: while another thread still reads it, its modules wait for each other,
# and one alone would be had half made.
CORNERS_IN_ORDER = results_weights.CORNERS_IN_ORDER
CornerSetting = results_weights.CornerSetting
TransferParts = transfer.TransferParts

# Where a reading as found may stand, best first; toe has one more by each way of measuring.
FOUND = {
    "camber": ("corner.{corner}.camber",),
    "toe": (
        "corner.{corner}.toe", "ride.toe_from_length.{corner}", "ride.toe_by_string_{axle}_{side}",
        "ride.toe_by_gauge.{axle}",
    ),
    "caster": ("corner.{corner}.caster", "ride.caster_by_plates.{corner}"),
}  # fmt: skip
NOW = {
    "camber": ("corner.{corner}.camber_now",),
    "toe": (
        "corner.{corner}.toe_now", "ride.toe_by_string_now_{axle}_{side}",
        "ride.toe_by_gauge_now.{axle}",
    ),
    "caster": ("corner.{corner}.caster_now", "ride.caster_by_plates_now.{corner}"),
}  # fmt: skip
AIM = {"camber": "goal.camber_{axle}", "toe": "goal.toe_{axle}", "caster": "goal.caster_{axle}"}
AimIs = Literal["stated", "found", "guess"]
REACH = {"camber": "ride.camber_reach", "toe": "ride.toe_reach"}
WINDOW = {
    "camber": "ride.camber_window", "toe": "ride.toe_window", "caster": "ride.caster_window",
}  # fmt: skip

ORDER = (
    "tyres at pressure, the load it is driven with on its seats, steering lock off; firm level "
    "floor, or turn plates and slip plates of one height",
    "rolled, pushed down and settled at each end: nothing is read from a car just let down",
    "ride height and corner weights first: perches, links of the bars off; then roll and settle "
    "again. What comes after moves with them",
    "rear camber, then rear toe, each wheel to the car's own line: that sets the thrust angle",
    "front caster, then front camber: each moves the other a little",
    "front toe last, steering centred and held, half on each side; both rods turned alike",
    "bar links set until they slip in by hand; everything tightened by the maker's figures, or "
    "LOOK UP; then read it all again with the same tools",
)
"""Common practice: each step is upset by those before it, not by those after it."""

LEFT_OUT = (
    "The curves are those of stiff links: what bushes, bearings and the body give under load is "
    "left out.",
    "Camber and toe are at rest. On the road, under braking and in a bend they differ.",
    "A wheel rim that is bent reads as toe and camber: turn it half a turn and take the mean.",
)


@dataclass(frozen=True)
class AngleRow:
    """One angle of one wheel, rad. None where nobody knows.

    by_drop: what the change of ride height did; change: after less before; left: what the
    adjuster has left beyond the aim; over: diameter, m, for toe in lengths. measured: whether it
    was read; set_by: the job that sets it, where nobody has read it since; parts: as they leave
    it; fixed: nothing at the axle sets it, it is only looked at;
    aim_is: whose word the aim is: stated, the figure as found as read, or a starter's guess of it.
    """

    corner: str
    angle: str
    before: Interval | None
    after: Interval | None
    change: Interval | None
    by_drop: Interval | None
    left: Interval | None
    measured: bool
    aim: float | None
    verdict: Verdict | None
    over: float | None = None
    set_by: str = ""
    parts: Interval | None = None
    fixed: bool = False
    aim_is: AimIs = "stated"

    def lengths(self, which: Interval | None) -> Interval | None:
        """Toe as a difference of lengths over the diameter, m."""
        if which is None or self.over is None:
            return None
        ends = (toe.toe_length(toe=v, measured_over=self.over)
                for v in (which.median, which.low, which.high))  # fmt: skip
        return Interval(*(float(v) for v in ends))


@dataclass(frozen=True)
class WholeRow:
    """An angle or figure of an axle or the car, before and after, SI."""

    name: str
    kind: str
    before: Interval | None
    after: Interval | None
    finding: Finding | None = None


@dataclass(frozen=True)
class PartsNow:
    """Load transfer of an axle by its parts, N per m/s²: medians, and the total with its doubt."""

    axle: str
    parts: tuple[tuple[str, float], ...]
    total: Interval


@dataclass(frozen=True)
class SettingSheet:
    """Everything that the sheet and its drawings show of one state."""

    name: str
    state: str
    rows: tuple[AngleRow, ...]
    whole: tuple[WholeRow, ...]
    thrust: tuple[Interval | None, Interval | None]
    weights: CornerSetting | None
    cross_wanted: bool
    transfer_before: tuple[PartsNow, ...]
    transfer_after: tuple[PartsNow, ...]
    share_change: Interval | None
    share_falls: float | None
    cornering: float | None
    inner: tuple[tuple[str, Interval], ...]
    faults: tuple[str, ...]


def setting_sheet(examination: Examination, *, over: float | None = None) -> SettingSheet:
    """The sheet of an examined state. over: diameter, m, for toe in lengths; else each wheel's."""
    state, now = examination.state, examination.evaluation
    rows = tuple(
        _row(examination, corner, angle, over)
        for corner in CORNERS
        for angle in ("camber", "toe", "caster")
        if angle != "caster" or corner.startswith("front")
    )
    setting = _value(now, "ride.corner_setting")
    change = _value(now, "ride.front_share_change")
    cornering = _interval(now, "goal.cornering")
    return SettingSheet(
        name=state.build.head.name,
        state=state.name,
        rows=rows,
        whole=tuple(_whole(examination)),
        thrust=(_thrust_found(now.base), _interval(now, "ride.thrust_angle")),
        weights=setting if isinstance(setting, CornerSetting) else None,
        cross_wanted=_value(now, "goal.cross_share") is not None,
        transfer_before=_parts(now.base),
        transfer_after=_parts(now),
        share_change=None if change is None else Interval(*summary(change)),
        share_falls=None if change is None else float(np.mean(np.asarray(change) < 0)),
        cornering=None if cornering is None else cornering.median,
        inner=tuple(
            (axle, load) for axle in ("front", "rear")
            if (load := _interval(now, f"ride.inner_wheel_load.{axle}")) is not None
        ),
        faults=tuple(_without_diameter(now)),
    )


def _row(examination: Examination, corner: str, angle: str, over: float | None) -> AngleRow:
    now = examination.evaluation
    before = _first(now.base, FOUND[angle], corner)
    set_by = _set_by(examination.state, NOW[angle][0].format(corner=corner))
    after = _value(now, f"ride.{angle}_set.{corner}")
    by_drop = None
    if angle != "caster":
        with_drop = _value(now, f"ride.{angle}_without.{corner}")
        without = _value(now.base, f"ride.{angle}_without.{corner}")
        by_drop = _difference(with_drop, without)
    window = _finding(examination, WINDOW[angle], "car" if angle == "caster" else corner)
    reach = _finding(examination, REACH[angle], corner) if angle in REACH else None
    aim = _interval(now, AIM[angle].format(axle=corner.split(".")[0]))
    return AngleRow(
        corner, angle, _summed(before), _summed(after), _difference(after, before), by_drop,
        None if reach is None else reach.slack,
        _first(now, NOW[angle], corner) is not None and not set_by,
        None if aim is None else aim.median,
        None if window is None else window.verdict,
        None if angle != "toe" else over if over is not None else _flange(now, corner),
        set_by, None if angle == "caster" else _interval(now, f"ride.{angle}.{corner}"),
        _fixed(examination.state, corner.split(".")[0], angle),
        _aim_is(examination.state, AIM[angle].format(axle=corner.split(".")[0])),
    )  # fmt: skip


def _fixed(state: State, axle: str, angle: str) -> bool:
    """Whether all that could set an angle at an axle is known to have no range: a twist beam, arms
    without an adjuster. What nobody stated may have some."""
    if any(state.fitted.get(f"stub_shim.{axle}.{side}") for side in SIDES):
        return False
    setters = (f"axle.{axle}", *(f"arm.{axle}.{side}" for side in SIDES))
    ranges = [v for at in setters
              if isinstance(v := said_at(state, f"{at}.{angle}_range"), Value) and not v.same_as]
    return bool(ranges) and all(value.interval[1] < NO_RODS for value in ranges)


def _aim_is(state: State, at: str) -> AimIs:
    """Whether an aim is somebody's word, the figure as found, or nobody's: a starter's guess."""
    if as_given(state, at):
        return "guess"
    seen = {at}
    while (said := _said(state, at)) is not None and isinstance(said.value, Value):
        other = said.value.same_as
        if not other or other in seen:
            break
        at = other
        seen.add(at)
    if len(seen) == 1:
        return "stated"
    return "guess" if said is None or said.known is HowKnown.ASSUMED else "found"


def _said(state: State, address: str) -> Stated | None:
    declared = declaration(address)
    return stated(state, declared) if declared is not None else None


def _set_by(state: State, address: str) -> str:
    """Title of the job that sets an angle; empty where none does, or where it was read since."""
    if address in state.readings or address not in state.settings:
        return ""
    changes = (c for c in reversed(state.changes) if c.kind == "set" and c.job)
    job = next((c.job for c in changes if address in addresses_of(state.build, c.target)), "")
    return next((j.title or j.id for j in state.build.jobs if j.id == job), job)


def _flange(now: Evaluation, corner: str) -> float | None:
    """Diameter at which toe is said in lengths: where it was read, else the rim's flange."""
    for address in (
        f"corner.{corner}.strings_now.over", f"corner.{corner}.strings.over",
        f"corner.{corner}.toe_measured_over",
    ):  # fmt: skip
        found = _interval(now, address)
        if found is not None:
            return found.median
    code = SPECIFIED_RIM_DIAMETER_MM.get(_value(now, f"wheel.{corner}.diameter_code") or 0)
    return None if code is None else code * MM + 2.0 * J_FLANGE_HEIGHT


def _whole(examination: Examination) -> list[WholeRow]:
    now = examination.evaluation
    rows = []
    for axle in ("front", "rear"):
        for name, pair, check in (
            ("total toe", "toe", None), ("cross-camber", "camber", "ride.cross_camber"),
            ("cross-caster", "caster", "ride.cross_caster"),
        ):  # fmt: skip
            if pair == "caster" and axle == "rear":
                continue
            sides = [_first(now.base, FOUND[pair], f"{axle}.{s}") for s in ("left", "right")]
            sign = 1.0 if pair == "toe" else -1.0
            before = None
            if sides[0] is not None and sides[1] is not None:
                before = _summed(sides[0] + sign * np.asarray(sides[1]))
            result = "ride.total_toe" if pair == "toe" else f"ride.cross_{pair}"
            subject = "car" if pair == "caster" else axle
            finding = None if check is None else _finding(examination, check, subject)
            rows.append(WholeRow(
                f"{axle} {name}", "angle", before, _interval(now, f"{result}.{axle}"), finding
            ))  # fmt: skip
    rows.append(WholeRow(
        "thrust angle", "angle", _thrust_found(now.base), _interval(now, "ride.thrust_angle"),
        _finding(examination, "ride.thrust_angle", "car"),
    ))  # fmt: skip
    rows.append(WholeRow(
        "set-back", "angle", None, _interval(now, "ride.set_back"),
        _finding(examination, "ride.set_back", "car"),
    ))  # fmt: skip
    return [row for row in rows if row.before is not None or row.after is not None]


def _thrust_found(base: Evaluation) -> Interval | None:
    left, right = (_first(base, FOUND["toe"], f"rear.{side}") for side in ("left", "right"))
    if left is None or right is None:
        return None
    return _summed(0.5 * (left - np.asarray(right)))


def _parts(evaluation: Evaluation) -> tuple[PartsNow, ...]:
    found = []
    for axle in ("front", "rear"):
        parts = _value(evaluation, f"ride.transfer_parts.{axle}")
        if isinstance(parts, TransferParts):
            named = tuple((name, float(np.nanmedian(value))) for name, value in parts.named)
            found.append(PartsNow(axle, named, Interval(*summary(parts.total))))
    return tuple(found)


def _without_diameter(now: Evaluation) -> list[str]:
    """Toe readings in mm whose diameter nobody wrote down."""
    faults = []
    for corner in CORNERS:
        for reading, over in (
            ("toe_length", "toe_measured_over"), ("strings.front", "strings.over"),
            ("strings_now.front", "strings_now.over"),
        ):  # fmt: skip
            at = f"corner.{corner}."
            if _value(now, at + reading) is not None and _value(now, at + over) is None:
                faults.append(
                    f"{corner.replace('.', ' ')}: toe in mm is nothing without its diameter, so "
                    f"this reading is not used. Write {at}{over}: the distance between the two "
                    "places of the reading"
                )
    return faults


def _finding(examination: Examination, check: str, subject: str) -> Finding | None:
    for finding in examination.findings:
        if finding.check == check and finding.subject == subject:
            return finding
    return None


def _value(evaluation: Evaluation, address: str) -> Any:
    outcome = evaluation.get(address)
    return outcome.value if outcome.known else None


def _first(evaluation: Evaluation, addresses: tuple[str, ...], corner: str) -> Any:
    axle, side = corner.split(".")
    for address in addresses:
        found = _value(evaluation, address.format(corner=corner, axle=axle, side=side))
        if found is not None:
            return found
    return None


def _summed(column: Any) -> Interval | None:
    return None if column is None else Interval(*summary(column))


def _interval(evaluation: Evaluation, address: str) -> Interval | None:
    return _summed(_value(evaluation, address))


def _difference(after: Any, before: Any) -> Interval | None:
    if after is None or before is None:
        return None
    return Interval(*summary(np.asarray(after) - before))


__all__ = [
    "CORNERS_IN_ORDER",
    "LEFT_OUT",
    "ORDER",
    "AngleRow",
    "PartsNow",
    "SettingSheet",
    "WholeRow",
    "setting_sheet",
]
