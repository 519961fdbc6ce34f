"""What each step of a plan has to wait for when the plan is carried out.

The plan's own moments are forgotten; its order stays, and what must hold between two steps stays:
a part comes off before what lies behind it is reached and goes back when nobody needs it off any
more, jobs keep their order, lags and waits, effects are cleared after their causes.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field, replace

from drybuild.work.durations import planned, quarters
from drybuild.work.ends import cleared_by, work_of
from drybuild.work.model import Hours, Job, Plan, Problem, Step, Work
from drybuild.work.openings import conditions, title_of
from drybuild.work.risk.doubts import fails


@dataclass(frozen=True, slots=True)
class Link:
    """A task waits for the end of task number ``first`` and ``lag`` quarters more.

    later: also for the next work session, since the car is driven in between. order: only because
    it lies so in the plan (a part goes back when a job behind it is done), not because the one
    builds on the other.
    """

    first: int
    lag: int = 0
    later: bool = False
    order: bool = False


@dataclass(frozen=True, slots=True)
class Task:
    """One step with what it waits for. planned: quarters that the plan gives it.

    session: number, from 0, of the session it is planned for; sessions: those it may be in, that
    one first. earliest: quarter before which its parts are not there. fails: chance that it has to
    be done again after something was put right.
    """

    step: Step
    work: Work
    title: str
    region: str
    planned: int
    session: int
    sessions: tuple[int, ...]
    links: tuple[Link, ...]
    earliest: int = 0
    who: tuple[str, ...] = ()
    fails: float = 0.0

    @property
    def key(self) -> str:
        """As its notes are kept."""
        return self.step.key

    @property
    def hours(self) -> Hours:
        """Working time, h."""
        return self.work.hours


@dataclass(frozen=True, slots=True)
class Round:
    """A component off and on again: numbers of its tasks (None: off at the outset, or never put
    back in the plan), and of those that need it off meanwhile."""

    component: str
    take: int | None
    refit: int | None
    behind: tuple[int, ...]


@dataclass(frozen=True)
class Network:
    """The tasks of a plan in its order, and each opening with what it serves."""

    problem: Problem
    tasks: tuple[Task, ...]
    rounds: tuple[Round, ...]


@dataclass
class _Component:
    take: int | None = None
    refit: int | None = None
    behind: list[int] = field(default_factory=list)
    on: list[int] = field(default_factory=list)
    is_off: bool = False


@dataclass
class _Effect:
    causes: list[int] = field(default_factory=list)
    cleared: int | None = None
    clear: list[int] = field(default_factory=list)


def network(problem: Problem, plan: Plan) -> Network:
    """The tasks of a plan. Raises KeyError for a step that the problem does not know."""
    clauses = tuple(dict.fromkeys((*problem.clauses, *plan.clauses)))
    return _Builder(replace(problem, clauses=clauses)).built(plan)


class _Builder:
    def __init__(self, problem: Problem) -> None:
        self.problem = problem
        self.components = {name: _Component() for name in problem.components}
        for name in problem.off:
            self.components[name].is_off = True
        self.effects = {name: _Effect() for name in problem.effects}
        self.jobs: dict[str, int] = {}
        self.works: list[Work] = []
        self.links: dict[int, Link] = {}
        self.rounds: list[Round] = []
        self.before: dict[str, list[int]] = {}

    def built(self, plan: Plan) -> Network:
        number = {session.id: k for k, session in enumerate(self.problem.sessions)}
        tasks = []
        for index, step in enumerate(sorted(plan.steps, key=lambda s: (s.start, s.end))):
            work = work_of(self.problem, step)
            self.works.append(work)
            self.links = {}
            self._waits(index, step)
            self._leaves(index, step)
            tasks.append(self._task(step, work, number[step.session]))
        for name, kept in self.components.items():
            if kept.is_off:
                self.rounds.append(Round(name, kept.take, None, tuple(kept.behind)))
        return Network(self.problem, tuple(tasks), tuple(self.rounds))

    def _task(self, step: Step, work: Work, session: int) -> Task:
        job = self._job(step)
        component = self.problem.components.get(step.what)
        region = job.region if job else component.region if component else ""
        return Task(
            step, work, title_of(self.problem, step), region,
            planned(work.hours, self.problem.percentile), session,
            tuple(self._sessions(step, work, session)),
            tuple(link for _, link in sorted(self.links.items())),
            job.earliest if job else 0, job.who if job else (), fails(job) if job else 0.0,
        )  # fmt: skip

    def _job(self, step: Step) -> Job | None:
        if step.kind == "job":
            return self.problem.jobs[step.what]
        return self.problem.effects[step.what].clearing if step.kind == "clear" else None

    def _sessions(self, step: Step, work: Work, first: int) -> Iterator[int]:
        """The session it is planned for and the later ones that have what it takes."""
        job = self._job(step)
        tools = {c.name for c in conditions(self.problem, step) if c.kind == "tool"}
        for k, session in enumerate(self.problem.sessions):
            booked = job is None or not job.sessions or session.id in job.sessions
            if k == first or (k > first and booked and tools <= session.tools):
                yield k

    def _link(
        self, index: int, first: int | None, lag: int = 0, *, later: bool = False,
        order: bool = False,
    ) -> None:  # fmt: skip
        if first is None or first == index:
            return
        had = self.links.get(first)
        if had is not None:
            lag, later = max(lag, had.lag), later or had.later
            order = order and had.order
        self.links[first] = Link(first, lag, later, order)

    def _waits(self, index: int, step: Step) -> None:
        """What the step's own conditions and its job's order make it wait for."""
        for condition in conditions(self.problem, step):
            if condition.kind == "off":
                kept = self.components[condition.name]
                self._link(index, kept.take, self._wait(kept.take))
                kept.behind.append(index)
            elif condition.kind == "on":
                self._on(index, condition.name)
            elif condition.kind == "clear":
                self._clear(index, condition.name)
            elif condition.kind == "use":
                self._use(index, condition.name)
        job = self._job(step)
        for after in job.after if job else ():
            first = self.jobs.get(after.job)
            lag = max(quarters(after.lag), self._wait(first))
            self._link(index, first, lag, later=after.between > 0)

    def _wait(self, first: int | None) -> int:
        return 0 if first is None else quarters(self.works[first].wait)

    def _on(self, index: int, name: str) -> None:
        kept = self.components[name]
        self._link(index, kept.refit, self._wait(kept.refit))
        kept.on.append(index)

    def _clear(self, index: int, name: str) -> None:
        kept, effect = self.effects[name], self.problem.effects[name]
        self._link(index, kept.cleared, self._wait(kept.cleared))
        if effect.clearing is None:
            for cause in kept.causes:
                self._link(index, cause, quarters(effect.lasting))
        kept.clear.append(index)

    def _use(self, index: int, use: str) -> None:
        stopping = self.problem.stopping(use)
        for name, component in self.problem.components.items():
            if stopping & set(component.stops):
                self._on(index, name)
        for name, effect in self.problem.effects.items():
            if stopping & set(effect.stops):
                self._clear(index, name)
        for clause in self.problem.clauses:
            if clause.use in stopping:
                for job in clause.not_done:
                    self._link(index, self.jobs.get(job))
                for job in clause.done:
                    self.before.setdefault(job, []).append(index)

    def _leaves(self, index: int, step: Step) -> None:
        """What the step changes for those after it, and which before it must be over."""
        if step.kind == "take":
            self._taken(index, step.what)
        elif step.kind == "refit":
            self._refitted(index, step.what)
        elif step.kind == "job":
            self.jobs[step.what] = index
            self._order(index, self.before.get(step.what, ()))
        cleared = cleared_by(self.problem, step)
        for name in set(self.works[index].causes) - cleared:
            kept = self.effects[name]
            self._order(index, kept.clear)
            self._link(index, kept.cleared, order=True)
            kept.causes.append(index)
            kept.clear = []
        for name in sorted(cleared):
            kept = self.effects[name]
            between = self.problem.effects[name].between > 0
            for cause in kept.causes:
                self._link(index, cause, later=between)
            if kept.causes or step.kind == "clear":
                kept.cleared = index
            kept.causes = []

    def _taken(self, index: int, name: str) -> None:
        kept = self.components[name]
        self._link(index, kept.refit, order=True)
        self._order(index, kept.on)
        kept.take, kept.behind, kept.on, kept.is_off = index, [], [], True

    def _refitted(self, index: int, name: str) -> None:
        kept = self.components[name]
        self._link(index, kept.take)
        self._order(index, kept.behind)
        self.rounds.append(Round(name, kept.take, index, tuple(kept.behind)))
        kept.refit, kept.behind, kept.on, kept.is_off = index, [], [], False

    def _order(self, index: int, before: Iterable[int]) -> None:
        for first in before:
            self._link(index, first, order=True)
