"""How the car stands at a moment of a plan: what is off and owed, which use is stopped and why.

Nothing new is judged here: components and effects stop what the library says of them, checks stop
what the examination of that state says. A task under way counts as the worse of before and after.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from datetime import datetime
from types import MappingProxyType
from typing import Final, Literal

from drybuild.examine import Examination, Owed
from drybuild.findings.finding import WaitsFor
from drybuild.findings.words import stopped_with, use_closure, uses
from drybuild.work.durations import quarters
from drybuild.work.ends import cleared_by, work_of
from drybuild.work.evidence import owed_after
from drybuild.work.lessons import Lessons, violated
from drybuild.work.model import Notes, Plan, Problem, Step

NEVER = float("inf")
NO_NOTES: Final[Mapping[str, Notes]] = MappingProxyType({})
PASSES = "passes by itself"
NOTHING_LIFTS = "nothing in this plan lifts it"


@dataclass(frozen=True, slots=True)
class Stop:
    """One reason why something may not be done.

    uses: that it stops directly. subjects: places that a check speaks of (``front.left``). lift:
    the next physical action; by: the step of the plan that lifts it, if one does. what: id of the
    component, effect or check. passes: when it is over by itself. waits_for: what is not known yet,
    of a check that stops for nothing else. since: of a rule that the car was outside of as found,
    the title of the job by which it became the builder's.
    """

    uses: tuple[str, ...]
    kind: Literal["off", "pending", "jobs", "check"]
    why: str
    lift: str
    by: Step | None = None
    subjects: tuple[str, ...] = ()
    what: str = ""
    passes: datetime | None = None
    waits_for: WaitsFor = ""
    since: str = ""

    @property
    def roots(self) -> tuple[str, ...]:
        """Its uses without those that another of them stops anyway."""
        return tuple(u for u in self.uses if not (use_closure(u) - {u}) & set(self.uses))


@dataclass(frozen=True, slots=True)
class Standing:
    """The car at one moment. off: in the order they came off.

    owed: records still to be made; counted_on: those that the plan means to have made by then, and
    that are owed until they are written down. outside: the rules that it is outside of as found, by
    the uses that they are about: they stop nothing.
    """

    at: int
    off: tuple[str, ...]
    pending: tuple[str, ...]
    done: tuple[str, ...]
    stops: tuple[Stop, ...]
    owed: tuple[Owed, ...] = ()
    counted_on: tuple[Owed, ...] = ()
    outside: Mapping[str, tuple[str, ...]] = field(default_factory=dict)

    @property
    def stopped(self) -> frozenset[str]:
        """Every use that is stopped, also through a prerequisite."""
        return stopped_with(tuple(dict.fromkeys(u for s in self.stops for u in s.uses)))

    @property
    def open_uses(self) -> tuple[str, ...]:
        """Uses that nothing recorded stops, in their order. Hand checks may still be owed."""
        return tuple(u.name for u in uses() if u.name not in self.stopped)

    def stopping(self, use: str) -> tuple[Stop, ...]:
        """What stops a use directly or through what it needs."""
        needed = use_closure(use)
        return tuple(s for s in self.stops if needed & set(s.uses))

    def owed_for(self, use: str) -> tuple[Owed, ...]:
        """Records still to be made before a use."""
        needed = use_closure(use)
        return tuple(o for o in self.owed if needed & set(o.stops))

    def counted_on_for(self, use: str) -> tuple[Owed, ...]:
        """Records that the plan counts on before a use."""
        needed = use_closure(use)
        return tuple(o for o in self.counted_on if needed & set(o.stops))


def standing(
    problem: Problem,
    plan: Plan,
    at: int,
    *,
    lessons: Lessons | None = None,
    notes: Mapping[str, Notes] = NO_NOTES,
) -> Standing:
    """The car at quarter ``at`` of a plan.

    lessons: examines the state of the car then; without it only clauses that were learned speak for
    the checks. notes: the library's words, for what is off and how it goes back.
    """
    off = _off(problem, plan, at)
    pending = _pending(problem, plan, at)
    done = _done(problem, plan, at)
    stops = [_off_stop(problem, plan, name, at, notes) for name in off]
    stops += [_pending_stop(problem, plan, name, until, at) for name, until in pending.items()]
    examination = lessons.examination(done) if lessons is not None else None
    if examination is None:
        stops += _clause_stops(problem, plan, done, at)
    else:
        stops += _since_found(check_stops(examination), examination, problem, plan, done, lessons)
    owed: tuple[Owed, ...] = ()
    counted_on: tuple[Owed, ...] = ()
    if lessons is not None:
        ended = (step for step in plan.steps if step.end <= at)
        owed, counted_on = owed_after(lessons, problem, ended)
    return Standing(
        at, off, tuple(pending), done, tuple(s for s in stops if s.uses), owed, counted_on,
        outside_of(examination) if examination is not None else {},
    )  # fmt: skip


def outside_of(examination: Examination) -> Mapping[str, tuple[str, ...]]:
    """The rules that a car is outside of as found, by title, for each use that they are about."""
    return {
        use.use: tuple(dict.fromkeys(f.title for f in use.outside))
        for use in examination.uses if use.outside
    }  # fmt: skip


def _since_found(
    stops: list[Stop],
    examination: Examination,
    problem: Problem,
    plan: Plan,
    done: tuple[str, ...],
    lessons: Lessons | None,
) -> list[Stop]:
    """The stops, those of them with what made them one that were a rule missed as found."""
    if lessons is None:
        return stops
    found = {f.check for use in lessons.examination(()).uses for f in use.outside}
    touched = {f.check: f.touched for f in examination.findings if f.stopping}
    order = {s.what: n for n, s in enumerate(plan.steps) if s.kind == "job"}
    jobs = sorted((j for j in done if j in order), key=order.__getitem__)
    said = []
    for stop in stops:
        since = ""
        if stop.kind == "check" and stop.what in found:
            by = lessons.touching(jobs, touched.get(stop.what, ()))
            since = problem.jobs[by].title if by in problem.jobs else ""
        said.append(replace(stop, since=since) if since else stop)
    return said


def at_end(
    problem: Problem,
    plan: Plan,
    session: str,
    *,
    lessons: Lessons | None = None,
    notes: Mapping[str, Notes] = NO_NOTES,
) -> Standing:
    """The car when a session is over."""
    return standing(problem, plan, problem.session(session).end, lessons=lessons, notes=notes)


def _off(problem: Problem, plan: Plan, at: int) -> tuple[str, ...]:
    """Components that are off or on their way, in the order they came off."""
    off = dict.fromkeys(sorted(problem.off))
    for moment, _, step in _moments(plan, at):
        if step.kind == "take" and moment == step.start:
            off.pop(step.what, None)
            off[step.what] = None
        elif step.kind == "refit" and moment == step.end:
            off.pop(step.what, None)
    return tuple(off)


def _moments(plan: Plan, at: int) -> list[tuple[int, int, Step]]:
    """Beginnings before ``at`` and ends up to it, in order; at one moment ends come first."""
    begun = [(s.start, 1, s) for s in plan.steps if s.start < at]
    ended = [(s.end, 0, s) for s in plan.steps if s.end <= at]
    return sorted([*begun, *ended], key=lambda row: row[:2])


def _pending(problem: Problem, plan: Plan, at: int) -> dict[str, float]:
    """Effects that are pending, each with the quarter at which it passes by itself, or never."""
    until = {name: _passes(problem, name, 0) for name in sorted(problem.pending)}
    for moment, ends, step in _moments(plan, at):
        causes = work_of(problem, step).causes
        if ends:
            for name in causes:
                until[name] = max(_passes(problem, name, step.end), until.get(name, moment))
        else:
            for name in cleared_by(problem, step):
                until.pop(name, None)
    return {name: passes for name, passes in until.items() if passes > at}


def _passes(problem: Problem, name: str, caused: int) -> float:
    effect = problem.effects[name]
    return caused + quarters(effect.lasting) if effect.clearing is None else NEVER


def _done(problem: Problem, plan: Plan, at: int) -> tuple[str, ...]:
    ended = [s for s in plan.steps if s.kind == "job" and s.end <= at]
    ended.sort(key=lambda s: s.end)
    return tuple(dict.fromkeys((*sorted(problem.done), *(s.what for s in ended))))


def _off_stop(
    problem: Problem, plan: Plan, name: str, at: int, notes: Mapping[str, Notes]
) -> Stop:
    component = problem.components[name]
    off, on = notes.get(f"take:{name}"), notes.get(f"refit:{name}")
    why = off.title if off is not None else f"off: {component.title}"
    lift = on.title if on is not None else f"refit: {component.title}"
    return Stop(component.stops, "off", why, lift, _next(plan, at, "refit", {name}), what=name)


def _pending_stop(
    problem: Problem, plan: Plan, name: str, until: float, at: int
) -> Stop:
    effect = problem.effects[name]
    if effect.clearing is None:
        return Stop(
            effect.stops, "pending", effect.title, PASSES, what=name,
            passes=problem.at(int(until)),
        )  # fmt: skip
    clearing = {step.what for step in plan.steps if step.kind == "job"
                and name in cleared_by(problem, step)}  # fmt: skip
    by = _next(plan, at, "clear", {name}) or _next(plan, at, "job", clearing)
    return Stop(effect.stops, "pending", effect.title, effect.clearing.title, by, what=name)


def _next(plan: Plan, at: int, kind: str, names: Iterable[str]) -> Step | None:
    """The next step of a kind and one of these names that is not over at ``at``."""
    wanted = set(names)
    return next(
        (s for s in plan.steps if s.kind == kind and s.what in wanted and s.end > at), None
    )


def _clause_stops(problem: Problem, plan: Plan, done: tuple[str, ...], at: int) -> list[Stop]:
    found: dict[tuple[str, str], Stop] = {}
    for clause in dict.fromkeys((*problem.clauses, *plan.clauses)):
        if not violated(clause, done):
            continue
        by = _next(plan, at, "job", clause.not_done)
        lift = problem.jobs[by.what].title if by is not None else NOTHING_LIFTS
        before = found.get((clause.check, clause.why))
        used = tuple(dict.fromkeys((*(before.uses if before else ()), clause.use)))
        found[clause.check, clause.why] = Stop(
            used, "jobs", clause.why, lift, by, what=clause.check
        )
    return list(found.values())


def check_stops(examination: Examination) -> list[Stop]:
    """What the checks stop, the places of one finding together."""
    held: dict[tuple[str, str, str, WaitsFor], tuple[dict[str, None], dict[str, None]]] = {}
    for use in examination.uses:
        for hold in use.holds:
            if hold.through:
                continue
            key = (hold.check, hold.anywhere, hold.do, hold.waits_for)
            names, places = held.setdefault(key, ({}, {}))
            names[use.use] = None
            if hold.subject != "car":
                places[hold.subject] = None
    return [
        Stop(
            tuple(names), "check", why, do, subjects=tuple(places), what=check, waits_for=waits_for
        )
        for (check, why, do, waits_for), (names, places) in held.items()
    ]


def with_lifting(problem: Problem, plan: Plan, car: Standing, lessons: Lessons) -> Standing:
    """A standing whose stops by checks name the job of the plan after which they stop no more."""
    jobs = sorted((s for s in plan.steps if s.kind == "job"), key=lambda s: s.end)
    waiting = {(s.what, s.why) for s in car.stops if s.kind == "check"}
    lifts: dict[tuple[str, str], Step] = {}
    done = set(car.done)
    for job in jobs:
        if job.end <= car.at or not waiting:
            continue
        done.add(job.what)
        left = {(s.what, s.why) for s in check_stops(lessons.examination(done))}
        lifts.update(dict.fromkeys(waiting - left, job))
        waiting &= left
    stops = tuple(
        replace(s, by=lifts[s.what, s.why]) if (s.what, s.why) in lifts else s for s in car.stops
    )
    return replace(car, stops=stops)
