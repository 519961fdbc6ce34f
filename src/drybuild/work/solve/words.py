"""What is given up or given, in words that say what the owner would do."""

from __future__ import annotations

from collections.abc import Iterable
from math import ceil
from typing import Any

from drybuild.work.model import Clause, Problem, Relaxation, RelaxationKind, Session
from drybuild.work.solve.laid import Laid
from drybuild.work.solve.loose import Loose
from drybuild.work.solve.strict import clause_name
from drybuild.work.solve.tasks import Task

Kind = RelaxationKind
THEN = "; "
"""Between the reasons of one way out."""

ORDER: tuple[Kind, ...] = (
    "need", "time", "session", "arrival", "booking", "tool", "budget", "job", "fix",
)  # fmt: skip


def words_of(problem: Problem, loose: Loose, laid: Laid, solver: Any) -> list[Relaxation]:
    """One relaxation for each kind that the solver gave up, all that belongs to it in one."""
    told = _Told(problem, loose, laid, solver)
    found: list[Relaxation] = []
    parts = []
    for kind in ORDER:
        given = [w for (k, w), truth in loose.given.items() if k == kind and solver.value(truth)]
        if given:
            words = _once(list(dict.fromkeys(told.say(kind, what) for what in given)))
            if kind == "fix" and all(_waits(problem, what) for what in given):
                kind = "measure"
            parts.append((kind, "+".join(given), words))
    for kind, what, words in parts:
        others = [text for other, _, text in parts if other != kind]
        whole = words if not others else f"{words}, together with {_list(others)}"
        found.append(Relaxation(kind, what, whole, why=THEN.join(dict.fromkeys(told.then))))
        if others:
            break
    return found


def _waits(problem: Problem, what: str) -> bool:
    """Whether all that a name among the constraints stands for is only not known yet."""
    same = [c for c in problem.clauses if clause_name(c) == what]
    return bool(same) and all(c.waits_for for c in same)


class _Told:
    """A solution of the loosened problem, to be told about."""

    def __init__(self, problem: Problem, loose: Loose, laid: Laid, solver: Any) -> None:
        self.problem, self.planned = loose.original, problem.sessions
        self.loose, self.laid, self.solver = loose, laid, solver
        self.done = laid.read(solver)
        self.then: list[str] = []

    def say(self, kind: Kind, what: str) -> str:
        name, _, session = what.rpartition("@")
        if kind == "need":
            return self._need(name, self.problem.session(session))
        if kind == "time":
            return self._time(self.problem.session(what))
        if kind == "session":
            return self._session(what)
        if kind == "budget":
            return self._budget(what)
        if kind == "fix":
            return self._fix(what)
        if kind == "job":
            return f"leave out {self._job(what)}"
        if kind == "tool":
            return self._tool(name, self.problem.session(session))
        job = self.laid.tasks.all[name].job
        assert job is not None
        title, when = job.title, self.problem.session(session).title
        if kind == "arrival":
            day = self.problem.at(job.earliest)
            return f"have the parts for {title} by {when} (they come on {day.day} {day:%B})"
        booked = _list([self.problem.session(s).title for s in job.sessions])
        return f"book {title} for {when} (it is booked for {booked})"

    def _title(self, task: Task) -> str:
        if task.job is not None:
            return task.job.title
        component = self.problem.components[task.what]
        return f"{'take off' if task.kind == 'take' else 'refit'} {component.title}"

    def _need(self, use: str, session: Session) -> str:
        """Which use is not had, and what stops it then."""
        k = self.laid.states.number(session.id)
        stopping, states = self.problem.stopping(use), self.laid.states
        value = self.solver.value
        off = [
            f"left open: {component.title}"
            for name, component in self.problem.components.items()
            if set(component.stops) & stopping and value(states.off_after(name, k))
        ]
        hang = [
            effect.title
            for name, effect in self.problem.effects.items()
            if set(effect.stops) & stopping and value(states.pending_after(name, k))
        ]
        armed = [clause for clause in self._armed(k) if clause.use in stopping]
        cause = {(c.check, c.anywhere): c.why for c in reversed(armed) if not c.waits_for}
        reasons = (off + hang + [*reversed(cause.values())])[:3]
        unknown = len({c.check for c in armed if c.waits_for})
        checks = "check" if unknown == 1 else "checks"
        reasons += [f"{unknown} {checks} that nobody can answer yet"] if unknown else []
        if reasons:
            self.then.append(f"after {session.title} {use} is stopped: {', '.join(reasons)}")
        return f"do without {use} after {session.title}"

    def _armed(self, k: int) -> Iterable[Clause]:
        done = set(self.problem.done)
        done |= {key[4:] for (key, i) in self.done.starts if key.startswith("job:") and i <= k}
        for clause in self.problem.clauses:
            if clause.done <= done and not clause.not_done & done:
                yield clause

    def _time(self, session: Session) -> str:
        """How much longer, until when, and for what."""
        over = [
            (start + self.laid.tasks.all[key].length, self.laid.tasks.all[key])
            for (key, k), start in self.done.starts.items()
            if self.problem.sessions[k].id == session.id
        ]
        late = [(end, task) for end, task in over if end > session.end]
        last = session.end + self.solver.value(self.loose.given["time", session.id])
        last = max((end for end, _ in late), default=last)
        hours = ceil((last - session.end) / 2) / 2
        until = self.problem.at(session.end + int(4 * hours))
        jobs = [task for _, task in late if task.job is not None] or [task for _, task in late]
        what = f", for {self._title(jobs[0])}" if jobs else ""
        self.then += self._why_after(session)
        stays = _list([p.name for p in session.people if p.end >= session.end])
        return f"{_hours(hours)} more on {session.title} (until {until:%H:%M}, {stays}){what}"

    def _why_after(self, session: Session) -> Iterable[str]:
        """Why hours help that come behind a day of need: what is done in them and not before it."""
        moments = [m for need in self.problem.needs for m in (need.until, *need.also)]
        past = [m for m in moments if m <= session.start]
        inside = [self.laid.tasks.all[key] for key, k in self.done.starts
                  if self.problem.sessions[k].id == session.id]  # fmt: skip
        jobs = [self._title(task) for task in inside if task.job is not None]
        if past and jobs:
            day = self.problem.at(max(past))
            yield (
                f"done on {session.title} then: {_some(jobs)}, so that nothing of it is open on "
                f"{day:%A} {day.day} {day:%B}"
            )

    def _session(self, name: str) -> str:
        """Which session more, when, and for what."""
        session = self.problem.session(name)
        inside = [
            self.laid.tasks.all[key]
            for (key, k) in self.done.starts
            if self.problem.sessions[k].id == name
        ]
        jobs = [task for task in inside if task.job is not None] or inside
        day = self.problem.at(session.start)
        what = f", for {_some([self._title(task) for task in jobs])}" if jobs else ""
        last = self.planned[-1].title
        who = _list([person.name for person in session.people])
        return f"a work session after {last}, such as {day:%A} {day.day} {day:%B} ({who}){what}"

    def _tool(self, name: str, session: Session) -> str:
        users = [
            self.laid.tasks.all[key]
            for (key, k), ways in self.done.ways.items()
            if self.problem.sessions[k].id == session.id
            and self._uses(self.laid.tasks.all[key], ways, name)
        ]
        users.sort(key=lambda task: task.kind not in ("job", "clear"))
        what = f" for {self._title(users[0])}" if users else ""
        return f"have {name}{what} on {session.title}"

    def _uses(self, task: Task, ways: tuple[Any, ...], name: str) -> bool:
        sole = [requirement[0] for requirement in task.work.needs if len(requirement) == 1]
        return any(c.kind == "tool" and c.name == name for way in (*sole, *ways) for c in way)

    def _budget(self, title: str) -> str:
        budget = next(b for b in self.problem.budgets if b.title == title)
        last = max(self.laid.states.number(name) for name in budget.sessions)
        jobs = [(self.laid.tasks.all[key].job, k) for key, k in self.done.starts]
        spent = sum(job.price for job, k in jobs if job is not None and k <= last)
        return f"{title}: {spent:.0f} instead of {budget.most:.0f}"

    def _fix(self, what: str) -> str:
        same = [c for c in self.problem.clauses if clause_name(c) == what]
        clause, others = same[0], len({c.check for c in same}) - 1
        first = _list([self._job(name) for name in sorted(clause.done)])
        cures = _list([self._job(name) for name in sorted(clause.not_done)], "or")
        if first and cures:
            otherwise = "measure first" if clause.waits_for else "cure it otherwise"
            return f"move {cures} to the session of {first}, or {otherwise}: {clause.why}"
        more = f", and {others} more that stop {clause.use} with it" if others else ""
        return f"{'measure first' if clause.waits_for else 'cure this'}: {clause.why}{more}"

    def _job(self, name: str) -> str:
        job = self.problem.jobs.get(name)
        return job.title if job is not None else name


def _once(words: list[str]) -> str:
    """A list of what all begins alike, with that said once."""
    for head in ("leave out ", words[0][: words[0].find(" after ") + len(" after ")]):
        if head.startswith(("leave out ", "do without ")) and all(
            word.startswith(head) for word in words
        ):
            return head + _list([word.removeprefix(head) for word in words])
    return _list(words)


def _hours(hours: float) -> str:
    return {0.5: "half an hour", 1: "1 hour"}.get(hours, f"{hours:g} hours")


def _some(words: list[str], most: int = 2) -> str:
    """The first of them, and how many more."""
    if len(words) <= most + 1:
        return _list(words)
    return f"{', '.join(words[:most])} and {len(words) - most} more"


def _list(words: list[str], last: str = "and") -> str:
    if len(words) < 2:
        return "".join(words)
    if any(" and " in word or ", " in word for word in words):  # lists themselves
        return f"{'; '.join(words[:-1])}; {last} {words[-1]}"
    return f"{', '.join(words[:-1])} {last} {words[-1]}"
