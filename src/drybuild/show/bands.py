"""The two bands of a finding, in figures: the room that there is, and what there is to the limit.

Every face takes them from here: both are in one unit and of one step, so that what the screen says
of a finding the book says too.
"""

from __future__ import annotations

from drybuild.findings import Finding
from drybuild.findings.finding import Interval
from drybuild.values import System, figures

ROOMS = {
    "ratio": "fraction",
    "pressure_gauge": "pressure_difference",
    "pressure_absolute": "pressure_difference",
}

Said = tuple[str, str, str, str]
"""Middle, low and high end as they are read, and their unit."""


def room_figures(finding: Finding, system: System) -> Said:
    """The room beyond what is wanted, of a finding that has one."""
    assert finding.margin is not None
    return _figures(finding, finding.margin, finding.slack, system)


def limit_figures(finding: Finding, system: System) -> Said:
    """The room to the limit itself, of a finding that has one."""
    assert finding.slack is not None
    return _figures(finding, finding.slack, finding.margin, system)


def said_as(kind: str) -> str:
    """The kind that a room is said in: of a bare ratio percents; between two pressures there is a
    difference, whatever they are counted from."""
    return ROOMS.get(kind, kind)


def _figures(finding: Finding, of: Interval, other: Interval | None, system: System) -> Said:
    beside = None if other is None else (other.median, other.low, other.high)
    return figures(said_as(finding.kind), of.median, of.low, of.high, system, beside=beside)
