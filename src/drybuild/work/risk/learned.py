"""What finished jobs teach: whose pace is what, and whose fasteners are worse than thought.

Each finished task gives one reading of its common factors: ``ln(time taken / median) / spread`` is
their weighted sum and the task's own noise. Factors and noise are normal with known variances, so
the factors after any number of readings are normal too, with mean and covariance in closed form
(A. Gelman et al., Bayesian Data Analysis, 3rd ed. 2013, 14.2 and 14.8 *from memory*).
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from math import exp, log

import numpy as np
import numpy.typing as npt

from drybuild.journal import WorkEntry
from drybuild.work.durations import Z_TAIL, log_spread, quantile
from drybuild.work.model import Hours, Problem, Work
from drybuild.work.risk.doubts import PACE, SEIZED, Doubts, weights

Floats = npt.NDArray[np.float64]

WILD = 4.0
"""A reading further out than so many spreads counts as that far: one wild day is not a pace."""


@dataclass(frozen=True, slots=True)
class Worked:
    """A finished task: what was thought beforehand and what it took.

    task: its key (``take:turbo``, ``job:springs``). planned, hours: of one person, h, as the task
    lasts. people: who did it. region: of the car, empty where unknown.
    """

    task: str
    planned: Hours
    hours: float
    people: tuple[str, ...] = ()
    region: str = ""


@dataclass(frozen=True, slots=True)
class Pace:
    """How a person, or a region of the car, compares with what was thought.

    factor: on the time of a task, 1 as thought, with the ends that one case in ten lies beyond.
    tasks: how many finished ones speak of it.
    """

    name: str
    kind: str
    factor: float
    low: float
    high: float
    tasks: int


@dataclass(frozen=True)
class Learned:
    """Common factors after the finished tasks: means and covariance, in standard normal units.

    A factor that is not named here is as before: mean 0, variance 1. paces: the same in words'
    reach. tasks: how many readings there were.
    """

    names: tuple[str, ...] = ()
    means: tuple[float, ...] = ()
    covariance: tuple[tuple[float, ...], ...] = ()
    paces: tuple[Pace, ...] = ()
    tasks: int = 0

    def shift(self, of: Mapping[str, float]) -> float:
        """What is known by now of the weighted sum of a task's factors: its mean."""
        known = dict(zip(self.names, self.means, strict=True))
        return sum(weight * known.get(name, 0.0) for name, weight in of.items())

    def root(self) -> Floats:
        """A square root of the covariance, shape (K, K)."""
        return np.linalg.cholesky(np.array(self.covariance).reshape(len(self.names), -1))


def learn(
    worked: Iterable[Worked], *, age: float | None = None, doubts: Doubts | None = None
) -> Learned:
    """The common factors, given what finished tasks took.

    Tasks of fixed length and those that nobody did teach nothing. age: of the car, years. Raises
    ValueError that names every task whose hours are not above 0.
    """
    doubts = doubts or Doubts()
    tasks = list(worked)
    wrong = [f"{w.task}: {w.hours:g} h" for w in tasks if not w.hours > 0.0]
    if wrong:
        raise ValueError(f"hours taken must be above 0; found {'; '.join(wrong)}")
    rows = [(w, _weights(w, age, doubts)) for w in tasks if not w.planned.fixed]
    rows = [(w, row) for w, row in rows if row]
    names = tuple(sorted({name for _, row in rows for name in row}))
    if not names:
        return Learned()
    loads = np.array([[row.get(name, 0.0) for name in names] for _, row in rows])
    seen = np.array([_reading(w) for w, _ in rows])
    means, covariance = posterior(loads=loads, seen=seen, own=1.0 - (loads**2).sum(axis=1))
    paces = tuple(
        _pace(name, float(means[k]), float(covariance[k, k]) ** 0.5, rows)
        for k, name in enumerate(names)
    )
    return Learned(
        names, tuple(map(float, means)), tuple(tuple(map(float, r)) for r in covariance),
        paces, len(rows),
    )  # fmt: skip


def worked_from(
    problem: Problem,
    entries: Iterable[WorkEntry],
    *,
    finished: Mapping[str, tuple[Work, str]] | None = None,
) -> tuple[Worked, ...]:
    """The finished tasks of a journal, with what the problem thought of them.

    finished: work and region of tasks that the problem may no longer hold (``ToDo.finished``).

    What was stopped and gone on with counts as one. Hours of the clock are taken as those of as
    many people as the task holds. Left out: tasks that are not finished, that have no hours, or
    that the problem does not know.
    """
    so_far: dict[str, list[WorkEntry]] = {}
    found = []
    for entry in entries:
        if not entry.of_task or entry.what == "started":
            continue
        so_far.setdefault(entry.task, []).append(entry)
        if entry.what == "done" and not entry.left:
            stated = (finished or {}).get(entry.task) or _work_and_region(problem, entry.task)
            known = _finished(stated, so_far.pop(entry.task))
            if known is not None:
                found.append(known)
    return tuple(found)


def _finished(known: tuple[Work, str] | None, entries: list[WorkEntry]) -> Worked | None:
    if known is None or any(entry.hours is None for entry in entries):
        return None
    work, region = known
    hours = sum((entry.person_hours or 0.0) for entry in entries) / max(1, work.people)
    if hours <= 0.0 or not work.people:
        return None
    people = tuple(dict.fromkeys(name for entry in entries for name in entry.people))
    return Worked(entries[0].task, work.hours, hours, people, region)


def _work_and_region(problem: Problem, task: str) -> tuple[Work, str] | None:
    kind, _, what = task.partition(":")
    component = problem.components.get(what)
    if kind in ("take", "refit") and component is not None:
        return component.take if kind == "take" else component.refit, component.region
    job = problem.jobs.get(what) if kind == "job" else None
    effect = problem.effects.get(what) if kind == "clear" else None
    if effect is not None:
        job = effect.clearing
    return None if job is None else (job.work, job.region)


def posterior(*, loads: Floats, seen: Floats, own: Floats) -> tuple[Floats, Floats]:
    """Means (K,) and covariance (K, K) of standard normal factors after readings.

    Reading n is ``loads[n] · factors`` + noise of variance ``own[n]`` > 0. loads: shape (N, K);
    seen, own: (N,). Source: Gelman et al. 2013, 14.8 (regression with a normal prior).
    """
    precision = np.eye(loads.shape[1]) + (loads / own[:, None]).T @ loads
    covariance = np.linalg.inv(precision)
    covariance = (covariance + covariance.T) / 2
    return covariance @ (loads.T @ (seen / own)), covariance


def _weights(worked: Worked, age: float | None, doubts: Doubts) -> dict[str, float]:
    kind = worked.task.partition(":")[0]
    return weights(
        worked.planned, kind=kind, region=worked.region, people=worked.people, age=age,
        doubts=doubts,
    )  # fmt: skip


def _reading(worked: Worked) -> float:
    """How many spreads above its median a task took, within ``WILD``."""
    out = log(worked.hours / quantile(worked.planned, 0.5)) / log_spread(worked.planned)
    return max(-WILD, min(WILD, out))


def _pace(
    name: str, middle: float, deviation: float, rows: list[tuple[Worked, dict[str, float]]]
) -> Pace:
    """A factor as it acts on the time of one person alone, in tasks like those that were seen."""
    kind = PACE if name.startswith(PACE) else SEIZED
    scales = [
        log_spread(w.planned) * row[name] * (len(w.people) if kind == PACE else 1)
        for w, row in rows
        if name in row
    ]
    scale = sum(scales) / len(scales)
    ends = (middle - Z_TAIL * deviation, middle, middle + Z_TAIL * deviation)
    low, factor, high = (exp(scale * end) for end in ends)
    said = "person" if kind == PACE else "region"
    return Pace(name.removeprefix(kind), said, factor, low, high, len(scales))
