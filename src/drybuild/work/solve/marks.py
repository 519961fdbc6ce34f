"""What is done in which session, and how the car stands after it: the model's yes and no.

One truth value says that a task is in a session, one that a component is off after it, one that an
effect is pending after it. What must come before what inside a session is only noted here, as
``Order``; ``timing`` lays it out.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from drybuild.work.durations import quarters
from drybuild.work.model import Clause, Condition, Problem
from drybuild.work.solve.strict import Strict, clause_name, need_name
from drybuild.work.solve.tasks import Task, Tasks, sole_off

if TYPE_CHECKING:
    from drybuild.work.cp import cp_model

Truth = Any
"""A truth value of the model, or 0 or 1 where it is known beforehand."""

Way = tuple[Condition, ...]

Spot = tuple[str, int]
"""The key of a task and the number of a session, from 0."""


@dataclass(frozen=True, slots=True)
class Order:
    """When all of ``when`` hold, ``then`` begins at least ``gap`` quarters after ``first`` ends.

    Between two jobs the number of the session is −1: it holds in whatever sessions they are.
    """

    when: tuple[Truth, ...]
    first: Spot
    then: Spot
    gap: int = 0


@dataclass(frozen=True, slots=True)
class Limit:
    """When all of ``when`` hold, the task begins from ``since`` on and ends by ``until``."""

    when: tuple[Truth, ...]
    spot: Spot
    since: int | None = None
    until: int | None = None


class Marks:
    """The truth values of a problem, and what holds between the car's states and uses."""

    def __init__(
        self, model: cp_model.CpModel, tasks: Tasks, loose: Strict, *, timed: bool = True
    ) -> None:
        self.model, self.tasks, self.loose, self.timed = model, tasks, loose, timed
        self.problem: Problem = tasks.problem
        self.sessions = self.problem.sessions
        self.last = len(self.sessions) - 1
        self.orders: list[Order] = []
        self.limits: list[Limit] = []
        self.does: dict[Spot, Truth] = {}
        self.off: dict[Spot, Truth] = {}
        self.pending: dict[Spot, Truth] = {}
        self.ways: dict[tuple[str, int], list[list[tuple[Truth, Way]]]] = {}
        self.lates: list[tuple[Truth, str, str, int]] = []
        self._modes: dict[tuple[str, str, int], Truth] = {}
        self._drivable: dict[int, Truth] = {}
        self._counted: set[int] = set()
        self._driven: dict[Spot, Truth] = {}
        self._shut = self._must_be_shut()
        # several checks may say the same of the same jobs
        said = {(c.use, c.done, c.not_done): c for c in self.problem.clauses}
        self.clauses = tuple(said.values())

    # ---- small words ----

    def number(self, session: str) -> int:
        """Of a session, from 0."""
        return next(k for k, one in enumerate(self.sessions) if one.id == session)

    def truth(self, name: str) -> Truth:
        """A new truth value."""
        return self.model.new_bool_var(name)

    def at(self, key: str, k: int) -> Truth:
        """Whether a task is in a session."""
        return self.does.get((key, k), 0)

    def where(self, task: Task) -> Iterable[int]:
        """Sessions that a task may be in."""
        return (k for k in range(self.last + 1) if (task.key, k) in self.does)

    def by(self, key: str, k: int) -> Truth:
        """Whether a task was in a session up to this one."""
        return sum(self.at(key, i) for i in range(k + 1))

    def off_after(self, name: str, k: int) -> Truth:
        """Whether a component is off after a session; −1: at the outset."""
        if k < 0:
            return int(name in self.problem.off)
        return self.off.get((name, k), 0)

    def pending_after(self, name: str, k: int) -> Truth:
        """Whether an effect that work clears is pending after a session; −1: at the outset."""
        if k < 0:
            return int(name in self.problem.pending)
        return self.pending.get((name, k), 0)

    def add(self, bounded: Any, *when: Truth) -> None:
        """A constraint that holds when all of these do."""
        if any(isinstance(w, int) and w == 0 for w in when):
            return
        constraint = self.model.add(bounded)
        literals = [w for w in when if not isinstance(w, int)]
        if literals:
            constraint.only_enforce_if(literals)

    def order(
        self, first: Spot, then: Spot, gap: int = 0, *, when: Sequence[Truth] | None = None
    ) -> None:
        """Notes an order of two tasks. when: what says that both are done, or else both do.

        The fewer truth values an order waits for, the more the solver makes of it.
        """
        if first == then or first not in self.does or then not in self.does:
            return
        both = (self.does[first], self.does[then]) if when is None else tuple(when)
        if not any(isinstance(w, int) and w == 0 for w in both):
            literals = {w.index: w for w in both if not isinstance(w, int)}
            self.orders.append(Order(tuple(literals.values()), first, then, gap))

    def both(self, spot: Spot, when: Truth, implied: bool) -> tuple[Truth, ...]:
        """What says that a task is done and something else holds, where it may follow from it."""
        return (when,) if implied else (when, self.at(*spot))

    def spans(self, i: int, k: int, gap: int) -> bool:
        """Whether a wait that begins in session i can reach into the later session k."""
        return self.sessions[i].end + gap > self.sessions[k].start

    def since(self, first: str, then: Spot, gap: int, when: Truth) -> None:
        """Notes that ``then`` waits for every earlier doing of ``first``, in whatever session."""
        key, k = then
        for i in range(k):
            if gap > 0 and self.spans(i, k, gap):
                self.order((first, i), (key, k), gap, when=(when, self.at(first, i)))

    # ---- tasks, components, effects ----

    def _must_be_shut(self) -> set[Spot]:
        """Components and effects that stop a needed use, with the session after which it is."""
        found = set()
        for need in self.problem.needs:
            if isinstance(self.loose.truth("need", need_name(need)), int):
                k, stopping = self.number(need.session), self.problem.stopping(need.use)
                for things in (self.problem.components, self.problem.effects):
                    found |= {(n, k) for n, one in things.items() if set(one.stops) & stopping}
        return found

    def _place(self) -> None:
        for key, task in self.tasks.all.items():
            for k in range(self.last + 1):
                if self.loose.fits(task, k):
                    self.does[key, k] = self.truth(f"{key}@{k}")
                    self.loose.placed(self, task, k)
            if task.kind == "job":
                done = [self.at(key, k) for k in self.where(task)]
                self.model.add_exactly_one([*done, *self._left_out(task)])

    def _left_out(self, task: Task) -> list[Truth]:
        left = self.loose.truth("job", task.what)
        return [] if isinstance(left, int) else [left]

    def _component(self, name: str) -> None:
        take, refit = f"take:{name}", f"refit:{name}"
        for k in range(self.last + 1):
            before = self.off_after(name, k - 1)
            if k < self.last and (name, k) not in self._shut:
                self.off[name, k] = self.truth(f"off:{name}@{k}")
            after = self.off_after(name, k)
            if is_known(before, 0) and is_known(after, 0):
                self._same(take, refit, k)
            t, r = self.at(take, k), self.at(refit, k)
            self.add(after == before + t - r)
            self.add(before + t <= 1)
            self.order((take, k), (refit, k))

    def _same(self, take: str, refit: str, k: int) -> None:
        """One truth value for two tasks that are both in a session or neither."""
        if (take, k) in self.does and (refit, k) in self.does:
            self.does[refit, k] = self.does[take, k]
            return
        for key in (take, refit):
            if (key, k) in self.does:
                self.add(self.does.pop((key, k)) == 0)

    def _effect(self, name: str) -> None:
        effect = self.problem.effects[name]
        causes, clears = self.tasks.causing(name), self.tasks.clearing(name)
        dedicated, alone = f"clear:{name}", len(clears) == 1
        for k in range(self.last + 1):
            before = self.pending_after(name, k - 1)
            owed = effect.owed and not effect.between
            if (k < self.last or not owed) and (name, k) not in self._shut:
                self.pending[name, k] = self.truth(f"pending:{name}@{k}")
            after = self.pending_after(name, k)
            caused = [self.at(c.key, k) for c in causes]
            # what both causes and clears it has cleared it at its end
            cause_only = [self.at(c.key, k) for c in causes if c not in clears]
            cleared = [self.at(c.key, k) for c in clears]
            for c in cause_only:
                self.add(after >= c - sum(cleared))
            self.add(after >= before - sum(cleared))
            self.add(after <= before + sum(cause_only))
            for c in cleared:
                self.add(after <= 1 - c)
            self.add(self.at(dedicated, k) <= before + sum(caused))
            for c in clears:
                if c.key != dedicated:
                    self.add(self.at(dedicated, k) + self.at(c.key, k) <= 1)
                for cause in causes:
                    implied = alone and is_known(after, 0) and (c.key, k) in self.does
                    when = self.both((c.key, k), self.at(cause.key, k), implied)
                    self.order((cause.key, k), (c.key, k), when=when)

    def _distance(self, name: str) -> None:
        """Cleared in a later session than caused, and driven in between."""
        effect = self.problem.effects[name]
        if not effect.between:
            return
        causes, clears = self.tasks.causing(name), self.tasks.clearing(name)
        driven: Truth = self.drivable(-1)
        for k in range(self.last + 1):
            caused = [self.at(c.key, k) for c in causes]
            for c in clears:
                self.add(self.at(c.key, k) <= driven)
                for cause in caused:
                    self.add(self.at(c.key, k) + cause <= 1)
            if k < self.last:
                now = self.truth(f"driven:{name}@{k}")
                drive = self.drivable(k)
                self.add(now <= drive + driven)
                for cause in caused:
                    self.add(now <= drive + 1 - cause)
                driven = now
        if effect.owed:
            self._left_owed(name, clears)

    def _left_owed(self, name: str, clears: Sequence[Task]) -> None:
        """Owed at the end of all only where the car could not be driven since it was caused."""
        last = self.pending_after(name, self.last)
        cleared: Truth = 0
        for k in reversed(range(-1, self.last)):
            cleared += sum(self.at(c.key, k + 1) for c in clears)
            self.add(last + self.pending_after(name, k) + self._driven_for(k) <= 2 + cleared)

    def _driven_for(self, k: int) -> Truth:
        """``drivable``, and never no where nothing stops it."""
        drive = self.drivable(k)
        if k not in self._counted and not isinstance(drive, int):
            self._counted.add(k)
            self.add(drive + sum(self._stopping(k)) >= 1)
        return drive

    def _stopping(self, k: int) -> Iterator[Truth]:
        """Truth values of which one holds where *drive* is stopped after a session."""
        stopping, until = self.problem.stopping("drive"), self.sessions[k + 1].start
        for name in self.tasks.components:
            if set(self.problem.components[name].stops) & stopping:
                yield self.off_after(name, k)
                yield from self._late(f"refit:{name}", k, until)
        for name in self.tasks.effects:
            effect = self.problem.effects[name]
            if set(effect.stops) & stopping and effect.clearing is not None:
                yield self.pending_after(name, k)
                for task in self.tasks.clearing(name):
                    yield from self._late(task.key, k, until)
            elif set(effect.stops) & stopping:
                lasting = quarters(effect.lasting)
                yield int(name in self.problem.pending and lasting > until)
                for task in self.tasks.causing(name):
                    yield from self._late(task.key, k, until, lasting)
        for clause in self.clauses:
            if clause.use in stopping:
                yield self._armed(clause, k)

    def _late(self, key: str, k: int, until: int, wait: int | None = None) -> Iterator[Truth]:
        """A task in a session after which its wait may not be over by a quarter."""
        if wait is None:
            wait = self.tasks.all[key].wait if key in self.tasks.all else 0
        spots = range(k + 1) if wait else ()
        yield from (self.at(key, i) for i in spots if self.sessions[i].end + wait > until)

    def _armed(self, clause: Clause, k: int) -> Truth:
        """A truth value that may hold only where a clause does after a session."""
        armed = self.truth(f"armed:{clause_name(clause)}@{k}")
        for name in sorted(clause.done):
            self.add(armed <= self._done(name, k))
        for name in sorted(clause.not_done):
            self.add(armed <= 1 - self._done(name, k))
        return armed

    def _job_order(self, task: Task) -> None:
        for after in task.job.after if task.job is not None else ():
            self._comes_after(task, after.job, after.lag, after.between)

    def _comes_after(self, task: Task, name: str, lag: float, between: float) -> None:
        first = self.tasks.get("job", name)
        gap = max(quarters(lag), first.wait if first is not None else 0)
        if first is not None and task.kind == "job":
            both = tuple(n.negated() for n in (*self._left_out(first), *self._left_out(task)))
            self.orders.append(Order(both, (first.key, -1), (task.key, -1), gap))
        for k in self.where(task):
            here = self.at(task.key, k)
            if first is None:
                if name not in self.problem.done:
                    self.add(here == 0)
                elif between:
                    self.add(here <= self._driven_since(None, k - 1))
                continue
            self.add(here <= self.by(first.key, k))
            if task.kind != "job":
                self.order((first.key, k), (task.key, k), gap)
                self.since(first.key, (task.key, k), gap, here)
            if between:
                self.add(here <= self._driven_since(first, k - 1))

    def _driven_since(self, first: Task | None, k: int) -> Truth:
        """Whether *drive* was allowed after some session from that of a job on."""
        if k < 0:
            return self.drivable(-1) if first is None else 0
        spot = (first.key if first is not None else "", k)
        if spot not in self._driven:
            now = self.truth(f"driven:{spot[0]}@{k}")
            before = self._driven_since(first, k - 1)
            self.add(now <= before + self.drivable(k))
            if first is not None:
                self.add(now <= before + self.by(first.key, k))
            self._driven[spot] = now
        return self._driven[spot]

    # ---- uses at the end of a session ----

    def drivable(self, k: int) -> Truth:
        """Whether *drive* is allowed from the end of a session to the start of the next."""
        if k not in self._drivable:
            if self._is_needed("drive", k):
                self._drivable[k] = 1
                return 1
            truth = self.truth(f"drivable@{k}")
            self._drivable[k] = truth
            self.allowed("drive", k, self.sessions[k + 1].start, 1 - truth, (truth,))
        return self._drivable[k]

    def _is_needed(self, use: str, k: int) -> bool:
        """Whether a use is needed after a session, before the next begins, and not given up."""
        return any(
            need.use == use
            and self.number(need.session) == k
            and need.until <= self.sessions[k + 1].start
            and isinstance(self.loose.truth("need", need_name(need)), int)
            for need in self.problem.needs
        )

    def allowed(
        self, use: str, k: int, until: int, waived: Truth, when: tuple[Truth, ...] = ()
    ) -> None:
        """The use is allowed after a session, by a quarter, unless it is waived.

        when: truth values that say that it is not waived, for constraints in time.
        """
        if not when and not isinstance(waived, int):
            when = (waived.negated(),)
        stopping = self.problem.stopping(use)
        for name in self.tasks.components:
            component = self.problem.components[name]
            if set(component.stops) & stopping:
                self.add(self.off_after(name, k) <= waived)
                self._ready(f"refit:{name}", k, until, when)
        for name in self.tasks.effects:
            effect = self.problem.effects[name]
            if not set(effect.stops) & stopping:
                continue
            if effect.clearing is None:
                self._passed(name, k, until, waived, when)
                continue
            self.add(self.pending_after(name, k) <= waived)
            for task in self.tasks.clearing(name):
                self._ready(task.key, k, until, when)
        for clause in self.clauses:
            if clause.use in stopping:
                self._clause(clause, k, waived)

    def _ready(self, key: str, k: int, until: int, when: tuple[Truth, ...]) -> None:
        """The wait after a task is over by a quarter."""
        for i in range(k + 1):
            wait = self.tasks.all[key].wait if key in self.tasks.all else 0
            if wait and self.sessions[i].end + wait > until:
                self.limit((key, i), until - wait, when)

    def _passed(
        self, name: str, k: int, until: int, waived: Truth, when: tuple[Truth, ...]
    ) -> None:
        lasting = quarters(self.problem.effects[name].lasting)
        if name in self.problem.pending and lasting > until:
            self.add(waived >= 1)
        for task in self.tasks.causing(name):
            for i in range(k + 1):
                if self.sessions[i].end + lasting > until:
                    self.limit((task.key, i), until - lasting, when)

    def limit(self, spot: Spot, until: int, when: tuple[Truth, ...]) -> None:
        """Notes that a task ends by a quarter."""
        if spot in self.does:
            task, k = self.tasks.all[spot[0]], spot[1]
            if self.sessions[k].start + task.length > until:
                self.add(self.does[spot] == 0, *when)
            else:
                self.limits.append(Limit((self.does[spot], *when), spot, until=until))

    def _clause(self, clause: Clause, k: int, waived: Truth) -> None:
        loose = self.loose.truth("fix", clause_name(clause))
        missing = sum(1 - self._done(name, k) for name in sorted(clause.done))
        cured = sum(self._done(name, k) for name in sorted(clause.not_done))
        self.add(missing + cured + waived + loose >= 1)

    def _done(self, name: str, k: int) -> Truth:
        return 1 if name in self.problem.done else self.by(f"job:{name}", k)

    def _budgets(self) -> None:
        for budget in self.problem.budgets:
            last = max((self.number(name) for name in budget.sessions), default=-1)
            given = self.loose.truth("budget", budget.title)
            spent = [
                (round(100 * task.job.price), self.at(task.key, k))
                for task in self.tasks.all.values()
                for k in range(last + 1)
                if task.job is not None and task.job.price > 0
            ]
            total = sum(cents * truth for cents, truth in spent)
            most = sum(cents for cents, _ in spent)
            self.add(total <= round(100 * budget.most) + most * given)

    def _ends(self) -> None:
        """Cuts: what must be opened is opened, once per stretch in which it must be closed."""
        for task in self.tasks.all.values():
            if task.kind != "job":
                continue
            for requirement in task.work.needs:
                if len(requirement) == 1:
                    for condition in requirement[0]:
                        if condition.kind == "off":
                            self._stretches(condition.name, task)

    def _stretches(self, name: str, task: Task) -> None:
        stretch: list[int] = []
        for k in range(self.last + 1):
            stretch.append(k)
            after = self.off_after(name, k)
            if isinstance(after, int) or k == self.last:
                taken = sum(self.at(f"take:{name}", i) for i in stretch)
                inside = sum(self.at(task.key, i) for i in stretch)
                if len(stretch) > 1:
                    self.add(taken + self.off_after(name, stretch[0] - 1) >= inside)
                stretch = []

    def inside(self, name: str, k: int) -> list[Task]:
        """Tasks that are done while a component is off, if they are in a session at all.

        The component is on before the session and after it, and so is every other whose taking
        off and refitting count as done within its time.
        """
        found: dict[str, Task] = {}
        waiting = [name]
        while waiting:
            outer = waiting.pop()
            for task in self.tasks.all.values():
                if task.key in found or (task.key, k) not in self.does:
                    continue
                if outer in sole_off(task.work):
                    found[task.key] = task
                    if task.kind == "take" and self._lies_in(task.what, outer, k):
                        waiting.append(task.what)
        return list(found.values())

    def _lies_in(self, name: str, outer: str, k: int) -> bool:
        return self.shut_both(name, k) and outer in sole_off(self.problem.components[name].refit)

    def shut_both(self, name: str, k: int) -> bool:
        """Whether a component is known to be on before a session and after it."""
        return is_known(self.off_after(name, k - 1), 0) and is_known(self.off_after(name, k), 0)


def is_known(truth: Truth, value: int) -> bool:
    """Whether a truth value is known beforehand to be this."""
    return isinstance(truth, int) and truth == value
