"""The tasks that a plan may need: what the jobs ask for, what that asks for, and so on."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property

from drybuild.work.durations import planned, quarters
from drybuild.work.model import Condition, Job, Problem, Session, StepKind, Work


@dataclass(frozen=True)
class Task:
    """One thing that may be done in a session. length: quarters. job: of a job or a clearing."""

    kind: StepKind
    what: str
    work: Work
    length: int
    job: Job | None = None

    @property
    def key(self) -> str:
        """As of the ``Step`` that it becomes."""
        return f"{self.kind}:{self.what}"

    @property
    def people(self) -> int:
        """How many it holds."""
        return self.work.people

    @property
    def energy(self) -> int:
        """Person-quarters."""
        return self.work.people * self.length

    @property
    def wait(self) -> int:
        """Quarters after it before anything that needs it."""
        return quarters(self.work.wait)

    @property
    def clears(self) -> frozenset[str]:
        """Effects that it clears."""
        also = self.job.clears if self.job is not None else ()
        return frozenset((self.what, *also)) if self.kind == "clear" else frozenset(also)

    def fits(self, session: Session) -> bool:
        """Whether the session is the right one and could hold it, all else aside."""
        if self.job is not None:
            if self.job.sessions and session.id not in self.job.sessions:
                return False
            if max(session.start, self.job.earliest) + self.length > session.end:
                return False
        if self.length > session.end - session.start or not _staffed(self, session):
            return False
        return all(
            any(not missing_tools(way, session) for way in requirement)
            for requirement in self.work.needs
        )


def missing_tools(way: tuple[Condition, ...], session: Session) -> tuple[str, ...]:
    """Tools that a way asks for and the session does not have."""
    wanted = (condition.name for condition in way if condition.kind == "tool")
    return tuple(name for name in wanted if name not in session.tools)


def _staffed(task: Task, session: Session) -> bool:
    """Whether enough people who may do it are there for as long as it takes."""
    if not task.people:
        return True
    there = {p.name for p in session.people if p.end - p.start >= task.length}
    who = frozenset(task.job.who) if task.job is not None else frozenset()
    if not who:
        return len(there) >= task.people
    if len(who) >= task.people:
        return len(there & who) >= task.people
    return len(there) >= task.people and bool(there & who)


@dataclass(frozen=True)
class Tasks:
    """Every task that a plan of the problem could contain, by key."""

    problem: Problem
    all: dict[str, Task]

    def get(self, kind: StepKind, what: str) -> Task | None:
        """A task, if it can be needed."""
        return self.all.get(f"{kind}:{what}")

    @cached_property
    def components(self) -> tuple[str, ...]:
        """Components that may have to come off, or are off."""
        return tuple(t.what for t in self.all.values() if t.kind == "refit")

    @cached_property
    def effects(self) -> tuple[str, ...]:
        """Effects that may be pending at some time."""
        caused = {name for task in self.all.values() for name in task.work.causes}
        return tuple(n for n in self.problem.effects if n in caused | self.problem.pending)

    @cached_property
    def again(self) -> dict[str, Task]:
        """By effect, what is done over after a distance: nothing of a plan saves it."""
        return {
            name: self.all[f"clear:{name}"]
            for name in self.effects
            if self.problem.effects[name].between and f"clear:{name}" in self.all
        }

    def owed(self, spots: Iterable[tuple[str, int]]) -> int:
        """Person-quarters of what is to be done over after all of these, by key and session."""
        done = list(spots)
        held = 0
        for name, task in self.again.items():
            causes = {t.key for t in self.causing(name)}
            clears = {t.key for t in self.clearing(name)}
            begun = -1 if name in self.problem.pending else -2
            caused = max((k for key, k in done if key in causes), default=begun)
            cleared = max((k for key, k in done if key in clears), default=-1)
            held += task.energy if caused > cleared or (caused == -1 == cleared) else 0
        return held

    def causing(self, effect: str) -> tuple[Task, ...]:
        """Tasks that cause an effect."""
        return tuple(task for task in self.all.values() if effect in task.work.causes)

    def clearing(self, effect: str) -> tuple[Task, ...]:
        """Tasks that clear an effect."""
        return tuple(task for task in self.all.values() if effect in task.clears)


def tasks_of(problem: Problem, *, every_way: bool = False) -> Tasks:
    """Every task that can be needed: jobs, what is in their way, and the clearing of effects.

    every_way: also by ways whose tools no session has.
    """
    found: dict[str, Task] = {}
    open_jobs = [name for name in problem.jobs if name not in problem.done]
    waiting = [_task(problem, "job", name) for name in open_jobs]
    waiting += [_task(problem, "refit", name) for name in sorted(problem.off)]
    waiting += _clearings(problem, sorted(problem.pending))
    while waiting:
        task = waiting.pop(0)
        if task.key in found:
            continue
        found[task.key] = task
        for name in opened(problem, task.work, every_way=every_way):
            waiting += [_task(problem, "take", name), _task(problem, "refit", name)]
        waiting += _clearings(problem, task.work.causes)
    return Tasks(problem, found)


def opened(problem: Problem, work: Work, *, every_way: bool = False) -> list[str]:
    """Components that some way of doing the work has off, where some session has its tools."""
    return [
        condition.name
        for requirement in work.needs
        for way in requirement
        if every_way or any(not missing_tools(way, session) for session in problem.sessions)
        for condition in way
        if condition.kind == "off"
    ]


def _clearings(problem: Problem, names: Iterable[str]) -> list[Task]:
    return [
        _task(problem, "clear", name)
        for name in names
        if problem.effects[name].clearing is not None
    ]


def _task(problem: Problem, kind: StepKind, what: str) -> Task:
    job: Job | None = None
    if kind == "take":
        work = problem.components[what].take
    elif kind == "refit":
        work = problem.components[what].refit
    else:
        job = problem.jobs[what] if kind == "job" else problem.effects[what].clearing
        if job is None:
            raise KeyError(f"nothing clears {what!r}: it passes by itself")
        work = job.work
    return Task(kind, what, work, planned(work.hours, problem.percentile), job)


def sole_off(work: Work) -> frozenset[str]:
    """Components that the work has off in whatever way it is done."""
    return frozenset(
        condition.name
        for requirement in work.needs
        if len(requirement) == 1
        for condition in requirement[0]
        if condition.kind == "off"
    )
