"""Constraints that may be given up, at a price, to learn which of them stands in the way."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any

from drybuild.work.durations import planned
from drybuild.work.model import Problem, Session
from drybuild.work.solve.strict import Strict, need_name
from drybuild.work.solve.tasks import Task
from drybuild.work.todo import NO_TOOL

if TYPE_CHECKING:
    from drybuild.work.solve.marks import Marks, Spot
    from drybuild.work.solve.states import States

MORE = 16
"""Quarters by which a session may be longer, at most."""

KINDS = ("need", "time", "session", "arrival", "booking", "tool", "budget", "job", "fix")

EXTRA = 2
"""Work sessions more, at most, each a week after the last one."""

WEEK = 7 * 24 * 4


def with_extra(problem: Problem, count: int = EXTRA) -> Problem:
    """The problem with so many sessions more after the last one: like that with most work in it."""
    if not problem.sessions:
        return problem
    like, last = max(problem.sessions, key=_presence), problem.sessions[-1]
    weeks = -(-(last.end - like.start) // WEEK)  # on the same day of the week, after the last
    extra = [_later(like, (weeks + n) * WEEK, n + 1) for n in range(count)]
    return replace(problem, sessions=(*problem.sessions, *extra))


def _presence(session: Session) -> int:
    return sum(person.end - person.start for person in session.people)


def _later(session: Session, by: int, number: int) -> Session:
    people = tuple(replace(p, start=p.start + by, end=p.end + by) for p in session.people)
    return replace(
        session, id=f"another-{number}", start=session.start + by, end=session.end + by,
        people=people,
    )  # fmt: skip


LATEST = 22 * 4
"""Quarter of a day after which nobody is asked to go on."""

DAY = 24 * 4


def longer(problem: Problem) -> Problem:
    """The problem with every session longer, up to the next one and never into the night; who
    stays to its end stays on."""
    sessions = []
    for k, session in enumerate(problem.sessions):
        night = session.start - session.start % DAY + LATEST
        end = max(session.end, min(session.end + MORE, night))
        if k + 1 < len(problem.sessions):
            end = max(session.end, min(end, problem.sessions[k + 1].start))
        people = tuple(replace(p, end=end) if p.end >= session.end else p for p in session.people)
        sessions.append(replace(session, end=end, people=people))
    return replace(problem, sessions=tuple(sessions))


class Loose(Strict):
    """Every constraint of the problem holds, but for those of one kind or several, at a price."""

    def __init__(self, problem: Problem, kinds: frozenset[str], extra: int = EXTRA) -> None:
        self.original = with_extra(problem, extra) if "session" in kinds else problem
        super().__init__(longer(self.original) if "time" in kinds else self.original)
        self.extra = frozenset(range(len(problem.sessions), len(self.original.sessions)))
        self.kinds = kinds
        self.given: dict[tuple[str, str], Any] = {}
        self.model: Any = None

    def bind(self, model: Any) -> None:
        """Takes the model whose truth values it gives out."""
        self.model, self.given = model, {}
        if "time" in self.kinds:
            for new, old in zip(self.problem.sessions, self.original.sessions, strict=True):
                most = new.end - old.end
                self.given["time", old.id] = model.new_int_var(0, most, f"time:{old.id}")

    def truth(self, kind: str, what: str) -> Any:
        if kind not in self.kinds:
            return 0
        return self._given(kind, what)

    def _given(self, kind: str, what: str) -> Any:
        if (kind, what) not in self.given:
            self.given[kind, what] = self.model.new_bool_var(f"given {kind}:{what}")
        return self.given[kind, what]

    def earliest(self, task: Task) -> int:
        return 0 if "arrival" in self.kinds else super().earliest(task)

    def fits(self, task: Task, k: int) -> bool:
        return self._eased(task).fits(self._tooled(k))

    def _eased(self, task: Task) -> Task:
        if task.job is None:
            return task
        job = task.job
        if "arrival" in self.kinds:
            job = replace(job, earliest=0)
        if "booking" in self.kinds:
            job = replace(job, sessions=())
        return replace(task, job=job)

    def _tooled(self, k: int) -> Session:
        session = self.problem.sessions[k]
        if "tool" not in self.kinds:
            return session
        return replace(session, tools=session.tools | self._all_tools())

    def _all_tools(self) -> frozenset[str]:
        works = [w for c in self.problem.components.values() for w in (c.take, c.refit)]
        works += [job.work for job in self.problem.jobs.values()]
        works += [e.clearing.work for e in self.problem.effects.values() if e.clearing is not None]
        named = frozenset(
            condition.name
            for work in works
            for requirement in work.needs
            for way in requirement
            for condition in way
            if condition.kind == "tool"
        )
        return named - NO_TOOL

    def has(self, missing: tuple[str, ...], k: int) -> bool:
        return not missing or "tool" in self.kinds

    def placed(self, states: Marks, task: Task, k: int) -> None:
        does, session = states.does[task.key, k], self.problem.sessions[k]
        if k in self.extra:
            states.add(does <= self._given("session", session.id))
        if task.job is None:
            return
        if "booking" in self.kinds and task.job.sessions and session.id not in task.job.sessions:
            states.add(does <= self._given("booking", f"{task.key}@{session.id}"))
        early = task.job.earliest > session.start
        if "arrival" in self.kinds and early:
            late = task.job.earliest + task.length > session.end
            given = self._given("arrival", f"{task.key}@{session.id}")
            if late:
                states.add(does <= given)

    def timed(self, states: States, spot: Spot, start: Any) -> None:
        task, k = states.tasks.all[spot[0]], spot[1]
        session, does = self.original.sessions[k], states.does[spot]
        if "time" in self.kinds:
            more = self.given["time", session.id]
            states.model.add(start + task.length <= session.end + more).only_enforce_if(does)
        if task.job is not None and ("arrival", f"{task.key}@{session.id}") in self.given:
            given = self.given["arrival", f"{task.key}@{session.id}"]
            held = states.model.add(start >= task.job.earliest)
            held.only_enforce_if([does, given.negated()])

    def more(self, k: int) -> Any:
        """Person-quarters by which the session may hold more than it does as it stands."""
        if "time" not in self.kinds:
            return 0
        old, new = self.original.sessions[k], self.problem.sessions[k]
        staying = sum(p.end > old.end for p in new.people)
        return staying * self.given["time", old.id] - staying * (new.end - old.end)

    def price(self) -> Any:
        """What is given up: first as few as can be, then the owner's least wanted, then hours."""
        ranks = sorted({need.rank for need in self.original.needs})
        order = {need_name(need): ranks.index(need.rank) for need in self.original.needs}
        order |= {session.id: k for k, session in enumerate(self.original.sessions)}
        total: Any = 0
        for (kind, what), given in self.given.items():
            if kind == "time":
                used = self.model.new_bool_var(f"longer {what}")
                self.model.add(given <= MORE * used)
                total += 1000 * used + given
            elif kind == "job":  # the least work first
                total += (1000 + planned(self.problem.jobs[what].work.hours, 0.5)) * given
            else:
                total += (1000 + (order[what] if kind in ("need", "session") else 0)) * given
        return total
