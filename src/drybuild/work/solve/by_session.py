"""Session by session: the model without times proposes, a schedule of each session answers.

Where a session's tasks do not fit into its day, a small set of them that cannot becomes a cut, for
that session and for every other that offers no more; the model proposes again. Once every session
has its schedule, what was proposed last is the best plan there is: each cut only says what a
schedule said, and without times the model forbids nothing that could be done. This is logic-based
Benders decomposition (J. N. Hooker and G. Ottosson, Mathematical Programming 96 (2003) 33-60,
*from memory*).
"""

from __future__ import annotations

from collections.abc import Hashable, Iterable, Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from drybuild.work.durations import quarters
from drybuild.work.model import Problem, Session, Step
from drybuild.work.schedule.session import (
    Clash,
    Facts,
    Fit,
    Stand,
    Unsettled,
    fit_session,
    stand_after,
    stand_of,
)
from drybuild.work.solve.timing import presence

if TYPE_CHECKING:
    from drybuild.work.solve.laid import Laid

SETTLE, SHRINK = 0.5, 0.02
"""Deterministic seconds for one search of a session's schedule, and of a part of its tasks."""

QUICK = 0.1
"""The first where any proposal will do."""

LAST = 5.0
"""The same where nothing else can be learned."""

WAYS = 2
"""Clashes that are named of a session at once: each spares proposals."""

COST = 0.15
"""What the naming of a clash is taken to cost, in deterministic seconds."""

Learned = tuple[int, Stand, Clash]
"""The number of a session, how the car stood before it, and what could not be in it then."""


@dataclass
class BySession:
    """Schedules what a model without times proposes, or teaches the model why that cannot be.

    stuck: a session was not settled in its time, or hangs on when earlier tasks ended, and so there
    is nothing to teach. spent: deterministic seconds, about. quick: clashes are named as they are
    found, and a session that is hard to settle is given up: for a first plan, not for a proof.
    learned: clashes of earlier searches, of the same problem with fewer clauses or as many: what
    could not be then cannot be now. Those that are found are added.
    """

    rough: Laid
    seed: int
    quick: bool = False
    learned: list[Learned] = field(default_factory=list)
    stuck: bool = False
    spent: float = 0.0
    facts: Facts = field(init=False)
    _reach: int = field(init=False)
    _settled: dict[Hashable, Fit] = field(init=False, default_factory=dict)

    def __post_init__(self) -> None:
        self.facts = Facts(self.rough.problem)
        self._reach = _longest_wait(self.rough.problem)
        for k, stand, clash in self.learned:
            self._teach(k, stand, clash)

    def steps(self, chosen: Mapping[str, int]) -> tuple[Step, ...] | None:
        """The steps of a proposal, by the names of its truth values; None: it cannot be."""
        problem, found = self.rough.problem, list[Step]()
        stand, taught, fits = stand_of(problem), False, True
        for k, session in enumerate(problem.sessions):
            keys = [
                key for (key, i), t in self.rough.states.does.items() if i == k and _is(t, chosen)
            ]
            fit = self._fit(session, keys, stand, QUICK if self.quick else SETTLE)
            if isinstance(fit, Unsettled) and not taught and not self.quick:
                self.spent += COST
                fit = self._fit(session, keys, stand, LAST)
            if isinstance(fit, Fit):
                found += fit.steps
                stand = stand_after(problem, stand, fit.steps, facts=self.facts)
                continue
            fits = False
            clashes = (fit, *fit.also) if isinstance(fit, Clash) else ()
            self.spent += COST * max(1, len(clashes))
            late = self._late(stand, session)
            for clash in clashes:
                if not (clash.stands and late):
                    self._teach(k, stand, clash)
                    self.learned.append((k, stand, clash))
                    taught = True
            stand = self._as_chosen(k, chosen, stand, keys)
        self.stuck = not fits and not taught
        return tuple(found) if fits else None

    def _fit(
        self, session: Session, keys: list[str], stand: Stand, seconds: float
    ) -> Fit | Clash | Unsettled:
        ended, passing = frozenset(stand.ended.items()), frozenset(stand.passing.items())
        same = (session.id, *keys, stand.off, stand.pending, stand.done, ended, passing)
        if same not in self._settled:
            fit = self._searched(session, keys, stand, seconds)
            if not isinstance(fit, Fit):
                return fit
            self._settled[same] = fit
        return self._settled[same]

    def _searched(
        self, session: Session, keys: list[str], stand: Stand, seconds: float
    ) -> Fit | Clash | Unsettled:
        return fit_session(
            self.rough.problem, session, keys, stand,
            seconds=seconds, shrink=SHRINK, ways=1 if self.quick else WAYS, seed=self.seed,
            facts=self.facts, steady=True, narrow=not self.quick,
        )  # fmt: skip

    def _late(self, stand: Stand, session: Session) -> bool:
        """Whether something of earlier sessions may still be waited for."""
        ends = (*(end + self._reach for end in stand.ended.values()), *stand.passing.values())
        return any(end > session.start for end in ends)

    def _as_chosen(
        self, k: int, chosen: Mapping[str, int], stand: Stand, keys: Iterable[str]
    ) -> Stand:
        """The car after a session of which only the choice is known: each task over at its end."""
        states, end = self.rough.states, self.rough.problem.sessions[k].end
        off = {n for n in states.tasks.components if _is(states.off_after(n, k), chosen)}
        pending = {n for n in states.tasks.effects if _is(states.pending_after(n, k), chosen)}
        ended = dict(stand.ended) | {key: end for key in keys}
        done = stand.done | {key.removeprefix("job:") for key in keys if key.startswith("job:")}
        return Stand(frozenset(off), frozenset(pending), done, ended, dict(stand.passing))

    def _teach(self, k: int, stand: Stand, clash: Clash) -> None:
        """Adds the cut, wherever it holds."""
        sessions = self.rough.problem.sessions
        for i, other in enumerate(sessions):
            if i != k and not self._no_more(sessions[k], other, clash.keys):
                continue
            does = [self.rough.states.at(key, i) for key in sorted(clash.keys)]
            if any(isinstance(one, int) for one in does):
                continue
            absent = [self.rough.states.at(key, i) for key in sorted(clash.absent)]
            otherwise = self._otherwise(i, sorted(clash.known), stand)
            if otherwise is not None:
                cut = [one.negated() for one in does] + [
                    a for a in absent if not isinstance(a, int)
                ]
                self.rough.model.add_bool_or(cut + otherwise)

    def _otherwise(self, i: int, known: Iterable[str], stand: Stand) -> list[Any] | None:
        """That the car stands otherwise before a session, in what the clash hangs on.

        None: it is known to stand otherwise.
        """
        states, found = self.rough.states, list[Any]()
        for kind, name in (one.split(":", 1) for one in known):
            if kind == "done":
                if name in self.rough.problem.done:
                    continue
                done = name in stand.done
                where = range(i, len(states.sessions)) if done else range(i)
                truths = [states.at(f"job:{name}", j) for j in where]
                found += [t for t in truths if not isinstance(t, int)]
                continue
            before = states.off_after if kind == "off" else states.pending_after
            truth, now = (
                before(name, i - 1),
                name in (stand.off if kind == "off" else stand.pending),
            )
            if not isinstance(truth, int):
                found.append(truth.negated() if now else truth)
            elif bool(truth) != now:
                return None
        return found

    def _no_more(self, one: Session, other: Session, keys: Iterable[str]) -> bool:
        """Whether another session offers nothing for these tasks that this one does not."""
        if other.end - other.start > one.end - one.start or set(other.tools) - set(one.tools):
            return False
        jobs = [self.facts.job(key) for key in keys]
        if any(job is not None and job.earliest > one.start for job in jobs):
            return False
        mine, theirs = presence(one), presence(other)
        for name, times in theirs.items():
            for there in (range(t.start - other.start, t.stop - other.start) for t in times):
                own = (range(t.start - one.start, t.stop - one.start) for t in mine.get(name, ()))
                if not any(t.start <= there.start and there.stop <= t.stop for t in own):
                    return False
        bound = self._binding(other)
        return all(
            any(use == u and sooner <= until for u, sooner in bound)
            for use, until in self._binding(one)
        )

    def _binding(self, session: Session) -> list[tuple[str, int]]:
        """Uses that are needed so soon after a session that a wait may matter, and how soon."""
        return [
            (need.use, need.until - session.start)
            for need in self.rough.problem.needs
            if need.session == session.id and session.end + self._reach > need.until
        ]


def _is(truth: Any, chosen: Mapping[str, int]) -> bool:
    """What a truth value was in a proposal."""
    return bool(truth) if isinstance(truth, int) else bool(chosen[truth.name])


def _longest_wait(problem: Problem) -> int:
    """The most quarters that anything waits for anything else."""
    jobs = (*problem.jobs.values(), *(e.clearing for e in problem.effects.values() if e.clearing))
    works = [job.work for job in jobs]
    works += [w for c in problem.components.values() for w in (c.take, c.refit)]
    waits = [work.wait for work in works] + [after.lag for job in jobs for after in job.after]
    return max(
        (quarters(w) for w in (*waits, *(e.lasting for e in problem.effects.values()))), default=0
    )
