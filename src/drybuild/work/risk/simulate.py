"""The outlook of a plan: carried out in every draw, counted, and asked what would help."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from drybuild.values import Draws
from drybuild.work.durations import mean, variance
from drybuild.work.model import QUARTERS_AN_HOUR, Hours, Plan, ToDo
from drybuild.work.risk.buffers import SURE, buffers
from drybuild.work.risk.causes import causes, regions
from drybuild.work.risk.doubts import Doubts
from drybuild.work.risk.execute import NEVER, Lengths, Run, execute
from drybuild.work.risk.learned import Learned
from drybuild.work.risk.lengths import lengths, task_weights
from drybuild.work.risk.network import Network, Task, network
from drybuild.work.risk.outlook import (
    Cause,
    Left,
    NeedOutlook,
    Outlook,
    SessionOutlook,
    spread,
    standard_error,
)
from drybuild.work.risk.sums import total
from drybuild.work.risk.trial import Trial, tried

MOST_TRIED = 3
"""Causes of a need that are tried one by one: what if this one kept to its time?"""

LOOKED_INTO = 10_000
"""Tasks times trials that go into what would help, in each of the two ways of asking: of a large
plan only the needs in most doubt, and the largest sessions and jobs, are looked into."""

FEWER = 1024
"""Draws for trying what would help: the same ones in every trial, so that they compare."""

CLOCK = 1e-6
"""Quarters within which two moments are the same: sums of hours are not exact."""

MENTIONED = 0.01
"""Chance of being left undone from which a task is named."""


def simulate(
    todo: ToDo, plan: Plan, *, draws: int = 4096, seed: int = 2026,
    learned: Learned | None = None, doubts: Doubts | None = None,
) -> Outlook:  # fmt: skip
    """What to expect of a plan: hours, ends of sessions, chance of every need, and what helps.

    draws: a power of two, 16 or more (ValueError). learned: from finished tasks (``learn``). The
    same plan, draws and seed give the same outlook. Raises KeyError for a step that the problem
    does not know.
    """
    study = _Study(todo, plan, draws, seed, learned or Learned(), doubts or Doubts())
    return study.outlook()


@dataclass(frozen=True)
class _Study:
    todo: ToDo
    plan: Plan
    draws: int
    seed: int
    learned: Learned
    doubts: Doubts

    def outlook(self) -> Outlook:
        doubts = self.doubts
        tasks = network(self.todo.problem, self.plan)
        times = self._times(tasks, self.draws)
        trial = tried(tasks, times, stay=doubts.stay)
        small = trial
        if self.draws > FEWER:
            small = tried(tasks, self._times(tasks, FEWER), stay=doubts.stay)
        people = np.array([task.work.people for task in tasks.tasks], dtype=float)
        planned = float(people @ np.array([t.planned for t in tasks.tasks], dtype=float))
        ended = np.isfinite(trial.home.end).all(axis=0)
        return Outlook(
            spread(people @ times.used / QUARTERS_AN_HOUR), planned / QUARTERS_AN_HOUR,
            self._sums(tasks), spread(trial.home.idle / QUARTERS_AN_HOUR),
            tuple(_sessions(tasks, times, execute(tasks, times, stay=NEVER))),
            self._needs(trial, small),
            float(trial.all_met.mean()) if trial.met else None,
            float(ended.mean()), tuple(_left(tasks, trial.home)),
            buffers(small, stay=doubts.stay, most=_trials(tasks)),
            self.learned, doubts, self.draws, self.seed,
        )  # fmt: skip

    def _times(self, tasks: Network, draws: int) -> Lengths:
        columns = Draws(draws, self.seed)
        return lengths(
            tasks, columns, age=self.todo.age, doubts=self.doubts, learned=self.learned
        )

    def _sums(self, tasks: Network) -> tuple[float, float]:
        """The hours by the closed form; as stated, before anything is learned."""
        loads = [task_weights(t, age=self.todo.age, doubts=self.doubts) for t in tasks.tasks]
        hours = [task.hours for task in tasks.tasks]
        people = [float(task.work.people) for task in tasks.tasks]
        middle, deviation = total(hours, people, loads, [variance(h) for h in hours])
        added = [_added(task, self.doubts.rework) for task in tasks.tasks if task.fails]
        return middle + sum(m for m, _ in added), (deviation**2 + sum(v for _, v in added)) ** 0.5

    def _needs(self, trial: Trial, small: Trial) -> tuple[NeedOutlook, ...]:
        """Every need; the causes of those in most doubt are tried."""
        doubtful = [k for k, chance in enumerate(trial.chances) if chance < SURE]
        doubtful.sort(key=lambda k: (trial.chances[k], k))
        looked_into = doubtful[: max(1, _trials(trial.plan) // MOST_TRIED)]
        as_planned = _as_planned(trial.plan)
        return tuple(
            replace(self._need(trial, small, k, look=k in looked_into), as_planned=as_planned[k])
            for k in range(len(trial.met))
        )

    def _need(self, trial: Trial, small: Trial, index: int, *, look: bool) -> NeedOutlook:
        need, found = trial.plan.problem.needs[index], trial.met[index]
        chance = float(found.met.mean())
        title = trial.plan.problem.session(need.session).title
        missed = (trial.plan, trial.home, trial.times, found.waits_for, ~found.met)
        why = causes(*missed)
        if look:
            tried_ones = [self._gain(small, index, cause) for cause in why[:MOST_TRIED]]
            why = (*tried_ones, *why[MOST_TRIED:])
        error = standard_error(chance, self.draws)
        where = regions(*missed)
        return NeedOutlook(need, title, chance, error, causes=why, regions=where)

    def _gain(self, base: Trial, index: int, cause: Cause) -> Cause:
        """The cause with the chance gained if that task kept to its time."""
        plan, times = base.plan, base.times
        first, again, late = times.first.copy(), times.again.copy(), dict(times.late)
        for k, task in enumerate(plan.tasks):
            session = plan.problem.sessions[task.session].id
            if (task.key, session) != (cause.what, cause.session):
                continue
            if cause.kind == "step":
                first[k] = np.minimum(first[k], task.planned)
            elif cause.kind == "check":
                again[k] = 0.0
            else:
                late.pop(k, None)
        kept = tried(plan, Lengths(first, again, times.at_once, late), stay=self.doubts.stay)
        return replace(cause, gain=kept.chances[index] - base.chances[index])


def _as_planned(plan: Network) -> tuple[bool, ...]:
    """Whether each need is met when every task takes its planned time and nothing fails."""
    first = np.array([[float(task.planned)] for task in plan.tasks]).reshape(-1, 1)
    none = np.zeros_like(first)
    trial = tried(plan, Lengths(first, none, none > 0.0), stay=0.0)
    return tuple(chance == 1.0 for chance in trial.chances)


def _trials(plan: Network) -> int:
    """How many trials a plan of this size is given."""
    return max(6, LOOKED_INTO // max(1, len(plan.tasks)))


def _sessions(plan: Network, times: Lengths, stayed: Run) -> Iterator[SessionOutlook]:
    """How each session that has tasks ends, if people stay."""
    for k, session in enumerate(plan.problem.sessions):
        mine = np.array([t.session == k and t.work.people > 0 for t in plan.tasks], dtype=bool)
        if not mine.any():
            continue
        here = mine[:, None] & (stayed.session == k)
        ended = np.where(here, stayed.end, -NEVER)
        last = np.where(here.any(axis=0), np.argmax(ended, axis=0), -1).astype(np.int32)
        end = np.maximum(ended.max(axis=0), session.start)
        late = end > session.end + CLOCK
        planned = max(t.step.end for t, m in zip(plan.tasks, mine, strict=True) if m)
        yield SessionOutlook(
            session.id, session.title, (planned - session.start) / QUARTERS_AN_HOUR,
            (session.end - session.start) / QUARTERS_AN_HOUR,
            spread((end - session.start) / QUARTERS_AN_HOUR), float(late.mean()),
            causes(plan, stayed, times, last, late),
        )  # fmt: skip


def _left(plan: Network, home: Run) -> Iterator[Left]:
    """Tasks that may be left undone, for themselves and not for want of one before."""
    undone = ~np.isfinite(home.end)
    for index, task in enumerate(plan.tasks):
        waits = [undone[link.first] for link in task.links]
        own = undone[index] & ~np.any([*waits, np.zeros(undone.shape[1], dtype=bool)], axis=0)
        chance = float(own.mean())
        if chance >= MENTIONED:
            session = plan.problem.sessions[task.session].id
            yield Left(task.key, task.title, session, chance)


def _added(task: Task, rework: Hours) -> tuple[float, float]:
    """Mean, h, and variance, h², of the person-hours that a failing check adds."""
    again = mean(rework) + mean(task.hours)
    inside = variance(rework) + variance(task.hours)
    people, p = task.work.people, task.fails
    return people * p * again, people**2 * (p * inside + p * (1.0 - p) * again**2)
