"""What the first page of a build says first: what stops it, what to measure, what that settles."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from drybuild.build.model import Part
from drybuild.examine import Examination, Measurement
from drybuild.examine.measuring import EYE
from drybuild.examine.uses import do_of
from drybuild.findings import Finding, Verdict
from drybuild.show.sentences import (
    Group,
    group_text,
    grouped,
    headline,
    measured_name,
    settled_text,
    stopping,
    wanted_text,
)
from drybuild.values import System


@dataclass(frozen=True, slots=True)
class Stop:
    """A finding that stops something. why: beyond the number; do: what cures it; care: whom it can
    hurt, and how that is kept off."""

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


@dataclass(frozen=True, slots=True)
class ToMeasure:
    """What to measure next. at: where it is written; settles: what is expected to come of it."""

    at: str
    name: str
    with_: str
    how: str
    doc: str
    by_eye: bool
    settles: str


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
    heavy = grouped(stopping(examination))
    stops = [_stop(group, system) for group in heavy]
    first = _to_measure(measurements[0], examination.state.build.parts) if measurements else None
    return FrontPage(stops[0] if stops else None, first, tuple(stops[1:]))


def _stop(group: Group, system: System) -> Stop:
    f = group.finding
    lines = [wanted_text(f, system), f.why, f"when: {f.pose}" if f.pose else ""]
    return Stop(
        f.check, f.subject, ", ".join(f.stops), headline(f, group.subjects),
        group_text(group, system), f.why, tuple(line for line in lines if line), _do(f), f.safety,
        f.settles_by,
    )  # fmt: skip


def _do(finding: Finding) -> str:
    return "" if finding.verdict is Verdict.UNMEASURED else do_of(finding)


def _to_measure(m: Measurement, parts: Mapping[str, Part]) -> ToMeasure:
    each = " a side, both sides" if m.both_sides else ""
    return ToMeasure(
        m.note_as, measured_name(m, parts), f"{m.tool}, {m.minutes} min{each}", m.how, m.doc,
        m.tool == EYE, _settles(m),
    )  # fmt: skip


def _settles(m: Measurement) -> str:
    said = settled_text(m)
    return f"It {'is ' if said.startswith('expected') else ''}{said}."
