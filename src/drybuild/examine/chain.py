"""Which link of the chain from the air in front to the wheels gives out first."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

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

NO_LINK = frozenset({"driveline.bearing_moment"})
"""Checks of those systems that no link gives out with: rim and track load a wheel bearing, the
engine does not."""

STOPPED = ("run", "creep", "drive", "full load", "compete")
"""Uses of which the chain is: all for which the engine runs."""


@dataclass(frozen=True, slots=True)
class Link:
    """One link of the chain: its tightest finding of those that are known, and how many findings
    it has. unknown: those that nobody can say yet, which may give before it."""

    words: str
    finding: Finding
    of: int
    first: bool = False
    unknown: tuple[Finding, ...] = ()


def chain(examination: Examination) -> tuple[Link, ...]:
    """The links along the way; of those that are known the one that gives out first is marked."""
    links: list[Link] = []
    for words, systems in CHAIN:
        found = [f for f in examination.findings if f.system in systems and _counts(f)]
        if found:
            known = [f for f in found if is_known(f)]
            tightest = min(known or found, key=tightness)
            unknown = tuple(f for f in found if not is_known(f))
            links.append(Link(words, tightest, len(found), unknown=unknown))
    known_links = [link for link in links if is_known(link.finding)]
    weakest = min(known_links, key=lambda link: tightness(link.finding), default=None)
    return tuple(replace(one, first=one is weakest) for one in links)


def is_known(finding: Finding) -> bool:
    """Whether it has a figure: what nobody has measured is no weakest link, it is none yet."""
    return finding.verdict is not Verdict.UNMEASURED and finding.margin is not None


def _counts(finding: Finding) -> bool:
    stops = bool(set(finding.stops) & set(STOPPED))
    return finding.armed and stops and finding.check not in NO_LINK


def tightness(finding: Finding) -> tuple[float, float]:
    """How near a finding is to giving out: by its chance, then by its room in halves of its doubt.

    A yes or no has no room: it comes after what is short by a figure, and after what has room. What
    nobody has measured is only compared with its like.
    """
    if finding.verdict is Verdict.UNMEASURED or finding.margin is None:
        return 0.5, 0.0
    middle, half = finding.margin.median, abs(finding.margin.median - finding.margin.low)
    chance = finding.chance if finding.chance is not None else 0.5
    if half == 0.0:
        return chance, 0.0 if middle < 0.0 else math.inf
    return chance, middle / half
