"""Whether a plan holds: everything that it says, worked out again from the problem alone.

It shares nothing with what makes plans, so that a mistake there is found here. Times are
compared as intervals: a component is not on from the start of its taking off to the end of its
refitting and of the wait after it; an effect is pending for other tasks from the start of what
causes it to the end of its clearing and of the wait after that.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field
from itertools import pairwise, permutations

from drybuild.work.durations import planned, quarters
from drybuild.work.held import HANDS_IN, TO_ITSELF
from drybuild.work.model import (
    QUARTERS_AN_HOUR,
    After,
    Condition,
    Job,
    Plan,
    Problem,
    Session,
    Step,
    Work,
)

NEVER = float("inf")


def faults(problem: Problem, plan: Plan) -> tuple[str, ...]:
    """Everything in which a plan breaks its problem, in words; empty when it holds."""
    unknown = tuple(_unknown(problem, plan))
    if unknown:
        return unknown
    seen = _Seen(problem, plan)
    found = [*_times(seen), *_people(seen), *_tools(seen), *_alone(seen)]
    found += [*_components(seen), *_effects(seen)]
    found += [*_jobs(seen), *_conditions(seen), *_needs(seen), *_budgets(seen), *_told(seen)]
    return tuple(found)


def _unknown(problem: Problem, plan: Plan) -> Iterator[str]:
    sessions = {session.id for session in problem.sessions}
    for step in plan.steps:
        if step.session not in sessions:
            yield f"{step.key}: no work session {step.session!r}"
        if step.kind in ("take", "refit") and step.what not in problem.components:
            yield f"{step.key}: no component {step.what!r}"
        if step.kind == "job" and step.what not in problem.jobs:
            yield f"{step.key}: no job {step.what!r}"
        if step.kind == "clear":
            effect = problem.effects.get(step.what)
            if effect is None or effect.clearing is None:
                yield f"{step.key}: no effect {step.what!r} that work clears"


@dataclass(frozen=True, slots=True)
class _Span:
    """A stretch of time in which something holds, and the steps that begin and end it."""

    start: float
    end: float
    ready: float
    opened: Step | None
    closed: Step | None


@dataclass
class _Seen:
    """The plan laid out in time."""

    problem: Problem
    plan: Plan
    number: dict[str, int] = field(init=False)
    off: dict[str, list[_Span]] = field(init=False)
    pending: dict[str, list[_Span]] = field(init=False)
    clearings: dict[str, list[Step]] = field(init=False)
    causing: dict[str, list[Step]] = field(init=False)
    jobs: dict[str, Step] = field(init=False)

    def __post_init__(self) -> None:
        problem, steps = self.problem, sorted(self.plan.steps, key=lambda s: (s.start, s.end))
        self.number = {session.id: k for k, session in enumerate(problem.sessions)}
        self.jobs = {step.what: step for step in steps if step.kind == "job"}
        self.causing = {name: [] for name in problem.effects}
        self.clearings = {name: [] for name in problem.effects}
        for step in steps:
            for name in set(self.work(step).causes):
                self.causing[name].append(step)
            for name in self.clears(step):
                self.clearings[name].append(step)
        self.off = {name: list(self._off(name, steps)) for name in problem.components}
        self.pending = {name: list(self._pending(name)) for name in problem.effects}

    def job(self, step: Step) -> Job | None:
        if step.kind == "job":
            return self.problem.jobs[step.what]
        return self.problem.effects[step.what].clearing if step.kind == "clear" else None

    def work(self, step: Step) -> Work:
        job = self.job(step)
        if job is not None:
            return job.work
        component = self.problem.components[step.what]
        return component.take if step.kind == "take" else component.refit

    def clears(self, step: Step) -> set[str]:
        job = self.job(step)
        names = set(job.clears) if job is not None else set()
        return names | {step.what} if step.kind == "clear" else names

    def session(self, step: Step) -> Session:
        return self.problem.sessions[self.number[step.session]]

    def _off(self, name: str, steps: list[Step]) -> Iterator[_Span]:
        component = self.problem.components[name]
        taken: Step | None = None
        away = name in self.problem.off
        mine = [s for s in steps if s.what == name and s.kind in ("take", "refit")]
        # of two that begin together, the taking off is first: it may have no length
        for step in sorted(mine, key=lambda s: (s.start, s.kind == "refit")):
            if step.kind == "take":
                taken, away = step, True
            elif away:
                start = taken.start if taken is not None else -NEVER
                ready = step.end + quarters(component.refit.wait)
                yield _Span(start, step.end, ready, taken, step)
                taken, away = None, False
        if away:
            yield _Span(taken.start if taken else -NEVER, NEVER, NEVER, taken, None)

    def _pending(self, name: str) -> Iterator[_Span]:
        if name in self.problem.pending:
            yield self._until(name, -NEVER, 0, None)
        for cause in self.causing[name]:
            yield self._until(name, cause.start, cause.end, cause)

    def _until(self, name: str, start: float, caused: int, cause: Step | None) -> _Span:
        """From a cause to the first clearing after it, or to when it has passed by itself."""
        effect = self.problem.effects[name]
        end = ready = NEVER if effect.clearing else float(caused + quarters(effect.lasting))
        closed = None
        for step in self.clearings[name]:
            after = cause is None or step is cause or step.start >= cause.end
            if after and step.end < end:
                end, closed = step.end, step
                ready = step.end + quarters(self.work(step).wait)
        return _Span(start, end, ready, cause, closed)

    def stands(self, span: _Span, session: int) -> bool:
        """Whether it has begun by the end of a session and nobody has ended it by then."""
        return self._by(span.opened, session) and not (
            span.closed is not None and self._by(span.closed, session)
        )

    def _by(self, step: Step | None, session: int) -> bool:
        return step is None or self.number[step.session] <= session

    def done(self, session: int) -> set[str]:
        """Jobs that are done when a session ends."""
        mine = {name for name, step in self.jobs.items() if self._by(step, session)}
        return mine | set(self.problem.done)

    def stopped(self, use: str, session: int, until: float) -> Iterator[str]:
        """Why a use is not allowed between the end of a session and the quarter ``until``.

        Session −1 is the state at the outset.
        """
        problem = self.problem
        stopping = problem.stopping(use)
        for name, component in problem.components.items():
            for span in self.off[name] if set(component.stops) & stopping else ():
                if self.stands(span, session):
                    yield f"{name} is off"
                elif self._by(span.opened, session) and span.ready > until:
                    yield f"{name} is on, but not ready before {until:g}"
        for name, effect in problem.effects.items():
            for span in self.pending[name] if set(effect.stops) & stopping else ():
                stays = effect.clearing is not None and self.stands(span, session)
                if stays or (self._by(span.opened, session) and span.ready > until):
                    yield f"{name} is pending"
        yield from _clauses(problem, use, self.done(session))


def _clauses(problem: Problem, use: str, done: set[str]) -> Iterator[str]:
    for clause in problem.clauses:
        armed = clause.done <= done and not clause.not_done & done
        if armed and clause.use in problem.stopping(use):
            yield clause.why


def _times(seen: _Seen) -> Iterator[str]:
    for step in seen.plan.steps:
        session, work = seen.session(step), seen.work(step)
        if step.start < session.start or step.end > session.end:
            yield f"{step.key}: {step.start}–{step.end} lies outside {session.id}"
        length = planned(work.hours, seen.problem.percentile)
        if step.end - step.start != length:
            yield f"{step.key}: takes {step.end - step.start} quarters, {length} planned"
        job = seen.job(step)
        if job is None:
            continue
        if step.start < job.earliest:
            yield f"{step.key}: begins at {step.start}, its parts come at {job.earliest}"
        if job.sessions and step.session not in job.sessions:
            yield f"{step.key}: in {step.session}, booked for {', '.join(job.sessions)}"
        for after in job.after:
            yield from _after(seen, step, after)
    starts = [step.start for step in seen.plan.steps]
    if starts != sorted(starts):
        yield "steps are not in order of start"


def _after(seen: _Seen, step: Step, after: After) -> Iterator[str]:
    problem = seen.problem
    first = seen.jobs.get(after.job)
    if first is None:
        if after.job not in problem.done:
            yield f"{step.key}: comes after {after.job}, which is not in the plan"
            return
    else:
        wait = max(quarters(after.lag), quarters(seen.work(first).wait))
        if step.start < first.end + wait:
            yield f"{step.key}: begins at {step.start}, before {first.end + wait} for {after.job}"
    if after.between > 0 and not _driven(seen, first, step):
        yield f"{step.key}: the car is not driven between {after.job} and it"


def _driven(seen: _Seen, first: Step | None, then: Step) -> bool:
    """Whether *drive* is allowed at the end of some session in between."""
    return _driven_by(seen, first, seen.number[then.session])


def _driven_by(seen: _Seen, first: Step | None, number: int) -> bool:
    """Whether *drive* is allowed at the end of some session from a step's to before another."""
    sessions = seen.problem.sessions
    begun = seen.number[first.session] if first is not None else -1
    return any(
        not any(seen.stopped("drive", k, sessions[k + 1].start)) for k in range(begun, number)
    )


def _people(seen: _Seen) -> Iterator[str]:
    for step in seen.plan.steps:
        work, job, session = seen.work(step), seen.job(step), seen.session(step)
        if len(step.who) != work.people or len(set(step.who)) != len(step.who):
            yield f"{step.key}: held by {step.who}, takes {work.people}"
        for name in step.who:
            if not _present(session, name, step):
                yield f"{step.key}: {name} is not there in {session.id} all the while"
        if job is not None and job.who and step.who:
            held = step.who if len(job.who) >= work.people else step.who[:1]
            if not set(held) <= set(job.who):
                yield f"{step.key}: {', '.join(held)} may not do it, only {', '.join(job.who)}"
    names = {name for step in seen.plan.steps for name in step.who}
    for name in sorted(names):
        mine = sorted((s for s in seen.plan.steps if name in s.who), key=lambda s: (s.start, s.end))
        for one, two in pairwise(mine):
            if two.start < one.end:
                yield f"{name} is at {one.key} and {two.key} at once"


def _present(session: Session, name: str, step: Step) -> bool:
    """Whether somebody is there from the start of a step to its end, perhaps in two stretches."""
    mine = sorted((p for p in session.people if p.name == name), key=lambda p: p.start)
    reached = step.start
    for here in mine:
        if here.start <= reached:
            reached = max(reached, here.end)
    begun = any(here.start <= step.start <= here.end for here in mine)
    return begun and reached >= step.end


def _tools(seen: _Seen) -> Iterator[str]:
    for tool, count in seen.problem.tools.items():
        held = [s for s in seen.plan.steps if tool in seen.work(s).tools and s.end > s.start]
        for step in held:
            if sum(s.start <= step.start < s.end for s in held) > count:
                yield f"{tool}: more than {count} held when {step.key} begins"


def _alone(seen: _Seen) -> Iterator[str]:
    """Nobody works at the car while somebody else drives it or moves an end of it, or has hands
    where a running engine reaches them."""
    steps = [s for s in seen.plan.steps if s.end > s.start]
    for one, two in permutations(steps, 2):
        if not (one.start < two.end and two.start < one.end):
            continue
        if two.who and TO_ITSELF in seen.work(one).tools:
            yield f"{two.key} goes on while {one.key} has the car to itself"
        elif two.who and seen.work(one).engine == "runs" and HANDS_IN in seen.work(two).tools:
            yield f"hands are in for {two.key} while the engine runs for {one.key}"
        elif seen.work(one).engine == "runs" == seen.work(two).engine:
            yield f"the engine runs for {one.key} and for {two.key} at once"


def _components(seen: _Seen) -> Iterator[str]:
    problem = seen.problem
    for name in problem.components:
        off = name in problem.off
        mine = [s for s in seen.plan.steps if s.what == name and s.kind in ("take", "refit")]
        mine.sort(key=lambda s: (s.start, s.kind == "refit"))
        for step in mine:
            if (step.kind == "refit") != off:
                yield f"{step.key} in {step.session}: it is {'off' if off else 'on'} then"
            off = step.kind == "take"
        for one, two in pairwise(mine):
            if two.start < one.end:
                yield f"{one.key} and {two.key} overlap"
            if one.kind == "refit" and two.kind == "take" and one.session == two.session:
                yield f"{name} is refitted and taken off again in {one.session}"
        for (kind, session), count in Counter((s.kind, s.session) for s in mine).items():
            if count > 1:
                yield f"{kind}:{name} {count} times in {session}"
        if off:
            yield f"{name} is still off at the end"


def _effects(seen: _Seen) -> Iterator[str]:
    problem = seen.problem
    for name, effect in problem.effects.items():
        for step in seen.clearings[name]:
            for cause in seen.causing[name]:
                same = cause.session == step.session and cause is not step
                if same and step.start < cause.end and effect.clearing is not None:
                    yield f"{step.key} clears {name} before {cause.key} has caused it"
            own_work = step.kind == "clear" and step.what == name
            if own_work and not any(span.closed is step for span in seen.pending[name]):
                yield f"{step.key} in {step.session}: {name} is not pending then"
        own = Counter(s.session for s in seen.clearings[name] if s.kind == "clear")
        for session, count in own.items():
            if count > 1:
                yield f"{name} is cleared {count} times in {session}"
        for span in seen.pending[name]:
            yield from _between(seen, name, span)
            if effect.owed and span.end == NEVER and not _excused(seen, name, span):
                yield f"{name} is never cleared"


def _between(seen: _Seen, name: str, span: _Span) -> Iterator[str]:
    """An effect with a distance is cleared in a later session, after the car was driven."""
    if seen.problem.effects[name].between <= 0 or span.closed is None:
        return
    if span.opened is not None and span.opened.session == span.closed.session:
        yield f"{name} is cleared in the session that causes it, {span.closed.session}"
    elif not _driven(seen, span.opened, span.closed):
        yield f"{span.closed.key}: the car is not driven before it"


def _excused(seen: _Seen, name: str, span: _Span) -> bool:
    """Whether it may stay owed: a distance must be driven first, and the car never could be."""
    if seen.problem.effects[name].between <= 0:
        return False
    last = len(seen.problem.sessions) - 1
    return not _driven_by(seen, span.opened, last)


def _jobs(seen: _Seen) -> Iterator[str]:
    times = Counter(step.what for step in seen.plan.steps if step.kind == "job")
    for name in seen.problem.jobs:
        wanted = 0 if name in seen.problem.done else 1
        if times[name] != wanted:
            yield f"job:{name} is done {times[name]} times, not {wanted}"


def _conditions(seen: _Seen) -> Iterator[str]:
    for step in seen.plan.steps:
        yield from _before_what(seen, step)
        several = [r for r in seen.work(step).needs if len(r) > 1]
        if len(several) != len(step.ways):
            yield f"{step.key}: says {len(step.ways)} ways, has {len(several)} choices"
        for requirement, way in zip(several, step.ways, strict=False):
            if way not in requirement:
                yield f"{step.key}: {' and '.join(map(str, way))} is no way to do it"
        chosen = iter(step.ways)
        for requirement in seen.work(step).needs:
            ways = requirement if len(requirement) == 1 else (next(chosen, ()),)
            for condition in (c for way in ways for c in way):
                for why in _missed(seen, step, condition):
                    yield f"{step.key} in {step.session} needs {condition.kind} {why}"


def _before_what(seen: _Seen, step: Step) -> Iterator[str]:
    for name in seen.work(step).not_before:
        for span in seen.pending.get(name, ()):
            if span.closed is not step and span.start < step.end and step.start < span.end:
                yield f"{step.key} in {step.session} comes before {name} is cleared"


def _missed(seen: _Seen, step: Step, condition: Condition) -> Iterator[str]:
    name, problem = condition.name, seen.problem
    if condition.kind == "tool":
        if name not in seen.session(step).tools:
            yield f"{name}: not there"
    elif condition.kind == "off":
        if not any(_open(problem, name, span, step) for span in seen.off.get(name, ())):
            yield f"{name}: it is not off, or not for long enough"
    elif condition.kind == "on":
        if _shut(seen, name, step) or name not in problem.components:
            yield f"{name}: it is not on all the while"
    elif condition.kind == "clear":
        if _hangs(seen, name, step) or name not in problem.effects:
            yield f"{name}: it is pending"
    else:
        stopping = problem.stopping(name)
        for other, component in problem.components.items():
            if set(component.stops) & stopping and _shut(seen, other, step):
                yield f"{name}: {other} is not on all the while"
        for other, effect in problem.effects.items():
            if set(effect.stops) & stopping and _hangs(seen, other, step):
                yield f"{name}: {other} is pending"
        done = {j for j, s in seen.jobs.items() if s.end <= step.start and s is not step}
        for why in _clauses(problem, name, done | set(problem.done)):
            yield f"{name}: {why}"


def _open(problem: Problem, name: str, span: _Span, step: Step) -> bool:
    """Whether a component is off from the start of a step to its end."""
    since = -NEVER
    if span.opened is not None:
        since = span.opened.end + quarters(problem.components[name].take.wait)
    until = span.closed.start if span.closed is not None else NEVER
    return since <= step.start and step.end <= until


def _shut(seen: _Seen, name: str, step: Step) -> bool:
    """Whether a component is not on at some time of a step that is not its own taking off."""
    return any(
        span.start < step.end and span.ready > step.start
        for span in seen.off.get(name, ())
        if span.opened is not step
    )


def _hangs(seen: _Seen, name: str, step: Step) -> bool:
    """Whether an effect is pending at some time of a step that does not itself cause it."""
    return any(
        span.start < step.end and span.ready > step.start
        for span in seen.pending.get(name, ())
        if span.opened is not step
    )


def _needs(seen: _Seen) -> Iterator[str]:
    for need in seen.problem.needs:
        for why in seen.stopped(need.use, seen.number[need.session], need.until):
            yield f"{need.use} is needed after {need.session}: {why}"


def _budgets(seen: _Seen) -> Iterator[str]:
    for budget in seen.problem.budgets:
        last = max((seen.number[name] for name in budget.sessions), default=-1)
        spent = 0.0
        for step in seen.plan.steps:
            job = seen.job(step)
            if job is not None and seen.number[step.session] <= last:
                spent += job.price
        if spent > budget.most + 1e-6:
            yield f"{budget.title}: {spent:g} spent, {budget.most:g} at most"


def _told(seen: _Seen) -> Iterator[str]:
    """What the plan says of itself: its aims and how the car stands after each session."""
    plan, problem = seen.plan, seen.problem
    held = sum(seen.work(s).people * (s.end - s.start) for s in plan.steps)
    used = [seen.number[s.session] + 1 for s in plan.steps]
    true = {"hours": held / QUARTERS_AN_HOUR, "finish": float(max(used, default=0))}
    if tuple(aim.name for aim in plan.aims) != tuple(problem.first):
        yield f"aims are {', '.join(aim.name for aim in plan.aims)}"
    for aim in plan.aims:
        if abs(aim.value - true[aim.name]) > 1e-6:
            yield f"{aim.name}: says {aim.value:g}, is {true[aim.name]:g}"
        if aim.bound > aim.value + 1e-6:
            yield f"{aim.name}: bound {aim.bound:g} above the value {aim.value:g}"
    if len(plan.ends) != len(problem.sessions):
        yield f"{len(plan.ends)} session ends for {len(problem.sessions)} sessions"
        return
    for k, (session, end) in enumerate(zip(problem.sessions, plan.ends, strict=True)):
        off = {n for n, spans in seen.off.items() if any(seen.stands(x, k) for x in spans)}
        hang = {
            name
            for name, spans in seen.pending.items()
            if any(seen.stands(x, k) and x.end > session.end for x in spans)
        }
        true_end = (session.id, frozenset(off), frozenset(hang), frozenset(seen.done(k)))
        if (end.session, end.off, end.pending, end.done) != true_end:
            yield f"how the car stands after {session.id} is not what the steps make of it"
