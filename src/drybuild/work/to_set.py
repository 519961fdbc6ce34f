"""What an alignment is to set: each wheel's angles, as the owner wants them and as the parts leave
them. Where no aim is stated, there is none: it is looked up."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import datetime

from drybuild.build import Change
from drybuild.build.build import Stated
from drybuild.examine import Examination
from drybuild.examine.setting_sheet import AIM, AimIs, setting_sheet
from drybuild.findings.finding import Interval
from drybuild.values import Value
from drybuild.work.ends import work_of
from drybuild.work.evidence import changes_of
from drybuild.work.model import Problem, Step

SHEET = "ride.alignment_sheet"


@dataclass(frozen=True, slots=True)
class ToSet:
    """One angle of one wheel, rad. within: how near it is wanted, where that is stated; parts: as
    the parts leave it, worked out; over: diameter, m, at which toe is said in lengths; aim_at:
    where the aim is stated, or would be; aim_is: whether somebody stated it, or it is the same as
    found, as read or as a starter guesses it; file: that states it, else empty; fixed: nothing at
    the axle sets it, it is only looked at.
    set_on: when an alignment before it in the plan sets it to the same: then nobody finds it as the
    parts leave it."""

    corner: str
    angle: str
    aim: float | None
    within: float | None
    parts: Interval | None
    over: float | None
    aim_at: str
    file: str
    fixed: bool = False
    aim_is: AimIs = "stated"
    set_on: datetime | None = None


def aligns(changes: Iterable[Change]) -> bool:
    """Whether work makes the record of an alignment."""
    return any(change.kind == "verify" and change.target == SHEET for change in changes)


def set_before(problem: Problem, before: Iterable[Step]) -> datetime | None:
    """When an alignment of the plan is done that nothing has upset since; None for none."""
    upsets = {
        effect.id for effect in problem.effects.values()
        if effect.clearing is not None and aligns(effect.clearing.changes)
    }  # fmt: skip
    last = None
    for step in sorted(before, key=lambda one: one.end):
        if upsets & set(work_of(problem, step).causes):
            last = None
        if aligns(changes_of(problem, step)):
            last = problem.at(step.end)
    return last


def as_set(found: Iterable[ToSet], on: datetime | None) -> tuple[ToSet, ...]:
    """What an alignment sets where one before it has set it already."""
    return tuple(
        replace(one, parts=None, set_on=on)
        if on is not None and one.aim is not None and not one.fixed else one
        for one in found
    )  # fmt: skip


def to_set(examination: Examination) -> tuple[ToSet, ...]:
    """Every angle that is set, wheel by wheel, behind them what is only looked at; caster only
    where somebody wants a figure of it."""
    files = examination.state.build.stated
    found = []
    for row in setting_sheet(examination).rows:
        at = AIM[row.angle].format(axle=row.corner.split(".")[0])
        if row.aim is None and row.angle == "caster":
            continue
        wanted = files.get(at) if row.aim is not None else None
        found.append(ToSet(
            row.corner, row.angle, row.aim, _within(files, row.angle, at), row.parts, row.over,
            at, wanted.file if wanted is not None else "",
            row.fixed, row.aim_is,
        ))  # fmt: skip
    return tuple(sorted(found, key=lambda one: one.fixed))


def _within(stated: Mapping[str, Stated], angle: str, aim: str) -> float | None:
    """How near to its aim an angle is wanted: its window, else the doubt of the aim itself."""
    for at, figure in ((f"goal.{angle}_window", "centre"), (aim, "half_width")):
        value = stated[at].value if at in stated else None
        if isinstance(value, Value) and not value.same_as and getattr(value, figure) > 0.0:
            return float(getattr(value, figure))
    return None
