"""The schedule of one session by constraint programming: finds one wherever there is one.

People who are there at the same times, and whom the same tasks may ask for, are one group: tasks
hold a number of each group, and names are given afterwards. Within a group any two people do for
each other, so names can always be given (an interval graph is coloured with as many colours as
overlap at once; M. C. Golumbic, Algorithmic Graph Theory and Perfect Graphs, 1980, *from memory*).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations
from typing import Any, Literal

from drybuild.work.held import NEVER_AT_ONCE
from drybuild.work.model import Session
from drybuild.work.schedule.conditions import HERE, Options
from drybuild.work.schedule.laid import Laid, Task
from drybuild.work.schedule.listed import Placed, Ways, free_quarters
from drybuild.work.stopping import solved


@dataclass(frozen=True)
class Group:
    """People who do for each other. free: quarters in which they are there, as bits."""

    names: tuple[str, ...]
    free: int


def groups_of(laid: Laid, session: Session) -> tuple[Group, ...]:
    """The people of a session in groups."""
    found: dict[tuple[object, ...], list[str]] = {}
    asked = dict.fromkeys(task.who for task in laid.tasks if task.who)
    for name, bits in free_quarters(session).items():
        found.setdefault((bits, tuple(name in who for who in asked)), []).append(name)
    free = free_quarters(session)
    return tuple(Group(tuple(names), free[names[0]]) for names in found.values())


class _Model:
    """The model being built."""

    def __init__(self, laid: Laid, session: Session) -> None:
        from drybuild.work.cp import cp_model

        self.laid, self.session = laid, session
        self.model: Any = cp_model.CpModel()
        tasks = laid.tasks
        self.starts = [
            self.model.new_int_var(t.release, t.deadline - t.length, f"s{n}")
            for n, t in enumerate(tasks)
        ]
        self.spans = [
            self.model.new_fixed_size_interval_var(self.starts[n], t.length, f"i{n}")
            for n, t in enumerate(tasks)
        ]
        self.groups = groups_of(laid, session)
        self.most = sum(len(group.names) for group in self.groups)
        self.shares: dict[tuple[int, int], Any] = {}
        self.ways: list[list[Any]] = []

    def link(self, a: int, b: int, w: int, *literals: Any) -> None:
        """Task b starts at least w after a, where the literals hold."""
        first = 0 if a == HERE else self.starts[a]
        then = 0 if b == HERE else self.starts[b]
        if a == HERE and b == HERE:
            if w > 0:
                self.model.add_bool_or([literal.negated() for literal in literals])
            return
        asked = self.model.add(then >= first + w)
        if literals:
            asked.only_enforce_if(*literals)

    def any_of(self, options: Options, *literals: Any) -> None:
        """One of the options holds, where the literals do."""
        if len(options) == 1:
            for a, b, w in options[0]:
                self.link(a, b, w, *literals)
            return
        taken = []
        for option in options:
            taken.append(self.model.new_bool_var(""))
            for a, b, w in option:
                self.link(a, b, w, taken[-1])
        self.model.add_bool_or([*taken, *(literal.negated() for literal in literals)])

    def conditions(self) -> None:
        for a, b, w in self.laid.links:
            self.link(a, b, w)
        for options in self.laid.choices:
            self.any_of(options)
        for pick in self.laid.picks:
            ways = [self.model.new_bool_var("") for _ in pick.ways]
            self.model.add_bool_or(ways)
            for way, literal in zip(pick.ways, ways, strict=True):
                for options in way.asked:
                    self.any_of(options, literal)
            self.ways.append(ways)

    def tools(self) -> None:
        """No more of a tool held at once than there are."""
        for tool, count in self.laid.tools.items():
            mine = [n for n, task in enumerate(self.laid.tasks) if tool in task.tools]
            if count == 1:
                for n, m in combinations(mine, 2):
                    self.apart(n, m)
            else:
                spans = [self.spans[n] for n in mine]
                self.model.add_cumulative(spans, [1] * len(spans), count)

    def alone(self) -> None:
        """One after the other: a drive and whoever is at the car, a running engine and hands."""
        for n, m in combinations(range(len(self.laid.tasks)), 2):
            one, other = self.laid.tasks[n], self.laid.tasks[m]
            if other.sort in NEVER_AT_ONCE[one.sort]:
                self.apart(n, m)

    def apart(self, n: int, m: int) -> None:
        """One task after the other: where pairs are few, this is proved sooner than sums of use."""
        one, other = self.laid.tasks[n], self.laid.tasks[m]
        if one.length and other.length and one.people + other.people <= self.most:
            self.any_of((((n, m, one.length),), ((m, n, other.length),)))

    def people(self) -> None:
        held = [n for n, task in enumerate(self.laid.tasks) if task.people]
        window = self.session.end - self.session.start
        if len(self.groups) == 1 and self.groups[0].free == (1 << window) - 1:
            need = [self.laid.tasks[n].people for n in held]
            count = len(self.groups[0].names)
            self.model.add_cumulative([self.spans[n] for n in held], need, count)
            for n in held:
                self.shares[n, 0] = self.laid.tasks[n].people
            return
        for n in held:
            self._share(n, self.laid.tasks[n])
        for g, group in enumerate(self.groups):
            mine = [n for n in held if (n, g) in self.shares]
            self._enough(mine, [self.shares[n, g] for n in mine], [group])
        # all groups as one: it follows from each by itself, and shows far sooner what is full
        self._enough(held, [self.laid.tasks[n].people for n in held], self.groups)

    def _enough(self, held: list[int], needs: list[Any], groups: Sequence[Group]) -> None:
        """At no time do these tasks hold more people than these groups have there."""
        spans, needs = [self.spans[n] for n in held], list(needs)
        for group in groups:
            for start, end in away(group.free, self.session):
                spans.append(self.model.new_fixed_size_interval_var(start, end - start, ""))
                needs.append(len(group.names))
        self.model.add_cumulative(spans, needs, sum(len(group.names) for group in groups))

    def _share(self, n: int, task: Task) -> None:
        """How many persons of each group a task holds."""
        parts, may = [], []
        for g, group in enumerate(self.groups):
            asked = bool(task.who) and group.names[0] in task.who
            if task.who and task.all_of_them and not asked:
                continue
            most = min(task.people, len(group.names))
            share = self.model.new_int_var(0, most, "")
            self.shares[n, g] = share
            parts.append(share)
            if asked:
                may.append(share)
            if not task.length:
                self._there(n, share, group, most)
        self.model.add(sum(parts) == task.people)
        if task.who and not task.all_of_them:
            self.model.add(sum(may) >= 1)

    def _there(self, n: int, share: Any, group: Group, most: int) -> None:
        """A task without length still finds its people there."""
        inside = self.model.new_bool_var("")
        self.model.add(share <= most * inside)
        from drybuild.work.cp import cp_model

        base, window = self.session.start, self.session.end - self.session.start
        at = [base + k for k in range(window) if group.free >> k & 1]
        domain = cp_model.Domain.from_values(at)
        self.model.add_linear_expression_in_domain(self.starts[n], domain).only_enforce_if(inside)


def away(free: int, session: Session) -> list[tuple[int, int]]:
    """The stretches of a session in which somebody is not there."""
    found: list[tuple[int, int]] = []
    for k in range(session.end - session.start):
        if not free >> k & 1:
            at = session.start + k
            if found and found[-1][1] == at:
                found[-1] = (found[-1][0], at + 1)
            else:
                found.append((at, at + 1))
    return found


def exact_schedule(
    laid: Laid, session: Session, *, seconds: float, seed: int = 0, steady: bool = False
) -> Placed | Literal["none", "unsettled"]:
    """A schedule, or that there is none, or that ``seconds`` of deterministic time ran out.

    steady: no clock is looked at besides.
    """
    from drybuild.work.cp import cp_model

    if laid.broken or any(t.release + t.length > t.deadline for t in laid.tasks):
        return "none"
    if any(t.people for t in laid.tasks) and not free_quarters(session):
        return "none"
    build = _Model(laid, session)
    build.conditions()
    build.tools()
    build.alone()
    build.people()
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    solver.parameters.random_seed = seed
    # the models are small: a presolve, and what is linear in them, cost more than they spare
    solver.parameters.cp_model_presolve = False
    solver.parameters.linearization_level = 0
    solver.parameters.max_deterministic_time = seconds
    if not steady:
        solver.parameters.max_time_in_seconds = 3 * seconds
    status = solved(solver, build.model)
    if status == cp_model.INFEASIBLE:
        return "none"
    if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        return "unsettled"
    return _placed(build, solver)


def _placed(build: _Model, solver: Any) -> Placed:
    laid = build.laid
    starts = tuple(solver.value(start) for start in build.starts)
    ways: Ways = dict(laid.fixed)
    for pick, literals in zip(laid.picks, build.ways, strict=True):
        chosen = next(k for k, literal in enumerate(literals) if solver.boolean_value(literal))
        ways[pick.task, pick.number] = pick.ways[chosen].conditions
    who: list[list[str]] = [[] for _ in laid.tasks]
    for g, group in enumerate(build.groups):
        until = dict.fromkeys(group.names, 0)
        for n in sorted(range(len(starts)), key=lambda n: (starts[n], laid.tasks[n].length)):
            share = build.shares.get((n, g), 0)
            count = share if isinstance(share, int) else solver.value(share)
            free = [name for name in group.names if until[name] <= starts[n]]
            for name in free[:count]:
                who[n].append(name)
                until[name] = starts[n] + laid.tasks[n].length
    for n, task in enumerate(laid.tasks):
        who[n].sort(key=lambda name: name not in task.who)
    return Placed(starts, tuple(map(tuple, who)), ways)
