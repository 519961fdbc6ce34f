"""A plan whose states were all examined: solve, examine, learn, solve again.

The solver knows jobs, components and effects; it cannot run the checks. So each plan it offers is
examined at the end of every session after which a use is needed, and before each task that needs
one. What stops the use becomes a clause over the jobs that bear on it, and the next plan obeys it.
The bound of the last plan includes every clause, for a clause only says what a check said.
"""

from __future__ import annotations

import gc
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field, replace
from time import monotonic

from drybuild.examine import OpenBuild
from drybuild.examine.examination import DRAWS as DRAWS_IN_FULL
from drybuild.examine.examination import forget
from drybuild.values.memory import give_back
from drybuild.work.ends import work_of
from drybuild.work.lessons import Lessons, violated
from drybuild.work.model import Aim, Clause, Need, NoPlan, Plan, Problem, Relaxation, ToDo
from drybuild.work.room import why_no_room, with_room
from drybuild.work.solve import Learned, solve
from drybuild.work.solve.explain import explain, plain_reasons
from drybuild.work.solve.strict import need_name
from drybuild.work.supposed import (
    NOT_SUPPOSED,
    SUPPOSED,
    Moment,
    to_look_up,
    to_measure,
    with_supposed,
)

Solver = Callable[..., Plan | NoPlan]

MOST_ROUNDS = 60
"""Rounds of solving and examining: each adds a clause that no earlier round had."""


def plan_examined(
    opened: OpenBuild,
    todo: ToDo,
    *,
    seconds: float = 40.0,
    seed: int = 0,
    near: Plan | None = None,
    solver: Solver = solve,
    lessons: Lessons | None = None,
    suppose: bool | None = None,
    explains: Callable[[], None] = lambda: None,
) -> Plan | NoPlan:
    """A plan that keeps every need through the checks as well, or what stands against one.

    While there is something to learn, any plan will do: it is thrown away. Once ``LOOKS`` of them
    teach nothing, the search has ``seconds`` for the best one; should that teach something again,
    it begins anew from there, and has half of them, then a third. All of it ends after about
    ``WHOLE`` times as long by the clock, or ``AT_LEAST``, with what was found by then.
    near: a plan to keep to as far as possible. suppose: where none is found otherwise, what
    stops a needed use only by what nobody knows yet is taken to turn out well; the plan names it
    (``Plan.supposed``); unset: as the build says. explains: is called before it looks
    for what would make room. Raises ChangeRefused when a job's Changes do
    not suit the car.
    """
    if lessons is None:
        lessons = Lessons(opened.state("now"), opened.registry, todo.problem.jobs)
    lessons = replace(lessons, asked=_uses(todo.problem))
    if suppose is None:
        suppose = opened.build.work.suppose
    began = monotonic()
    if not todo.problem.sessions:
        return without_sessions(todo.problem)
    search = _Search(todo.problem, lessons, solver, seed, seconds, near)
    found, problem = search.run(suppose=False)
    if isinstance(found, NoPlan) and suppose and search.not_known:
        found, problem = search.run(suppose=True)
    if isinstance(found, Plan):
        found = with_supposed(
            problem, found, lessons, _counted(problem, found), DRAWS_IN_FULL
        )
        return replace(found, clauses=problem.clauses, seconds=monotonic() - began)
    cured = _cured(problem)
    if not found.relax:
        explains()
        said = explain(cured)
        found = (
            replace(said, why=found.why, open=True) if found.open
            else with_room(cured, said, near)
        )  # fmt: skip
    found = replace(found, cured=cured is not problem)
    why = (*found.why, *_needs_stopped(cured, found), *why_no_room(cured, found))
    if search.not_known:
        why = (*why, SUPPOSED if suppose else NOT_SUPPOSED)
    said = replace(
        found, why=why, clauses=problem.clauses, seconds=monotonic() - began,
        still=tuple(_still_stopped(problem, lessons)),
    )  # fmt: skip
    return _with_cures(said, problem, lessons)


def _cured(problem: Problem) -> Problem:
    """The problem as it is once what no order of the jobs gets round is put right, where there is
    no plan even then; else as it stands, for then the cure is all that it wants."""
    left = tuple(c for c in problem.clauses if c.waits_for or not hopeless(c))
    if left == problem.clauses:
        return problem
    cured = replace(problem, clauses=left)
    found = solve(cured, look=True, seconds=LEAST)
    return cured if isinstance(found, NoPlan) and not found.open else problem


def without_sessions(problem: Problem) -> Plan | NoPlan:
    """What there is to plan when no session lies ahead: nothing, unless something is left. What is
    owed after a distance may stay owed, as after the last session of any plan."""
    left = [problem.jobs[name].title for name in sorted(problem.jobs.keys() - problem.done)]
    left += [problem.components[name].title for name in sorted(problem.off)]
    owed = [problem.effects[name] for name in sorted(problem.pending)]
    left += [e.title for e in owed if e.clearing is not None and e.between <= 0]
    if left:
        return NoPlan((f"no work session lies ahead, and it is left: {'; '.join(left)}",), ())
    units = {"hours": "h", "finish": "session"}
    return Plan((), (), tuple(Aim(name, 0.0, 0.0, units[name]) for name in problem.first))


OUT_OF_TIME = (
    "no plan was found in {:.0f} seconds, and nothing says that there is none; with "
    "--seconds more it may be"
)
LEAST = 1.0
"""Seconds of any search, however late it is."""

LOOKS = 3
"""Plans of different seeds that must teach nothing before the best one is looked for."""

SHORTEST = 5.0
"""Seconds that every search for the best plan has, however many there were before."""


WHOLE = 3
"""How many times the seconds of one search all of planning may take by the clock, about."""

AT_LEAST = 180.0
"""Seconds that it may take however short the search: the car is examined all the same."""

TRIED = (
    "tried, and none of it is enough, alone or together: a need given up, longer sessions, one or "
    "two more, parts earlier, other bookings, tools, a larger budget, a few jobs left out, what "
    "checks find put right"
)


NO_ROOM = "all of the work does not fit into its work sessions as they are"


def _needs_stopped(problem: Problem, said: NoPlan) -> tuple[str, ...]:
    """Which needs cannot be kept, and what stops the use then; where nothing was found that makes
    room, what was tried."""
    if tuple(plain_reasons(problem)) or said.open:
        return ()
    if not said.relax:
        return (TRIED,)
    given = {name for one in said.relax if one.kind == "need" for name in one.what.split("+")}
    kept = [need for need in problem.needs if need_name(need) in given]
    why = next((one.why for one in said.relax if one.kind == "need"), "")
    days = [f"{n.use} on {_day(problem, n)}" for n in kept]
    if not days:
        roomy = {one.kind for one in said.relax} & {"time", "session", "arrival", "booking", "job"}
        return (NO_ROOM,) if roomy else ()
    return (f"cannot be kept: {', '.join(days)}" + (f"; {why}" if why else ""),)


def _day(problem: Problem, need: Need) -> str:
    when = problem.at(need.until)
    return f"{when:%A} {when.day} {when:%B}"


@dataclass
class _Search:
    """Solves, examines and learns until a plan stands or none can.

    not_known: whether something was learned that stops a use only by what nobody knows yet.
    learned: by one search of a run after the other, of what the days can hold.
    """

    start: Problem
    lessons: Lessons
    solver: Solver
    seed: int
    seconds: float
    near: Plan | None
    not_known: bool = False
    learned: list[Learned] = field(default_factory=list)
    began: float = field(default_factory=monotonic)

    def run(self, *, suppose: bool) -> tuple[Plan | NoPlan, Problem]:
        """A plan, or none, and the problem with all that was learned."""
        problem, plan, look, plans, looks = self.start, None, True, 0, 0
        self.learned = []  # it holds for as many clauses or more, and here they are fewer again
        for _ in range(MOST_ROUNDS):
            if self.left <= 0:
                return NoPlan((OUT_OF_TIME.format(self._whole),), (), open=True), problem
            _make_room()  # for the search, which would otherwise lie beside the examinations
            plans += not look
            found = self._searched(problem, plan, look, plans, self.seed + looks)
            if isinstance(found, NoPlan):
                return found, problem
            _make_room()
            taught = self._taught(problem, found, suppose=suppose, in_full=not look)
            plan = found
            if taught:
                problem = replace(problem, clauses=(*problem.clauses, *taught))
                look = True
            elif look and looks + 1 < LOOKS:
                looks += 1
            elif look:
                look, looks = False, 0
            else:
                return plan, problem
        why = f"after {MOST_ROUNDS} rounds the checks still stop a use that is needed"
        return NoPlan((why,), (), open=True), problem

    def _searched(
        self, problem: Problem, hint: Plan | None, look: bool, plans: int, seed: int
    ) -> Plan | NoPlan:
        """The search for plan number ``plans``: shorter than the last, unless nothing is found."""
        shorter = min(self.seconds, max(SHORTEST, self.seconds / max(1, plans)))
        for longest in dict.fromkeys((shorter, self.seconds)):
            seconds = max(LEAST, min(longest, self.left))
            found = self.solver(
                problem, seed=seed, seconds=seconds, near=self.near, hint=hint, look=look,
                learned=self.learned,
            )  # fmt: skip
            if isinstance(found, Plan) or not found.open:
                break
        return found

    @property
    def left(self) -> float:
        """Seconds by the clock until all of it has to end."""
        return self._whole - (monotonic() - self.began)

    @property
    def _whole(self) -> float:
        return max(AT_LEAST, WHOLE * self.seconds)

    def _taught(
        self, problem: Problem, plan: Plan, *, suppose: bool, in_full: bool
    ) -> tuple[Clause, ...]:
        """Clauses that this plan runs against; none when all it counts on is allowed.

        in_full: a plan that stands with few draws is examined once more with all of them, so that
        no verdict near its threshold decides by chance.
        """
        counted = list(dict.fromkeys(moments(problem, plan)))
        known = set(problem.clauses)
        draws_of = (self.lessons.draws, DRAWS_IN_FULL) if in_full else (self.lessons.draws,)
        for draws in draws_of:
            if draws > self.lessons.draws:
                _make_room()
            found: dict[Clause, None] = {}
            for use, done in counted:
                if any(c.use == use and violated(c, done) for c in found):
                    continue
                held = self.lessons.stopped(use, done, draws)
                self.not_known |= any(hold.waits_for for hold in held)
                for clause in self.lessons.clauses(use, done, draws, suppose=suppose):
                    if clause not in known:
                        found[clause] = None
            if found:
                return tuple(found)
        return ()


def _make_room() -> None:
    """Hand back the memory of what comes before: searches and examinations take turns."""
    forget()
    gc.collect()  # models of the search hang together in rings
    give_back()


def moments(problem: Problem, plan: Plan) -> Iterator[tuple[str, frozenset[str]]]:
    """Every use that a plan counts on, with the jobs done when it does."""
    yield from ((use, done) for _, use, done in _counted(problem, plan))


def _uses(problem: Problem) -> frozenset[str]:
    """Every use that a plan may count on: what is needed, and what a task needs to begin."""
    works = [job.work for job in problem.jobs.values()]
    works += [work for c in problem.components.values() for work in (c.take, c.refit)]
    works += [e.clearing.work for e in problem.effects.values() if e.clearing is not None]
    asked = {c.name for work in works for r in work.needs for way in r for c in way
             if c.kind == "use"}  # fmt: skip
    return frozenset(asked | {need.use for need in problem.needs})


def _counted(problem: Problem, plan: Plan) -> Iterator[Moment]:
    """The same, each with the quarter by which the use must stand open."""
    ends = {end.session: end.done for end in plan.ends}
    for need in problem.needs:
        yield need.until, need.use, ends[need.session]
    finished = [(step.end, step.what) for step in plan.steps if step.kind == "job"]
    for step in plan.steps:
        done = problem.done | {what for end, what in finished if end <= step.start}
        asked = (r[0] for r in work_of(problem, step).needs if len(r) == 1)
        for way in (*asked, *step.ways):
            yield from ((step.start, c.name, done) for c in way if c.kind == "use")


def _still_stopped(problem: Problem, lessons: Lessons) -> Iterator[Clause]:
    """What would stop a needed use with all jobs done, whatever the plan; none that was learned."""
    known = {(clause.check, clause.subject) for clause in problem.clauses}
    everything = problem.done | problem.jobs.keys()
    for use in dict.fromkeys(need.use for need in problem.needs):
        for hold in lessons.stopped(use, everything):
            if not hold.waits_for and (hold.check, hold.subject) not in known:
                known.add((hold.check, hold.subject))
                yield Clause(use, frozenset(), frozenset(), hold.why, hold.check, hold.subject)


def _with_cures(said: NoPlan, problem: Problem, lessons: Lessons) -> NoPlan:
    """Adds what no order of the jobs can cure, each check once, and what to measure of all that is
    only not known yet: such a finding needs a fix, or a reading, or the use waived."""
    cures: dict[tuple[str, str], Relaxation] = {}
    for c in problem.clauses:
        if hopeless(c) and not c.waits_for:
            cure = Relaxation("fix", f"{c.check} {c.subject}", f"cure it first: {c.why}")
            cures.setdefault((c.check, c.subject), cure)
    relax = tuple(r for r in said.relax if not _only_hopeless(r))
    asked = {c.check for c in problem.clauses if c.waits_for}
    measure = to_measure(lessons, problem.done | problem.jobs.keys(), asked) if asked else ()
    everything = problem.done | problem.jobs.keys()
    papers = to_look_up(lessons, everything, [*filter(hopeless, problem.clauses), *said.still])
    return replace(said, relax=(*cures.values(), *relax), measure=measure, look_up=papers)


def hopeless(clause: Clause) -> bool:
    """Whether a clause holds whatever is done, so that no order of the jobs is its cure."""
    return not clause.done and not clause.not_done


def _only_hopeless(one: Relaxation) -> bool:
    """Whether it is told by itself already, check by check."""
    names = one.what.split("+")
    return one.kind in ("fix", "measure") and all(name.endswith(":-") for name in names)
