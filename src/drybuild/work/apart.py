"""While it is apart: what else lies open, what it costs now and later, and what may wait.

Whatever lies behind an opening of the plan costs only its own hours now, and the whole way in
later. Whether it is worth doing now hangs on how likely it is to be wanted before long: the same
reckoning as for renewing something before it fails (R. E. Barlow and F. Proschan, Mathematical
Theory of Reliability, 1965, ch. 3 *from memory*), looked at over a stated number of years. The new
one may fail in that time too, and counts with its own chance. Lives are common practice at best:
the chance and the saving are given with their doubt.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass, replace

from drybuild.work.durations import planned
from drybuild.work.ends import cleared_by, work_of
from drybuild.work.model import (
    QUARTERS_AN_HOUR,
    Condition,
    Job,
    Plan,
    Problem,
    Renewable,
    Step,
    ToDo,
    WearItem,
)
from drybuild.work.reach import Reach, person_hours, reach
from drybuild.work.risk.alone import alone, movable, off_later
from drybuild.work.risk.network import Network, network
from drybuild.work.wear import Clock, fails_within

USUAL_YEARLY = 12_000.0
"""km a year where nobody said: common practice."""

SHARED = 0.1
"""Person-hours of opening shared below which nothing is said of something."""

LITTLE = 0.25
"""Person-hours of sharing below which a job loses nothing worth speaking of by waiting."""


@dataclass(frozen=True, slots=True)
class Likely:
    """A figure in the middle, and with lives as much longer or shorter as they may be.

    low ≤ middle ≤ high.
    """

    low: float
    middle: float
    high: float


@dataclass(frozen=True, slots=True)
class WhileThere:
    """Something that lies open, or nearly so, at one moment of the plan.

    what: its id; session: of that moment. open: components that are off then and that it needs
    off; besides: to be taken off for it alone. own: person-hours of doing it; now, later: with
    what has to be opened and cleared for it alone, at that moment and from the closed car. part:
    price of the part, renew_now and renew_later: of what is used up, None where not known.
    wanted: chance that the old one fails within the horizon, None where it has no stated life or
    the car's age and distance are not known; new_wanted: of the new one. saving: expected, in
    currency, None where an hour has no price or the part none; saving_hours: expected,
    person-hours. spare: person-hours that the session has to spare. exact: whether every way in
    was tried.
    """

    what: str
    title: str
    session: str
    open: tuple[str, ...]
    besides: tuple[str, ...]
    own: float
    now: float
    later: float
    part: float | None
    renew_now: float
    renew_later: float
    damage: float
    wanted: Likely | None
    new_wanted: float | None
    saving: Likely | None
    saving_hours: Likely | None
    spare: float
    source: str = ""
    exact: bool = True

    @property
    def shared(self) -> float:
        """Person-hours that doing it now saves over doing it later."""
        return self.later - self.now

    @property
    def fits(self) -> bool:
        """Whether the session has the hours to spare."""
        return self.now <= self.spare

    @property
    def pays(self) -> bool:
        """Whether doing it now is expected to save anything."""
        best = self.saving if self.saving is not None else self.saving_hours
        return best is not None and best.middle > 0.0


@dataclass(frozen=True, slots=True)
class MayWait:
    """A job of the plan whose opening serves nothing else.

    frees: person-hours that it and its opening take in ``session``. loses: person-hours that
    waiting costs, when it is done from the closed car. better: a later session in which what it
    needs is open anyway, and what doing it there saves, h; empty and 0 for none.
    """

    what: str
    title: str
    session: str
    frees: float
    loses: float
    better: str = ""
    saves: float = 0.0


@dataclass(frozen=True)
class Apart:
    """What lies open, most worth doing first, and what may wait.

    hour: what an hour of work is worth, or None. years: the horizon. yearly: km a year; assumed:
    which of age, distance and yearly distance nobody stated.
    """

    found: tuple[WhileThere, ...]
    may_wait: tuple[MayWait, ...]
    currency: str
    hour: float | None
    years: float
    age: float | None
    odometer: float | None
    yearly: float
    assumed: tuple[str, ...]

    def of(self, session: str) -> tuple[WhileThere, ...]:
        """What is best done in one session."""
        return tuple(item for item in self.found if item.session == session)


def while_apart(
    todo: ToDo, plan: Plan, *, years: float = 5.0, hour: float | None = None,
    wear: Mapping[str, WearItem] | None = None, others: Mapping[str, Job] | None = None,
    over: Collection[Step] = (),
) -> Apart:  # fmt: skip
    """What else to do at each opening of a plan, and what to leave for the next.

    years: how far ahead to look, above 0 (ValueError). hour: what an hour is worth, in the build's
    currency; unset: the labour rate. wear: unset: the build's own. others: further jobs that might
    be done, without a life. over: steps that are written down: what they had open and shut
    again lies open no more. Raises KeyError for a step that the problem does not know.
    """
    if not years > 0.0:
        raise ValueError(f"years to look ahead must be above 0; found {years:g}")
    look = _Look(todo, plan, years, todo.labour_rate if hour is None else hour, over)
    items = dict(todo.wear if wear is None else wear)
    for name, job in (others or {}).items():
        items.setdefault(name, WearItem(name, job.title, job, source=""))
    found = [seen for item in items.values() if (seen := look.at(item)) is not None]
    found.sort(key=_worth)
    done = {step.what for step in over if step.kind == "job"}
    said = {"age": todo.age, "distance": todo.odometer, "distance a year": todo.yearly}
    return Apart(
        tuple(found),
        tuple(one for one in _may_wait(network(todo.problem, plan)) if one.what not in done),
        todo.currency, look.hour,
        years, todo.age, todo.odometer, look.yearly,
        tuple(name for name, value in said.items() if value is None),
    )  # fmt: skip


def _worth(item: WhileThere) -> tuple[bool, bool, float, float, str]:
    """Sort key: what has a saving in currency, then in hours, then what shares most."""
    money = item.saving.middle if item.saving is not None else 0.0
    hours = item.saving_hours.middle if item.saving_hours is not None else 0.0
    return (
        item.saving_hours is None, item.saving is None and item.saving_hours is not None,
        -(money if item.saving is not None else hours), -item.shared, item.what,
    )  # fmt: skip


@dataclass(frozen=True, slots=True)
class Moment:
    """The car at one moment of a plan."""

    session: str
    off: frozenset[str]
    pending: frozenset[str]


def moments(problem: Problem, plan: Plan, over: Collection[Step] = ()) -> Iterator[Moment]:
    """The car after each step of a plan, with what is off from end of taking to start of refit.

    over: steps that are done, of which only what they leave is a moment: the present one.
    """
    events: list[tuple[int, int, Step]] = []
    for step in plan.steps:
        events.append((step.start, 1, step))
        events.append((step.end, 0, step))
    off, pending = set(problem.off), set(problem.pending)
    seen: set[Moment] = set()
    events.sort(key=lambda e: (e[2] not in over, e[0], e[1]))
    last = sum(e[2] in over for e in events) - 1
    for n, (_, begins, step) in enumerate(events):
        if begins:
            if step.kind == "refit":
                off.discard(step.what)
            pending |= {e for e in work_of(problem, step).causes if problem.effects[e].clearing}
        else:
            if step.kind == "take":
                off.add(step.what)
            pending -= cleared_by(problem, step)
        if n < last:
            continue
        here = events[min(n + 1, len(events) - 1)][2] if n == last else step
        moment = Moment(here.session, frozenset(off), frozenset(pending))
        if moment not in seen:
            seen.add(moment)
            yield moment


class _Look:
    def __init__(
        self, todo: ToDo, plan: Plan, years: float, hour: float | None, over: Collection[Step]
    ) -> None:
        self.todo, self.problem, self.years, self.hour = todo, todo.problem, years, hour
        self.yearly = USUAL_YEARLY if todo.yearly is None else todo.yearly
        self.moments = tuple(moments(self.problem, plan, over))
        self.tools = {session.id: session.tools for session in self.problem.sessions}
        self.every_tool = frozenset(t for tools in self.tools.values() for t in tools)
        self.spare = dict(_spare(self.problem, plan))
        self.renewed = [
            _said(one.name) for key in dict.fromkeys(step.key for step in plan.steps)
            for one in (todo.notes[key].renew if key in todo.notes else ())
        ]  # fmt: skip
        self.known: dict[tuple[str, frozenset[str], frozenset[str], str], Reach | None] = {}

    def at(self, item: WearItem) -> WhileThere | None:
        """At the moment at which it is reached with fewest hours.

        None where more of the way is closed than open: that is no while-apart.
        """
        job = item.job
        if any(name in self.problem.jobs for name in (job.id, item.id, *item.done_by)):
            return None
        if any(words <= _said(item.title) for words in self.renewed):
            return None
        later = reach(self.problem, job, tools=self.every_tool)
        if later is None:
            return None
        near, uses = _near(self.problem, job)
        best: tuple[Moment, Reach] | None = None
        for moment in self.moments:
            off = moment.off if uses else moment.off & near
            way = self._way(job, off, moment)
            if way is not None and (best is None or self._better(job, moment, way, *best)):
                best = (moment, way)
        if best is None or later.hours - best[1].hours < max(SHARED, best[1].hours):
            return None
        return self._found(item, best[0], best[1], later)

    def _better(self, job: Job, moment: Moment, way: Reach, held: Moment, than: Reach) -> bool:
        """Whether a moment is reached with fewer hours, or with as many where there is room."""
        if abs(way.hours - than.hours) > 1e-9:
            return way.hours < than.hours
        wanted = person_hours(job.work) + way.hours
        return self.spare[moment.session] >= wanted > self.spare[held.session]

    def _way(self, job: Job, off: frozenset[str], moment: Moment) -> Reach | None:
        key = (job.id, off, moment.pending, moment.session)
        if key not in self.known:
            tools = self.tools[moment.session]
            self.known[key] = reach(
                self.problem, job, off=off, pending=moment.pending, tools=tools
            )
        return self.known[key]

    def _found(self, item: WearItem, moment: Moment, now: Reach, later: Reach) -> WhileThere:
        own = person_hours(item.job.work)
        part = item.job.price or None
        renew_now = _priced(item.renew) + self._renewed(now)
        renew_later = _priced(item.renew) + self._renewed(later)
        seen = WhileThere(
            item.id, item.title, moment.session,
            tuple(c for c in later.components if c in moment.off), now.components,
            own, own + now.hours, own + later.hours, part, renew_now, renew_later, item.damage,
            None, None, None, None, self.spare[moment.session], item.source,
            now.exact and later.exact,
        )  # fmt: skip
        chances = self._wanted(item)
        return seen if chances is None else _with_saving(seen, chances, self.hour)

    def _renewed(self, way: Reach) -> float:
        """Price of what opening, closing and clearing use up."""
        keys = [f"{kind}:{name}" for name in way.components for kind in ("take", "refit")]
        keys += [f"clear:{name}" for name in way.effects]
        return sum(_priced(self.todo.notes[k].renew) for k in keys if k in self.todo.notes)

    def _wanted(self, item: WearItem) -> tuple[tuple[float, float], ...] | None:
        """Chance of the old and of the new one, for lives longer, as said, and shorter."""
        used: list[tuple[float, float, float]] = []
        if item.km and self.todo.odometer is not None:
            behind = max(0.0, self.todo.odometer - item.renewed_km)
            used.append((item.km, behind, self.yearly * self.years))
        if item.years and self.todo.age is not None:
            behind = max(0.0, self.todo.age - item.renewed_years)
            used.append((item.years, behind, self.years))
        if not used:
            return None
        return tuple(
            (
                fails_within(item.shape, [Clock(life * by, old, more) for life, old, more in used]),
                fails_within(item.shape, [Clock(life * by, 0.0, more) for life, _, more in used]),
            )
            for by in (item.life_doubt, 1.0, 1.0 / item.life_doubt)
        )


def _with_saving(
    seen: WhileThere, chances: tuple[tuple[float, float], ...], hour: float | None
) -> WhileThere:
    """What it is expected to save to renew it now, over leaving it until it is wanted."""
    wanted = Likely(chances[0][0], chances[1][0], chances[2][0])
    hours = [(old - new) * seen.later - seen.now for old, new in chances]
    money = None
    if hour is not None and seen.part is not None:
        now = hour * seen.now + seen.part + seen.renew_now
        later = hour * seen.later + seen.part + seen.renew_later + seen.damage
        money = [(old - new) * later - now for old, new in chances]
    return replace(
        seen, wanted=wanted, new_wanted=chances[1][1], saving_hours=_likely(hours),
        saving=_likely(money) if money is not None else None,
    )  # fmt: skip


_JOINING = frozenset({"a", "and", "for", "of", "or", "the", "with"})


def _said(name: str) -> frozenset[str]:
    """The words of a name that say what it is: what the plan's own work renews by all of them is
    bought and done already."""
    return frozenset(name.lower().replace(",", " ").split()) - _JOINING


def _likely(three: list[float]) -> Likely:
    return Likely(min(three), three[1], max(three))


def _priced(renew: tuple[Renewable, ...]) -> float:
    return sum((one.price or 0.0) * one.quantity for one in renew)


def _near(problem: Problem, job: Job) -> tuple[frozenset[str], bool]:
    """Components that can bear on the way to a job, and whether uses do, which all bear on."""
    seen: set[str] = set()
    works, uses = [job.work], False
    while works:
        for condition in _conditions(works.pop().needs):
            uses = uses or condition.kind == "use"
            name = condition.name
            if condition.kind in ("off", "on") and name not in seen and name in problem.components:
                seen.add(name)
                works += [problem.components[name].take, problem.components[name].refit]
    return frozenset(seen), uses


def _conditions(
    needs: tuple[tuple[tuple[Condition, ...], ...], ...],
) -> Iterator[Condition]:
    for requirement in needs:
        for way in requirement:
            yield from way


def _spare(problem: Problem, plan: Plan) -> Iterator[tuple[str, float]]:
    """Person-hours of each session that the plan does not use."""
    for session in problem.sessions:
        there = sum(p.end - p.start for p in session.people)
        works = [work_of(problem, step) for step in plan.of(session.id)]
        busy = sum(w.people * planned(w.hours, problem.percentile) for w in works)
        yield session.id, max(0, there - busy) / QUARTERS_AN_HOUR


def _may_wait(plan: Network) -> list[MayWait]:
    """Jobs whose opening serves nothing else, those that free most first."""
    found = []
    for index, task in enumerate(plan.tasks):
        if not movable(plan, task):
            continue
        job = plan.problem.jobs[task.step.what]
        group = alone(plan, index)
        frees = sum(person_hours(plan.tasks[k].work) for k in group)
        opened = frees - person_hours(task.work)
        closed = reach(plan.problem, job)
        if closed is None:
            continue
        loses = max(0.0, closed.hours - opened)
        better, saves = _better(plan, index, opened)
        if loses < LITTLE or saves >= LITTLE:
            session = plan.problem.sessions[task.session].id
            found.append(
                MayWait(task.step.what, job.title, session, frees, loses, better, saves)
            )
    return sorted(found, key=lambda w: (-w.saves, -w.frees, w.what))


def _better(plan: Network, index: int, opened: float) -> tuple[str, float]:
    """A later session in which the job is open anyway, and the hours that this saves."""
    task, problem = plan.tasks[index], plan.problem
    job = problem.jobs[task.step.what]
    best = ("", 0.0)
    for session, off in off_later(plan, task.session):
        way = reach(problem, job, off=off)
        if way is not None and opened - way.hours > best[1] + 1e-9:
            best = (problem.sessions[session].id, opened - way.hours)
    return best
