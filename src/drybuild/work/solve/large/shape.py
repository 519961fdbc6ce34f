"""A problem cut down to what can matter, and counted: the words of the two-level solver.

Left out is what no open job can bring into play: components that nobody must take off, effects that
nothing causes. What is left is numbered by session, its conditions reduced to four plain ones.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from functools import cached_property

from drybuild.work.durations import planned
from drybuild.work.model import Clause, Condition, Job, Problem, Session, StepKind, Work


@dataclass(frozen=True, slots=True)
class Way:
    """One way to meet a requirement: what must be off, on, not pending, and which clauses hold."""

    off: tuple[str, ...] = ()
    on: tuple[str, ...] = ()
    clear: tuple[str, ...] = ()
    clauses: tuple[Clause, ...] = ()

    @property
    def free(self) -> bool:
        """Whether it asks for nothing."""
        return not (self.off or self.on or self.clear or self.clauses)

    @property
    def size(self) -> int:
        """How many plain conditions it has."""
        return len(self.off) + len(self.on) + len(self.clear) + len(self.clauses)


Ways = tuple[Way, ...]
"""Any one of them."""


@dataclass(frozen=True, slots=True)
class Task:
    """Something that may be chosen for a session. length in quarters; load: times its people."""

    key: str
    kind: StepKind
    what: str
    work: Work
    length: int
    load: int
    job: Job | None = None


@dataclass(frozen=True)
class Shape:
    """What can matter of a problem. tasks by ``Step.key``; jobs, components, effects by id."""

    problem: Problem
    tasks: dict[str, Task]
    jobs: tuple[str, ...]
    components: tuple[str, ...]
    effects: tuple[str, ...]
    _ways: dict[tuple[str, frozenset[str]], tuple[Ways, ...] | None] = field(
        default_factory=dict, repr=False
    )

    @property
    def sessions(self) -> tuple[Session, ...]:
        """Work sessions in order."""
        return self.problem.sessions

    @cached_property
    def capacity(self) -> tuple[int, ...]:
        """Quarters of presence in each session."""
        return tuple(sum(p.end - p.start for p in s.people) for s in self.sessions)

    @cached_property
    def causing(self) -> dict[str, tuple[str, ...]]:
        """Tasks that cause an effect and do not clear it themselves."""
        return {
            name: tuple(
                task.key
                for task in self.tasks.values()
                if name in task.work.causes and name not in self._cleared(task)
            )
            for name in self.effects
        }

    @cached_property
    def clearing(self) -> dict[str, tuple[str, ...]]:
        """Tasks that clear an effect."""
        found: dict[str, list[str]] = {name: [] for name in self.effects}
        for task in self.tasks.values():
            for name in self._cleared(task):
                if name in found:
                    found[name].append(task.key)
        return {name: tuple(keys) for name, keys in found.items()}

    @staticmethod
    def _cleared(task: Task) -> set[str]:
        own = {task.what} if task.kind == "clear" else set()
        return own | set(task.job.clears if task.job is not None else ())

    @cached_property
    def needed(self) -> dict[int, tuple[str, ...]]:
        """Uses that are needed at the end of a session, by its number."""
        number = {session.id: k for k, session in enumerate(self.sessions)}
        found: dict[int, tuple[str, ...]] = {}
        for need in self.problem.needs:
            at = number[need.session]
            found[at] = (*found.get(at, ()), need.use)
        return found

    @cached_property
    def spread(self) -> bool:
        """Whether anything asks for a distance to be driven."""
        problem = self.problem
        afters = any(a.between > 0 for name in self.jobs for a in problem.jobs[name].after)
        return afters or any(problem.effects[name].between > 0 for name in self.effects)

    def stopping_components(self, use: str) -> tuple[str, ...]:
        """Components that stop a use while they are off."""
        stopping, components = self.problem.stopping(use), self.problem.components
        return tuple(n for n in self.components if stopping & set(components[n].stops))

    def stopping_effects(self, use: str) -> tuple[str, ...]:
        """Effects that stop a use until work clears them."""
        stopping, effects = self.problem.stopping(use), self.problem.effects
        return tuple(n for n in self.effects if stopping & set(effects[n].stops))

    def stopping_clauses(self, use: str) -> tuple[Clause, ...]:
        """Clauses that may stop a use."""
        stopping = self.problem.stopping(use)
        return tuple(clause for clause in self.problem.clauses if clause.use in stopping)

    def ways(self, key: str, session: int) -> tuple[Ways, ...] | None:
        """What a task asks for in a session besides tools, or None when it cannot be met there."""
        tools = self.sessions[session].tools
        found = self._ways.get((key, tools), ())
        if (key, tools) not in self._ways:
            found = self._ways[key, tools] = self._reduced(self.tasks[key], tools)
        return found

    def _reduced(self, task: Task, tools: frozenset[str]) -> tuple[Ways, ...] | None:
        kept: list[Ways] = []
        for requirement in task.work.needs:
            ways = tuple(w for way in requirement if (w := self._way(way, tools)) is not None)
            if not ways:
                return None
            if not any(way.free for way in ways):
                kept.append(ways)
        return tuple(kept)

    def _way(self, conditions: Iterable[Condition], tools: frozenset[str]) -> Way | None:
        off: list[str] = []
        on: list[str] = []
        clear: list[str] = []
        clauses: list[Clause] = []
        for condition in conditions:
            name = condition.name
            if condition.kind == "tool":
                if name not in tools:
                    return None
            elif condition.kind == "off":
                if name not in self.problem.components:
                    return None
                off.append(name)
            elif condition.kind == "on":
                on.append(name)
            elif condition.kind == "clear":
                clear.append(name)
            else:
                on += self.stopping_components(name)
                clear += self.stopping_effects(name)
                clauses += self.stopping_clauses(name)
        known, pending = set(self.components), set(self.effects)
        return Way(
            tuple(dict.fromkeys(off)),
            tuple(n for n in dict.fromkeys(on) if n in known),
            tuple(n for n in dict.fromkeys(clear) if n in pending),
            tuple(clauses),
        )

    def allowed(self, key: str, session: int) -> bool:
        """Whether a task may be in a session at all, by itself."""
        task, place = self.tasks[key], self.sessions[session]
        begin = place.start
        if task.job is not None:
            if task.job.sessions and place.id not in task.job.sessions:
                return False
            begin = max(begin, task.job.earliest)
        if begin + task.length > place.end or self.ways(key, session) is None:
            return False
        return _staffed(task, place, begin)


def _staffed(task: Task, session: Session, begin: int) -> bool:
    """Whether enough of the right people are there together for long enough."""
    people = task.work.people
    if people == 0:
        return True
    there = [p for p in session.people if min(p.end, session.end) - max(p.start, begin) > 0]
    if task.job is not None and task.job.who:
        may = [p for p in there if p.name in task.job.who]
        if not may:
            return False
        if len(task.job.who) >= people:
            there = may
    starts = sorted({max(p.start, begin) for p in there})
    return any(
        len({p.name for p in there if p.start <= start and p.end >= start + task.length}) >= people
        for start in starts
    ) or any(p.name == q.name for i, p in enumerate(there) for q in there[:i])


def shape_of(problem: Problem) -> Shape:
    """What can matter of a problem."""
    components, effects = _in_play(problem)
    jobs = tuple(name for name in problem.jobs if name not in problem.done)
    tasks: dict[str, Task] = {}
    for name in jobs:
        job = problem.jobs[name]
        _add(tasks, problem, "job", name, job.work, job)
    for name in components:
        _add(tasks, problem, "take", name, problem.components[name].take)
        _add(tasks, problem, "refit", name, problem.components[name].refit)
    for name in effects:
        clearing = problem.effects[name].clearing
        assert clearing is not None
        _add(tasks, problem, "clear", name, clearing.work, clearing)
    return Shape(problem, tasks, jobs, components, effects)


def _add(
    tasks: dict[str, Task],
    problem: Problem,
    kind: StepKind,
    what: str,
    work: Work,
    job: Job | None = None,
) -> None:
    length = planned(work.hours, problem.percentile)
    key = f"{kind}:{what}"
    tasks[key] = Task(key, kind, what, work, length, length * work.people, job)


def _in_play(problem: Problem) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Components that somebody may have to take off or refit, effects that work may clear."""
    components: dict[str, None] = {}
    effects: dict[str, None] = {}
    waiting = [job.work for name, job in problem.jobs.items() if name not in problem.done]

    def open_component(name: str) -> None:
        if name in problem.components and name not in components:
            components[name] = None
            waiting.extend((problem.components[name].take, problem.components[name].refit))

    def cause(name: str) -> None:
        effect = problem.effects.get(name)
        if effect is not None and effect.clearing is not None and name not in effects:
            effects[name] = None
            waiting.append(effect.clearing.work)

    for name in sorted(problem.off):
        open_component(name)
    for name in sorted(problem.pending):
        cause(name)
    while waiting:
        work = waiting.pop(0)
        for condition in _conditions(work):
            if condition.kind == "off":
                open_component(condition.name)
        for name in work.causes:
            cause(name)
    order = {name: k for k, name in enumerate(problem.components)}
    effect_order = {name: k for k, name in enumerate(problem.effects)}
    return (
        tuple(sorted(components, key=order.__getitem__)),
        tuple(sorted(effects, key=effect_order.__getitem__)),
    )


def _conditions(work: Work) -> Iterator[Condition]:
    for requirement in work.needs:
        for way in requirement:
            yield from way
