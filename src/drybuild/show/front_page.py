"""What the first page of a build says first: what stops it, what to measure, what that settles."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from drybuild.examine import Examination, Measurement
from drybuild.examine.measuring import in_turn
from drybuild.examine.naming import WAYS, way_to_know
from drybuild.examine.uses import do_of
from drybuild.findings import Finding, Verdict
from drybuild.show.answers import titles
from drybuild.show.sentences import (
    Group,
    group_text,
    grouped,
    headline,
    is_asked,
    measured_name,
    settled_text,
    told_first,
    wanted_text,
)
from drybuild.values import System


@dataclass(frozen=True, slots=True)
class Stop:
    """A finding that stops something. why: beyond the number; do: what cures it; care: whom it can
    hurt, and how that is kept off; asked: it is what the owner asked first."""

    check: str
    subject: str
    stops: str
    said: str
    room: str
    why: str
    lines: tuple[str, ...]
    do: str
    care: str
    settles_by: str
    asked: bool = False


AWAITED = "ask the seller for, or measure when it is here:"
"""What is done for a figure of a part that is not on the car: it may not be bought yet."""


@dataclass(frozen=True, slots=True)
class ToMeasure:
    """What to measure next. ask: what is done for it (``measure``, ``look up``, ``ask the
    calibrator for``); at: where it is written; settles: what is expected to come of it; bears_on:
    the findings that rest on it."""

    at: str
    name: str
    with_: str
    how: str
    doc: str
    ask: str
    settles: str
    bears_on: str


@dataclass(frozen=True, slots=True)
class FrontPage:
    """The three findings, and how many more stop something."""

    stops: Stop | None
    measure: ToMeasure | None
    others: tuple[Stop, ...]


def front_page(
    examination: Examination, measurements: tuple[Measurement, ...], system: System
) -> FrontPage:
    """What stands first; the rest is to be folded."""
    asked = examination.state.build.head.asked
    stops = [_stop(group, system, asked) for group in grouped(told_first(examination))]
    ready = [m for m in in_turn(measurements) if m.chosen and not m.not_now]
    first = _to_measure(ready[0], examination) if ready else None
    return FrontPage(stops[0] if stops else None, first, tuple(stops[1:]))


def plan_first(jobs: Sequence[str]) -> str:
    """What comes next where jobs are open and no plan is kept: which of them comes first is the
    plan's to say, by days, hands and what lies behind what."""
    one = len(jobs) == 1
    return f"plan the work first: {jobs[0] if one else f'{len(jobs)} jobs are open'}"


def _stop(group: Group, system: System, asked: str) -> Stop:
    f = group.finding
    lines = [wanted_text(f, system), f.why, f"when: {f.pose}" if f.pose else ""]
    return Stop(
        f.check, f.subject, ", ".join(f.stops) if f.stopping else "", headline(f, group.subjects),
        group_text(group, system), f.why, tuple(line for line in lines if line), _do(f), f.safety,
        f.settles_by, is_asked(f, asked),
    )  # fmt: skip


def _do(finding: Finding) -> str:
    return "" if finding.verdict is Verdict.UNMEASURED else do_of(finding)


def _to_measure(m: Measurement, examination: Examination) -> ToMeasure:
    each = " a side, both sides" if m.both_sides else ""
    return ToMeasure(
        m.note_as, measured_name(m, examination.state.build.parts),
        f"{m.tool}, {m.minutes} min{each}", m.how, m.doc,
        AWAITED if m.awaited else WAYS[way_to_know(m.input.removeprefix("base:"))][1],
        settled_text(m), titles(m.findings, examination),
    )  # fmt: skip
