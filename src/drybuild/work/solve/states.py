"""The whole model of yes and no: the marks of every state, and what each task asks of them."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING

from drybuild.work.durations import quarters
from drybuild.work.model import Clause, Condition
from drybuild.work.solve.marks import Limit, Marks, Order, Spot, Truth, Way, is_known
from drybuild.work.solve.strict import Strict, clause_name, need_name
from drybuild.work.solve.tasks import Task, Tasks, missing_tools, sole_off

if TYPE_CHECKING:
    from drybuild.work.cp import cp_model

__all__ = ["Limit", "Order", "Spot", "States", "Truth", "Way"]


class States(Marks):
    """The truth values of a problem, and the constraints between them."""

    def __init__(
        self, model: cp_model.CpModel, tasks: Tasks, loose: Strict, *, timed: bool = True
    ) -> None:
        super().__init__(model, tasks, loose, timed=timed)
        self._place()
        for name in tasks.components:
            self._component(name)
        for name in tasks.effects:
            if self.problem.effects[name].clearing is not None:
                self._effect(name)
        for name in tasks.effects:  # after all of them: each may keep the car from being driven
            if self.problem.effects[name].clearing is not None:
                self._distance(name)
        for task in tasks.all.values():
            self._job_order(task)
            for k in self.where(task):
                self._conditions(task, k)
                self._not_before(task, k)
        for need in self.problem.needs:
            k = self.number(need.session)
            waived = loose.truth("need", need_name(need))
            self.allowed(need.use, k, need.until, waived)
        self._budgets()
        self._ends()

    # ---- conditions ----

    def _not_before(self, task: Task, k: int) -> None:
        for name in task.work.not_before:
            self.add(self.at(task.key, k) + self.pending_after(name, k) <= 1)
            self.order((f"clear:{name}", k), (task.key, k))

    def _conditions(self, task: Task, k: int) -> None:
        here = self.does[task.key, k]
        choices: list[list[tuple[Truth, Way]]] = []
        for n, requirement in enumerate(task.work.needs):
            ways = [way for way in requirement if self._possible(way, k)]
            if len(ways) == 1:
                chosen = [here]
            else:
                chosen = [self.truth(f"{task.key}@{k}:{n}.{w}") for w in range(len(ways))]
                self.add(sum(chosen) == here)
            pairs = list(zip(chosen, ways, strict=True))
            for truth, way in pairs:
                for condition in way:
                    self._condition(task, k, condition, truth)
            if len(requirement) > 1:
                choices.append(pairs)
        self.ways[task.key, k] = choices

    def _possible(self, way: tuple[Condition, ...], k: int) -> bool:
        return self.loose.has(missing_tools(way, self.sessions[k]), k)

    def _condition(self, task: Task, k: int, condition: Condition, when: Truth) -> None:
        name = condition.name
        if condition.kind == "off":
            self._needs_off(task, k, name, when)
        elif condition.kind == "on":
            self._needs_on(task, k, name, when)
        elif condition.kind == "clear":
            self._needs_clear(task, k, name, when)
        elif condition.kind == "use":
            self._needs_use(task, k, name, when)
        elif name not in self.sessions[k].tools:
            self.add(when <= self.loose.truth("tool", f"{name}@{self.sessions[k].id}"))

    def _needs_off(self, task: Task, k: int, name: str, when: Truth) -> None:
        take, refit = f"take:{name}", f"refit:{name}"
        before, after = self.off_after(name, k - 1), self.off_after(name, k)
        self.add(when <= before + self.at(take, k))
        taken = self.tasks.all.get(take)
        wait = taken.wait if taken is not None else 0
        taking = self.both((take, k), when, is_known(before, 0))
        self.order((take, k), (task.key, k), wait, when=taking)
        self.order((task.key, k), (refit, k), when=self.both((refit, k), when, is_known(after, 0)))
        self.since(take, (task.key, k), wait, when)

    def _needs_on(self, task: Task, k: int, name: str, when: Truth) -> None:
        take, refit = f"take:{name}", f"refit:{name}"
        if refit not in self.tasks.all:
            return
        wait = self.tasks.all[refit].wait
        before, refitted = self.off_after(name, k - 1), self.at(refit, k)
        if task.key == refit:
            self.add(when == 0)
        elif isinstance(refitted, int) or task.key == take:
            self.add(before + when <= 1)
            self.order((task.key, k), (take, k), when=(when, self.at(take, k)))
        elif not self.timed:
            self.add(before + when <= 1 + refitted)
        else:
            late = self._mode(task.key, name, k)
            self.lates.append((late, task.key, name, k))
            self.add(late <= refitted)
            self.add(before + when <= 1 + late)
            self._earlier(task, (take, k), late, when)
            self.order((refit, k), (task.key, k), wait, when=(late,))
            for cause in self._inside(task, name):
                self.add(late + 1 >= self.at(cause.key, k) + self.at(task.key, k))
        self.since(refit, (task.key, k), wait, when)

    def _inside(self, task: Task, name: str) -> Iterable[Task]:
        """Tasks that this one comes after in its session and that lie in a component's off time."""
        for effect in task.clears & set(self.tasks.effects):
            for cause in self.tasks.causing(effect):
                if cause.key == task.key:
                    continue
                if cause.what == name or name in sole_off(cause.work):
                    yield cause

    def _earlier(self, task: Task, spot: Spot, late: Truth, when: Truth) -> None:
        """A task comes before another, when that is done at all, unless it comes late."""
        if spot in self.does:
            early = self.truth(f"{task.key} before {spot}")
            self.add(early >= when + self.does[spot] - late - 1)
            self.order((task.key, spot[1]), spot, when=(early,))

    def _mode(self, key: str, name: str, k: int) -> Truth:
        """Whether a task comes after the refitting, or clearing, of something in its session."""
        if (key, name, k) not in self._modes:
            late = self.truth(f"{key} after {name}@{k}")
            self.add(late <= self.at(key, k))
            self._modes[key, name, k] = late
        return self._modes[key, name, k]

    def _needs_clear(self, task: Task, k: int, name: str, when: Truth) -> None:
        if name not in self.tasks.effects:
            return
        causes = [c for c in self.tasks.causing(name) if c.key != task.key]
        if self.problem.effects[name].clearing is None:
            self._needs_passed(task, k, name, causes, when)
            return
        clears = [c for c in self.tasks.clearing(name) if c.key != task.key]
        wait = max((c.wait for c in clears), default=0)
        before = self.pending_after(name, k - 1)
        cleared = sum(self.at(c.key, k) for c in clears)
        for c in clears:
            self.since(c.key, (task.key, k), wait, when)
        if not self.timed:
            self.add(before + when <= 1 + cleared)
            return
        late = self._mode(task.key, f"clear:{name}", k)
        self.add(late <= cleared)
        self.add(before + when <= 1 + late)
        early = self._mode(task.key, f"early:{name}", k)
        self.add(early >= when - late)
        for cause in causes:
            self.order((task.key, k), (cause.key, k), when=(early, self.at(cause.key, k)))
            if task.clears & set(cause.work.causes):
                self.add(early + self.at(cause.key, k) <= 1)
        for c in clears:
            both = self.both((c.key, k), late, len(clears) == 1)
            self.order((c.key, k), (task.key, k), wait, when=both)

    def _needs_passed(self, task: Task, k: int, name: str, causes: list[Task], when: Truth) -> None:
        """What passes by itself has passed, or is caused only later."""
        lasting = quarters(self.problem.effects[name].lasting)
        if name in self.problem.pending and lasting > self.sessions[k].start:
            self.limits.append(Limit((when,), (task.key, k), since=lasting))
        for cause in causes:
            self.since(cause.key, (task.key, k), lasting, when)
            if (cause.key, k) in self.does and self.timed:
                late = self._mode(task.key, f"{cause.key}:{name}", k)
                self.add(late <= self.at(cause.key, k))
                self._earlier(task, (cause.key, k), late, when)
                self.order((cause.key, k), (task.key, k), lasting, when=(late,))

    def _needs_use(self, task: Task, k: int, use: str, when: Truth) -> None:
        stopping = self.problem.stopping(use)
        stops = [
            n for n in self.tasks.components if set(self.problem.components[n].stops) & stopping
        ]
        for name in stops:
            if not self.timed or not self._within(name, stops, k):
                self._needs_on(task, k, name, when)
        for name in self.tasks.effects:
            if set(self.problem.effects[name].stops) & stopping:
                self._needs_clear(task, k, name, when)
        for clause in self.clauses:
            if clause.use in stopping:
                self._needs_cured(task, k, clause, when)

    def _within(self, name: str, others: Sequence[str], k: int) -> bool:
        """Whether a component is off only while one of the others is, in a session.

        So it is when that must be off to take this one off and to refit it, and both are on before
        and after the session. What is asked of the other's time then covers this one's.
        """
        if not self.shut_both(name, k):
            return False
        component = self.problem.components[name]
        outer = sole_off(component.take) & sole_off(component.refit) & set(others)
        waits = component.refit.wait
        return any(
            self.shut_both(other, k) and self.problem.components[other].refit.wait >= waits
            for other in outer
        )

    def _needs_cured(self, task: Task, k: int, clause: Clause, when: Truth) -> None:
        """Some job of the clause is not done before the task, or some cure is."""
        witnesses: list[Truth] = []
        for name in sorted(clause.done | clause.not_done):
            key, cure = f"job:{name}", name in clause.not_done
            if name in self.problem.done or key not in self.tasks.all or key == task.key:
                before: Truth = int(name in self.problem.done)
                witnesses.append(before if cure else 1 - before)
                continue
            if not self.timed:
                witnesses.append(self.by(key, k) if cure else 1 - self.by(key, k - 1))
                continue
            same = self.at(key, k)
            early = self._mode(task.key, f"{key}:{cure}", k)
            self.add(early <= same)
            if cure:
                self.order((key, k), (task.key, k), when=(early,))
                witnesses += [self.by(key, k - 1), early]
            else:
                # not done before: it ends after the task begins
                length = self.tasks.all[key].length + task.length
                self.order((task.key, k), (key, k), 1 - length, when=(early,))
                witnesses += [1 - self.by(key, k), early]
        loose = self.loose.truth("fix", clause_name(clause))
        self.add(sum(witnesses) + loose >= when)
