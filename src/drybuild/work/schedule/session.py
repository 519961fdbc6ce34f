"""Whether a choice of tasks can be done in one session: when and by whom, or what clashes.

A quick schedule is tried first; where that finds none, constraint programming settles it. When
there is none, a small set of tasks is named that cannot be together in this session, whatever
else is done in it.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Collection
from dataclasses import dataclass, field, replace
from math import inf
from random import Random

from drybuild.work.model import Condition, Problem, Session, Step, StepKind
from drybuild.work.schedule.conditions import World
from drybuild.work.schedule.laid import Laid, lay
from drybuild.work.schedule.listed import Net, Placed, free_quarters, list_schedule
from drybuild.work.schedule.session_cp import exact_schedule
from drybuild.work.schedule.stand import Facts, Stand, stand_after, stand_of

__all__ = [
    "Clash",
    "Facts",
    "Fit",
    "Say",
    "Stand",
    "Unsettled",
    "fit_session",
    "said_by",
    "stand_after",
    "stand_of",
]

DEAR = 7
"""How many searches one counts for, beyond itself, that ran out of time."""

KINDS: dict[str, StepKind] = {"take": "take", "refit": "refit", "job": "job", "clear": "clear"}


@dataclass(frozen=True, slots=True)
class Fit:
    """The tasks of a session with their times, persons and ways, in order of start."""

    steps: tuple[Step, ...]


@dataclass(frozen=True, slots=True)
class Clash:
    """These cannot all be in the session while none of ``absent`` is in it, whatever else is.

    stands: whether that hangs on how the car stands at the start of the session, and on when the
    tasks of earlier sessions ended. known: what of the car's state it hangs on, as ``off:NAME``,
    ``pending:NAME`` and ``done:NAME`` of a job; whether each is so or not is as the stand says.
    missing: conditions that nothing provides. also: other sets of the same tasks that cannot be.
    """

    keys: frozenset[str]
    absent: frozenset[str] = frozenset()
    stands: bool = False
    missing: tuple[Condition, ...] = ()
    words: str = ""
    known: frozenset[str] = frozenset()
    also: tuple[Clash, ...] = ()


@dataclass(frozen=True, slots=True)
class Unsettled:
    """The time ran out before a schedule was found or shown not to exist."""


def fit_session(
    problem: Problem,
    session: Session,
    chosen: Collection[str],
    stand: Stand,
    *,
    seconds: float = 2.0,
    seed: int = 0,
    exact: bool = True,
    facts: Facts | None = None,
    steady: bool = False,
    shrink: float | None = None,
    ways: int = 1,
    narrow: bool = False,
) -> Fit | Clash | Unsettled:
    """Schedule the tasks ``chosen`` (by ``Step.key``) in a session that begins as ``stand`` says.

    seconds: of deterministic time for one search; all of them together take at most six times
    that on a clock, unless ``steady``: then only the solver's own measure counts, so that the same
    is found on any machine. shrink: the same for each search that makes a clash smaller. ways: how
    many clashes to name, the others in ``also`` of the first. narrow: whether to find out on how
    little of the stand a clash hangs. exact: whether to go on where the
    quick schedule finds none. facts: of this problem, if they are there already. Raises KeyError
    for a task that the problem does not have.
    """
    facts = facts if facts is not None and facts.problem is problem else Facts(problem)
    keys = tuple(sorted(chosen))
    unknown = [key for key in keys if key not in facts.lengths]
    if unknown:
        raise KeyError(f"no task {', '.join(unknown)}")
    world = World(facts, session, keys, None, stand)
    laid = lay(world)
    placed = list_schedule(laid, session, seed=seed)
    if placed is not None:
        return Fit(_steps(world, placed))
    if laid.broken:
        return _broken(world, laid)
    if not exact:
        return Unsettled()
    found = exact_schedule(laid, session, seconds=seconds, seed=seed, steady=steady)
    if isinstance(found, Placed):
        return Fit(_steps(world, found))
    if found == "unsettled":
        return Unsettled()
    least = seconds if shrink is None else shrink
    clash, *others = (
        _Shrink(world, laid, least, seed, steady=steady, mixed=n, narrow=narrow).clash()
        for n in range(ways)
    )
    return replace(clash, also=tuple(dict.fromkeys(others)))


def _steps(world: World, placed: Placed) -> tuple[Step, ...]:
    found = []
    for n, key in enumerate(world.keys):
        kind, what = key.split(":", 1)
        several = [k for k, r in enumerate(world.facts.work(key).needs) if len(r) > 1]
        found.append(
            Step(
                kind=KINDS[kind],
                what=what,
                session=world.session.id,
                start=placed.starts[n],
                end=placed.starts[n] + world.length(key),
                who=placed.who[n],
                ways=tuple(placed.ways[n, k] for k in several),
            )
        )
    return tuple(sorted(found, key=lambda step: (step.start, step.end, step.key)))


def _broken(world: World, laid: Laid) -> Clash:
    """What cannot be at all: the world around it is opened as far as it still cannot be."""
    everywhere = lay(replace(world, absent=frozenset(), stand=None))
    if everywhere.broken:
        found = _Shrink(world, laid, 0.0, 0).clash()
        return replace(found, words=everywhere.broken[0].words)
    first = laid.broken[0]
    shrink = _Shrink(replace(world, keys=tuple(sorted(first.keys))), laid, 0.0, 0)
    return replace(shrink.clash(frozenset(world.keys)), missing=first.missing, words=first.words)


@dataclass(frozen=True, slots=True)
class Say:
    """What has a say in whether some tasks can be done in a session."""

    components: frozenset[str]
    effects: frozenset[str]
    jobs: frozenset[str]
    tasks: set[str]

    @property
    def known(self) -> frozenset[str]:
        """The same as what of a stand it hangs on."""
        said = (("off", self.components), ("pending", self.effects), ("done", self.jobs))
        return frozenset(f"{kind}:{name}" for kind, names in said for name in names)


def said_by(facts: Facts, keys: Collection[str]) -> Say:
    """The components, effects, jobs and tasks that the doing of these tasks hangs on."""
    parts: set[str] = set()
    effects: set[str] = set()
    jobs: set[str] = set()
    for key in keys:
        work, job = facts.work(key), facts.job(key)
        jobs |= {after.job for after in (job.after if job is not None else ())}
        parts |= {key.split(":", 1)[1]} & set(facts.problem.components)
        effects |= set(facts.clears(key)) | set(work.causes)
        for condition in (c for r in work.needs for way in r for c in way):
            parts |= {condition.name} if condition.kind in ("off", "on") else set()
            effects |= {condition.name} if condition.kind == "clear" else set()
            if condition.kind == "use":
                stopping = facts.stopping.get(condition.name, ((), ()))
                parts |= set(stopping[0])
                effects |= set(stopping[1])
                for clause in facts.problem.clauses:
                    jobs |= clause.done | clause.not_done
    tasks = {f"job:{name}" for name in jobs}
    tasks |= {f"{kind}:{name}" for name in parts for kind in ("take", "refit")}
    for name in effects:
        tasks |= {*facts.causing.get(name, ()), *facts.clearing.get(name, ())}
    return Say(frozenset(parts), frozenset(effects), frozenset(jobs), tasks & set(facts.lengths))


@dataclass
class _Shrink:
    """Takes away tasks, and what is known, for as long as the rest still cannot be done.

    searches: how many are left; when none is, nothing more is taken away. mixed: short tasks are
    tried first, but for another number than 0: then in an order of chance that goes with it.
    """

    world: World
    laid: Laid
    seconds: float
    seed: int
    searches: int = 80
    steady: bool = False
    mixed: int = 0
    narrow: bool = False
    until: float = field(default=0.0)

    def clash(self, chosen: frozenset[str] | None = None) -> Clash:
        """The clash that is left."""
        self.until = inf if self.steady else time.perf_counter() + 6 * self.seconds
        keys, stand = self.world.keys, self.world.stand
        if self.cannot(replace(self.world, absent=frozenset(), stand=None)):
            kept = self.least(keys, lambda k: World(*self.base(), tuple(k), frozenset(), None))
            return self.named(kept, frozenset(), False)
        if self.cannot(replace(self.world, absent=frozenset())):
            kept = self.least(keys, lambda k: World(*self.base(), tuple(k), frozenset(), stand))
            return self.standing(kept, frozenset())
        absent = frozenset(self.nearby()) - (chosen or frozenset(keys))
        if not self.cannot(replace(self.world, absent=absent)):
            return self.standing(keys, frozenset(self.world.facts.lengths) - set(keys))
        away = self.least(tuple(sorted(absent)), lambda a: replace(self.world, absent=frozenset(a)))
        kept = self.least(keys, lambda k: World(*self.base(), tuple(k), frozenset(away), stand))
        return self.standing(kept, frozenset(away))

    def standing(self, keys: tuple[str, ...], absent: frozenset[str]) -> Clash:
        """A clash that hangs on the stand, and on as little of it as was found out."""
        if not self.narrow:
            every = said_by(self.world.facts, tuple(self.world.facts.lengths)).known
            return replace(self.named(keys, absent, True), known=every)
        say = said_by(self.world.facts, self.world.keys).known
        every = said_by(self.world.facts, tuple(self.world.facts.lengths)).known
        facts, session, stand = *self.base(), self.world.stand

        def seen(known: tuple[str, ...]) -> World:
            return World(facts, session, keys, absent, stand, every - set(known))

        known = tuple(sorted(say))
        known = self.least(known, seen) if self.cannot(seen(known)) else tuple(sorted(every))
        return replace(self.named(keys, absent, True), known=frozenset(known))

    def base(self) -> tuple[Facts, Session]:
        return self.world.facts, self.world.session

    def cannot(self, world: World) -> bool:
        """Whether nothing can be done in this world; in doubt it can."""
        laid, session = lay(world), world.session
        if laid.broken:
            return True
        base = Net.of(laid)
        if base is None or _overfull(laid, session):
            return True
        if self.searches <= 0 or time.perf_counter() > self.until:
            return False
        if list_schedule(laid, session, tries=4, seed=self.seed, base=base) is not None:
            return False
        self.searches -= 1
        found = exact_schedule(
            laid, session, seconds=self.seconds, seed=self.seed, steady=self.steady
        )
        if self.steady and found == "unsettled":
            self.searches -= DEAR
        return found == "none"

    def least(
        self, items: tuple[str, ...], world: Callable[[tuple[str, ...]], World]
    ) -> tuple[str, ...]:
        """Fewer items with which it still cannot be done: halves are left out, then single ones."""
        lengths = self.world.facts.lengths
        kept = sorted(items, key=lambda key: (lengths.get(key, 0), key))
        if self.mixed:
            Random(f"{self.seed} {self.mixed}").shuffle(kept)
        size = max(1, len(kept) // 2)
        while kept:
            at = 0
            while at < len(kept):
                fewer = tuple(sorted((*kept[:at], *kept[at + size :])))
                if self.cannot(world(fewer)):
                    del kept[at : at + size]
                else:
                    at += size
            if size == 1:
                break
            size //= 2
        return tuple(sorted(kept))

    def nearby(self) -> set[str]:
        """Tasks that have a say in whether the session's can be done."""
        return said_by(self.world.facts, self.world.keys).tasks

    def named(self, keys: tuple[str, ...], absent: frozenset[str], stands: bool) -> Clash:
        session = self.world.session
        hours = sum(self.laid_length(key) for key in keys) / 4
        said = f"{round(hours) if hours >= 10 else hours:g} person-hours"
        words = f"{', '.join(keys)} ({said}) do not fit into {session.title}"
        return Clash(frozenset(keys), absent, stands, words=words)

    def laid_length(self, key: str) -> int:
        """Person-quarters of a task."""
        return self.world.facts.work(key).people * self.world.length(key)


def _overfull(laid: Laid, session: Session) -> bool:
    """Whether there is more work than people's time."""
    there = sum(bits.bit_count() for bits in free_quarters(session).values())
    return sum(task.people * task.length for task in laid.tasks) > there
