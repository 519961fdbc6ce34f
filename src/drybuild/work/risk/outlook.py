"""How long, how sure: what comes out when a plan is carried out many times with its doubt."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from drybuild.values import quantiles
from drybuild.work.model import QUARTERS_AN_HOUR, Need
from drybuild.work.risk.doubts import Doubts
from drybuild.work.risk.learned import Learned

Floats = npt.NDArray[np.float64]

STEPS = 200
"""A spread keeps its quantiles in steps of half a hundredth."""


@dataclass(frozen=True, slots=True)
class Spread:
    """A figure with its doubt. at_steps: its quantiles from 0 to 1 in equal steps."""

    mean: float
    deviation: float
    at_steps: tuple[float, ...]

    def at(self, chance: float) -> float:
        """What it stays within with this chance, 0 to 1. Raises ValueError outside."""
        if not 0.0 <= chance <= 1.0:
            raise ValueError(f"a chance is 0 to 1; found {chance:g}")
        place = chance * (len(self.at_steps) - 1)
        below = min(int(place), len(self.at_steps) - 2)
        low, high = self.at_steps[below], self.at_steps[below + 1]
        return low + (place - below) * (high - low)

    @property
    def p10(self) -> float:
        """One in ten is below."""
        return self.at(0.1)

    @property
    def p50(self) -> float:
        """The middle one."""
        return self.at(0.5)

    @property
    def p80(self) -> float:
        """Four in five are below."""
        return self.at(0.8)

    @property
    def p90(self) -> float:
        """Nine in ten are below."""
        return self.at(0.9)


def spread(column: Floats) -> Spread:
    """A column of draws as a figure with its doubt."""
    steps = quantiles(column, [k / STEPS for k in range(STEPS + 1)])
    return Spread(float(column.mean()), float(column.std()), tuple(map(float, steps)))


@dataclass(frozen=True, slots=True)
class Cause:
    """What costs time where there is none to spare.

    kind: ``step`` takes longer than the plan gives it; ``check`` finds something to put right;
    ``parts`` come late. what: key of the task. share: of all the time lost in the draws that go
    wrong. hours: that it costs there on average, h. gain: chance gained if it kept to its time, or
    None where that was not tried.
    """

    kind: str
    what: str
    title: str
    region: str
    session: str
    share: float
    hours: float
    gain: float | None = None


@dataclass(frozen=True, slots=True)
class SessionOutlook:
    """How a work session ends if people stay until what is planned is done.

    end: hours from its start to the end of its last task; planned, length: by the plan and of the
    session, h. overrun: chance that it ends late. causes: of that, the largest first.
    """

    session: str
    title: str
    planned: float
    length: float
    end: Spread
    overrun: float
    causes: tuple[Cause, ...] = ()


@dataclass(frozen=True, slots=True)
class NeedOutlook:
    """Chance that the car is allowed a use when it is needed, when people go home as they mean to.

    error: standard error of the chance, from the number of draws. as_planned: whether it is met
    when everything takes just what the plan gives it. causes: of its missing, largest first;
    regions: of the car, with their share of the time lost.
    """

    need: Need
    title: str
    chance: float
    error: float
    as_planned: bool = True
    causes: tuple[Cause, ...] = ()
    regions: tuple[tuple[str, float], ...] = ()


@dataclass(frozen=True, slots=True)
class Buffer:
    """Something that buys chance. kind: ``longer`` adds an hour to a session for all who are there
    to its end; ``later`` takes a job, and what is opened for it alone, out of a session.

    gain: of the chance that all needs are met at once; need_gain: of the need that gains most, the
    end of session ``need``. cost: person-hours that it costs (another opening, when a job waits).
    frees: person-hours that it takes out of the session.
    """

    kind: str
    what: str
    title: str
    session: str
    gain: float
    need: str
    need_gain: float
    cost: float
    frees: float = 0.0


@dataclass(frozen=True, slots=True)
class Left:
    """A task that may be left undone when the sessions are over, and the chance of it."""

    what: str
    title: str
    session: str
    chance: float


@dataclass(frozen=True)
class Outlook:
    """What to expect of a plan.

    hours: person-hours of work in all. planned: those of the plan, at its percentile. by_sums:
    mean and deviation of the hours from the closed form, which the draws must agree with. waiting:
    person-hours in which people who are there wait. all_needs: chance that every need is met, in
    one and the same draw; None without needs. finished: chance that all is done within the
    sessions. stay: hours that people stay on.
    """

    hours: Spread
    planned: float
    by_sums: tuple[float, float]
    waiting: Spread
    sessions: tuple[SessionOutlook, ...]
    needs: tuple[NeedOutlook, ...]
    all_needs: float | None
    finished: float
    left: tuple[Left, ...]
    buffers: tuple[Buffer, ...]
    learned: Learned
    doubts: Doubts
    draws: int
    seed: int

    def need(self, session: str) -> NeedOutlook:
        """The need at the end of a session. Raises KeyError."""
        for found in self.needs:
            if found.need.session == session:
                return found
        raise KeyError(f"nothing is needed after {session!r}")


def hours_of(column: Floats) -> Floats:
    """Quarters as hours."""
    return column / QUARTERS_AN_HOUR


def standard_error(chance: float, draws: int) -> float:
    """Of a share of independent draws: sqrt(p (1 − p) / n); never below what 1 draw says.

    The draws are spread more evenly than independent ones, so this errs on the wide side.
    """
    inside = min(max(chance, 1.0 / draws), 1.0 - 1.0 / draws)
    return float(np.sqrt(inside * (1.0 - inside) / draws))


def ranked(causes: Sequence[Cause], most: int) -> tuple[Cause, ...]:
    """The largest causes first, those that matter."""
    kept = sorted(causes, key=lambda cause: (-cause.share, cause.what))
    return tuple(cause for cause in kept[:most] if cause.share >= 0.03)
