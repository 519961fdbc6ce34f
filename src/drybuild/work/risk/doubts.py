"""What makes work take longer together: seized fasteners, and the pace of each person.

The logarithm of a task's time is read as ``ln(median) + spread · z`` with z standard normal. Part
of z is common: the seized fasteners of the region of the car, and the pace of the people who do
it. The rest is the task's own. The weights of the common parts are such that z stays standard
normal, so that each task by itself keeps the P10, mode and P90 that were stated (a Gaussian copula:
R. B. Nelsen, An Introduction to Copulas, 2nd ed. 2006, 2.3 *from memory*).

How strong the common parts are is common practice, no source: the figures stand in ``Doubts``.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from math import exp, sqrt

from drybuild.work.durations import log_spread
from drybuild.work.model import Hours, Job

PACE = "pace:"
SEIZED = "seized:"

MOST_PACE = 0.7
"""Largest weight of one person's pace in z: half of the doubt of a task and no more."""

UNKNOWN_AGE = 12.0
"""Age, years, of a car whose age nobody said: a middling one."""

SEIZED_BY_KIND = {"take": 1.0, "job": 0.7, "refit": 0.4, "clear": 0.0}
"""How much of the seized-fastener factor a task feels: most when things come off."""

USUAL_FAILS = {"record": 0.03, "test": 0.05, "inspect": 0.05}
"""Chance that such a job finds something to put right, where the library does not say."""


@dataclass(frozen=True, slots=True)
class Doubts:
    """How strong the common causes are. Common practice; every figure may be said anew.

    pace: spread of ln(pace) between people whom nobody knows yet: 0.25 is a quarter more or less.
    seized: share of the remaining doubt that a region shares when the car is very old; seized_age:
    years after which 63 % of that is reached. stay: hours that people stay on beyond the end of a
    work session to finish what they have begun. rework: hours to put right what a failed record
    finds; at_once: chance that this needs no part that is not there, so that it is done in the same
    session. late: job → hours, low, likely and high, by which its parts come late.
    """

    pace: float = 0.25
    seized: float = 0.6
    seized_age: float = 10.0
    stay: float = 1.0
    rework: Hours = Hours(0.5, 1.0, 3.0)  # noqa: RUF009 frozen
    at_once: float = 0.5
    late: Mapping[str, Hours] = field(default_factory=dict)


def seized_share(age: float | None, doubts: Doubts) -> float:
    """Share of a task's doubt, pace apart, that its region shares at this age of the car."""
    years = UNKNOWN_AGE if age is None else max(0.0, age)
    return doubts.seized * (1.0 - exp(-years / doubts.seized_age))


def weights(
    hours: Hours, *, kind: str, region: str, people: Iterable[str], age: float | None,
    doubts: Doubts,
) -> dict[str, float]:
    """Weight in z of each common factor of a task; the squares add up to less than 1.

    kind: take, refit, job or clear. A pace is the same factor on every task, so it weighs more
    where less is in doubt, up to ``MOST_PACE``. Of several people the mean pace counts.
    """
    spread = log_spread(hours)
    if spread == 0.0:
        return {}
    names = tuple(people)
    pace = min(doubts.pace / spread, MOST_PACE) if names else 0.0
    found = {PACE + name: pace / len(names) for name in names}
    share = seized_share(age, doubts) * SEIZED_BY_KIND.get(kind, 1.0) * (1.0 - pace * pace)
    if region and share > 0.0:
        found[SEIZED + region] = sqrt(share)
    return {name: weight for name, weight in found.items() if weight}


def fails(job: Job) -> float:
    """Chance, 0 to 1, that a job finds something that has to be put right before it counts."""
    return USUAL_FAILS.get(job.kind, 0.0) if job.fails is None else job.fails
