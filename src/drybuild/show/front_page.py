"""What the first page of a build says first: what stops it, what to measure, what that settles."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from drybuild.build.model import Part
from drybuild.examine import Examination, Measurement
from drybuild.examine.naming import WAYS, way_to_know
from drybuild.examine.uses import do_of
from drybuild.findings import Finding, Verdict
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

HANDS = (("measure", False), ("measure", True), ("read off", False), ("read off", True))
"""What hands can do, the first first: how it comes to be known, and whether of a part in hand."""


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


@dataclass(frozen=True, slots=True)
class ToMeasure:
    """What to measure next. ask: what is done for it (``measure``, ``look up``, ``ask the
    calibrator for``); at: where it is written; settles: what is expected to come of it."""

    at: str
    name: str
    with_: str
    how: str
    doc: str
    ask: str
    settles: str


@dataclass(frozen=True, slots=True)
class FrontPage:
    """The three findings, and how many more stop something. hands: what to measure that a gauge or
    a tape reads on the car, where there is such a thing; else as measure."""

    stops: Stop | None
    measure: ToMeasure | None
    others: tuple[Stop, ...]
    hands: ToMeasure | None = None


def front_page(
    examination: Examination, measurements: tuple[Measurement, ...], system: System
) -> FrontPage:
    """What stands first; the rest is to be folded."""
    asked = examination.state.build.head.asked
    stops = [_stop(group, system, asked) for group in grouped(told_first(examination))]
    parts = examination.state.build.parts
    first = _to_measure(measurements[0], parts) if measurements else None
    by_hand = sorted((m for m in measurements if _with_hands(m) < len(HANDS)), key=_with_hands)
    hands = _to_measure(by_hand[0], parts) if by_hand else first
    return FrontPage(stops[0] if stops else None, first, tuple(stops[1:]), hands)


def _with_hands(m: Measurement) -> int:
    """A gauge on the car first, then one on a part in hand, then what is only read off."""
    in_hand = m.note_as.startswith("part.")
    way = (way_to_know(m.input), in_hand)
    return HANDS.index(way) if way in HANDS else len(HANDS)


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


def _to_measure(m: Measurement, parts: Mapping[str, Part]) -> ToMeasure:
    each = " a side, both sides" if m.both_sides else ""
    return ToMeasure(
        m.note_as, measured_name(m, parts), f"{m.tool}, {m.minutes} min{each}", m.how, m.doc,
        WAYS[way_to_know(m.input.removeprefix("base:"))][1], _settles(m),
    )  # fmt: skip


def _settles(m: Measurement) -> str:
    said = settled_text(m)
    return f"It {'is ' if said.startswith('expected') else ''}{said}."
