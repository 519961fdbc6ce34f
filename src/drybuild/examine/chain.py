"""Which link of the chain from the air in front to the wheels gives out first."""

from __future__ import annotations

import math
from dataclasses import dataclass

from drybuild.examine.examination import Examination
from drybuild.findings import Finding, Verdict

CHAIN = (
    ("air", ("breathing",)),
    ("fuel", ("fuel",)),
    ("current", ("electrics",)),
    ("map", ("calibration",)),
    ("heat", ("cooling",)),
    ("engine, clutch and gears", ("driveline",)),
)
"""Links of the chain from the air in front to the wheels, and the systems that each is of."""

STOPPED = ("run", "creep", "drive", "full load", "compete")
"""Uses of which the chain is: all for which the engine runs."""


@dataclass(frozen=True, slots=True)
class Link:
    """One link of the chain: its tightest finding, and how many findings it has."""

    words: str
    finding: Finding
    of: int
    first: bool = False


def chain(examination: Examination) -> tuple[Link, ...]:
    """The links in the order in which they give; the one that gives out first is marked."""
    links = []
    for words, systems in CHAIN:
        found = [f for f in examination.findings if f.system in systems and _counts(f)]
        if found:
            links.append(Link(words, min(found, key=tightness), len(found)))
    if not links:
        return ()
    weakest = min(links, key=lambda link: tightness(link.finding))
    return tuple(Link(one.words, one.finding, one.of, one is weakest) for one in links)


def _counts(finding: Finding) -> bool:
    return finding.armed and bool(set(finding.stops) & set(STOPPED))


def tightness(finding: Finding) -> tuple[float, float]:
    """How near a finding is to giving out: by its chance, then by its room in halves of its doubt.

    What nobody has measured comes before what is surely enough, and after what is short. A yes or
    no has no room: it comes after what is short by a figure, and after what has room.
    """
    if finding.verdict is Verdict.UNMEASURED or finding.margin is None:
        return 0.5, 0.0
    middle, half = finding.margin.median, abs(finding.margin.median - finding.margin.low)
    chance = finding.chance if finding.chance is not None else 0.5
    if half == 0.0:
        return chance, 0.0 if middle < 0.0 else math.inf
    return chance, middle / half
