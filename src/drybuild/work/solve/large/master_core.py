"""The boolean master: which tasks are in which block of sessions, with no times at all.

A block is one session when a plan is made, or a stretch of several when only a bound is wanted:
then everything in it that must hold is said in a weaker form that every plan meets. What is not
free keeps its present value as a plain 0 or 1, so that a master for a window of a plan is small.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from drybuild.work.model import Clause
from drybuild.work.solve.large.choice import Choice
from drybuild.work.solve.large.shape import Shape, Way, Ways

if TYPE_CHECKING:
    from drybuild.work.cp import cp_model

Literal = Any
"""0, 1, or a boolean of the model or its opposite."""


@dataclass(frozen=True, slots=True)
class Cut:
    """Not all of ``keys`` in this session, unless one of ``absent`` is there too."""

    session: int
    keys: frozenset[str]
    absent: frozenset[str] = frozenset()


def opposite(literal: Literal) -> Literal:
    return 1 - literal if isinstance(literal, int) else ~literal


class MasterCore:
    """A model under construction. ``model`` is the solver's; ask ``read`` for the answer."""

    def __init__(
        self,
        shape: Shape,
        blocks: Sequence[tuple[int, ...]],
        *,
        room: Sequence[float],
        now: Choice | None = None,
        free: Callable[[str, int], bool] | None = None,
        cuts: Iterable[Cut] = (),
        strict: bool = True,
        optional: bool = False,
        until: int = 10**6,
    ) -> None:
        """room: person-quarters that each block may hold; now: what is kept where not free.

        strict: a block of several sessions is held to the rules of one session, so that what is
        chosen for it can hardly fail to be spread over its sessions; not strict: only to what
        every plan meets. optional: a job may be left out.
        until: what is free may only be in sessions before this one.
        """
        from drybuild.work.cp import cp_model

        self.model: cp_model.CpModel = cp_model.CpModel()
        self.shape = shape
        self.blocks = tuple(blocks)
        self.task: dict[tuple[str, int], Literal] = {}
        self.off: dict[tuple[str, int], Literal] = {}
        self.pending: dict[tuple[str, int], Literal] = {}
        self.used: list[Literal] = []
        self._now = now
        self._optional = optional
        self._until = until
        self._held_as_is: set[tuple[str, int]] = set()
        self._held = [strict or len(sessions) == 1 for sessions in self.blocks]
        self._free = free
        self._room = tuple(room)
        self._driven: dict[int, Literal] = {}
        self._variables: list[tuple[Any, str, int, str]] = []
        self._choose()
        self._stand()
        for block in range(len(self.blocks)):
            self._conditions(block)
            self._capacity(block)
        self._order()
        self._end()
        for block, uses in self._needed().items():
            for use in uses:
                self._allowed(use, block, 1)
        self._distances()
        self._money()
        self._cut(cuts)

    # -- small words -----------------------------------------------------------------------------

    def _new(self, what: str, block: int, of: str) -> Literal:
        variable = self.model.new_bool_var("")
        self._variables.append((variable, what, block, of))
        return variable

    def clause(self, literals: Iterable[Literal]) -> None:
        """At least one of these."""
        kept = []
        for literal in literals:
            if isinstance(literal, int):
                if literal:
                    return
            else:
                kept.append(literal)
        if not kept and self._now is not None:
            return  # what is kept is kept, whatever it breaks
        if len(kept) == 2:
            self.model.add_implication(~kept[0], kept[1])
        else:
            self.model.add_bool_or(kept)

    def _at_most(self, terms: Sequence[tuple[int, Literal]], most: float) -> None:
        left = int(most) - sum(w * lit for w, lit in terms if isinstance(lit, int))
        open_terms = [(w, lit) for w, lit in terms if not isinstance(lit, int) and w]
        if open_terms and sum(w for w, _ in open_terms) > left:
            self.model.add(sum(w * lit for w, lit in open_terms) <= left)

    # -- what may be chosen ----------------------------------------------------------------------

    def _choose(self) -> None:
        for key in self.shape.tasks:
            for block, sessions in enumerate(self.blocks):
                if self._free is not None and not self._free(key, block):
                    assert self._now is not None
                    self._held_as_is.add((key, block))
                    self.task[key, block] = int(any(key in self._now.chosen[s] for s in sessions))
                elif any(self.shape.allowed(key, s) for s in sessions if s < self._until):
                    self.task[key, block] = self._new("task", block, key)
                else:
                    self.task[key, block] = 0
        self._fixed = [
            all((key, block) in self._held_as_is for key in self.shape.tasks)
            for block in range(len(self.blocks))
        ]
        for name in self.shape.jobs:
            self._exactly_one([self.task[f"job:{name}", b] for b in range(len(self.blocks))])

    def _exactly_one(self, literals: list[Literal]) -> None:
        fixed = sum(lit for lit in literals if isinstance(lit, int))
        open_ones = [lit for lit in literals if not isinstance(lit, int)]
        if fixed:
            for literal in open_ones:
                self.model.add(literal == 0)
        elif self._optional:
            self.model.add_at_most_one(open_ones)
        else:
            self.model.add_exactly_one(open_ones)

    def _stand(self) -> None:
        problem = self.shape.problem
        for name in self.shape.components:
            self.off[name, -1] = int(name in problem.off)
            for block in range(len(self.blocks)):
                self._component(name, block)
        for name in self.shape.effects:
            self.pending[name, -1] = int(name in problem.pending)
            for block in range(len(self.blocks)):
                self._effect(name, block)

    def _component(self, name: str, block: int) -> None:
        take, refit = self.task[f"take:{name}", block], self.task[f"refit:{name}", block]
        before = self.off[name, block - 1]
        single = self._held[block]
        kept = self._kept(block)
        if kept is not None and all(isinstance(lit, int) for lit in (take, refit, before)):
            after: Literal = int(name in kept.off[self.blocks[block][-1]])
        elif all(isinstance(lit, int) for lit in (take, refit, before)) and single:
            after = max(before, take) * (1 - refit)
        elif isinstance(take, int) and isinstance(refit, int) and not take and not refit:
            after = before
        else:
            after = self._new("off", block, name)
        self.off[name, block] = after
        clause = self.clause
        clause((opposite(after), before, take))
        clause((after, opposite(before), refit))
        clause((after, opposite(take), refit))
        clause((opposite(refit), before, take))
        if single:
            clause((opposite(take), opposite(before)))
            clause((opposite(refit), opposite(after)))

    def _effect(self, name: str, block: int) -> None:
        before = self.pending[name, block - 1]
        causes = [self.task[key, block] for key in self.shape.causing[name]]
        clears = [self.task[key, block] for key in self.shape.clearing[name]]
        single = self._held[block]
        constant = all(isinstance(lit, int) for lit in (before, *causes, *clears))
        kept = self._kept(block)
        if kept is not None and constant:
            after: Literal = int(name in kept.pending[self.blocks[block][-1]])
        elif constant and single:
            after = max((before, *causes)) * (1 - max(clears, default=0))
        else:
            after = self._new("pending", block, name)
        self.pending[name, block] = after
        for literal in (before, *causes):
            self.clause((after, opposite(literal), *clears))
        self.clause((opposite(after), before, *causes))
        own = self.task[f"clear:{name}", block]
        self.clause((opposite(own), before, *causes))
        if single:
            for literal in clears:
                self.clause((opposite(literal), opposite(after)))
            self._shut_again(name, block)

    def _shut_again(self, name: str, block: int) -> None:
        """What a cause opened and its clearing, which comes after it, wants on is refitted."""
        clears = [key for key in self.shape.clearing[name] if self._may_be(key, block)]
        for cause in self.shape.causing[name]:
            if not clears or not self._may_be(cause, block):
                continue
            task = self.shape.tasks[cause]
            opened = {task.what} if task.kind == "take" else set()
            opened |= {
                n
                for ways in self._requirements(cause, block)
                if len(ways) == 1
                for n in ways[0].off
            }
            for key in clears:
                if key == cause:
                    continue
                wanted = {
                    n
                    for ways in self._requirements(key, block)
                    if len(ways) == 1
                    for n in ways[0].on
                }
                both = (opposite(self.task[cause, block]), opposite(self.task[key, block]))
                for part in sorted(opened & wanted):
                    self.clause((*both, self.task[f"refit:{part}", block]))

    def _may_be(self, key: str, block: int) -> bool:
        literal = self.task[key, block]
        return not isinstance(literal, int) or bool(literal)

    def _kept(self, block: int) -> Choice | None:
        """The present choice, for a block of which nothing is free."""
        return self._now if self._fixed[block] else None

    # -- conditions ------------------------------------------------------------------------------

    def _conditions(self, block: int) -> None:
        for key in self.shape.tasks:
            literal = self.task[key, block]
            if isinstance(literal, int) and not literal:
                continue
            for ways in self._requirements(key, block):
                self._meet(literal, ways, block)
            for name in self.shape.tasks[key].work.not_before if self._held[block] else ():
                self.clause((opposite(literal), opposite(self.pending.get((name, block), 0))))

    def _requirements(self, key: str, block: int) -> Iterable[Ways]:
        """What a task asks for in a block: in any session of it where it may be."""
        found = [
            asked
            for session in self.blocks[block]
            if self.shape.allowed(key, session)
            and (asked := self.shape.ways(key, session)) is not None
        ]
        if len(found) == 1 or all(asked == found[0] for asked in found[1:]):
            return found[0] if found else ()
        # With tools in only some of the sessions: what all of them ask for, whatever the session.
        return tuple(ways for ways in found[0] if all(ways in asked for asked in found[1:]))

    def _meet(self, literal: Literal, ways: Ways, block: int) -> None:
        no = opposite(literal)
        if all(way.size == 1 for way in ways):
            either = [lit for way in ways for lit in self._plain(way, block, literal)[0]]
            self.clause((no, *either))
            return
        if len(ways) == 1:
            for part in self._plain(ways[0], block, literal):
                self.clause((no, *part))
            return
        picked = []
        for way in ways:
            pick = self.model.new_bool_var("")
            picked.append(pick)
            for part in self._plain(way, block, literal):
                self.clause((~pick, *part))
        self.clause((no, *picked))

    def _plain(self, way: Way, block: int, literal: Literal) -> list[tuple[Literal, ...]]:
        """Clauses, all of which must hold for this way; each has the literals that satisfy it."""
        found: list[tuple[Literal, ...]] = []
        for name in way.off:
            found.append((self.off[name, block - 1], self.task[f"take:{name}", block]))
        for name in way.on:
            found.append((opposite(self.off[name, block - 1]), self.task[f"refit:{name}", block]))
        for name in way.clear:
            clears = (self.task[key, block] for key in self.shape.clearing[name])
            found.append((opposite(self.pending[name, block - 1]), *clears))
        for clause in way.clauses:
            found.append(self._unarmed(clause, block - 1, block))
        return found

    def _unarmed(self, clause: Clause, since: int, until: int) -> tuple[Literal, ...]:
        """Literals of which one holds when a clause does not: a job not yet done, or one done."""
        done = self.shape.problem.done
        open_jobs = set(self.shape.jobs)
        literals: list[Literal] = [int(bool(clause.not_done & done))]
        for name in sorted(clause.done - done):
            if name not in open_jobs:
                return (1,)
            literals.append(opposite(self._done(name, since)))
        literals += [self._done(n, until) for n in sorted(clause.not_done) if n in open_jobs]
        return tuple(literals)

    def _done(self, name: str, block: int) -> Literal:
        """Whether a job is done when a block is over."""
        literals = [self.task[f"job:{name}", b] for b in range(block + 1)]
        if any(isinstance(lit, int) and lit for lit in literals):
            return 1
        open_ones = [lit for lit in literals if not isinstance(lit, int)]
        if not open_ones:
            return 0
        done = self.model.new_bool_var("")
        self.model.add(sum(open_ones) == done)
        return done

    # -- room, order, money ----------------------------------------------------------------------

    def _capacity(self, block: int) -> None:
        shape, terms = self.shape, []
        for key, task in shape.tasks.items():
            terms.append((task.load, self.task[key, block]))
        if any(not isinstance(lit, int) for _, lit in terms):
            self._at_most(terms, self._room[block])
            self._persons(block)
            self._tools(block)

    def _persons(self, block: int) -> None:
        """Work that only some may do fits into the time that they are there."""
        sessions = [self.shape.sessions[s] for s in self.blocks[block]]
        jobs = [t for t in self.shape.tasks.values() if t.job is not None and t.job.who]
        for names in {frozenset(task.job.who) for task in jobs if task.job is not None}:
            there = sum(p.end - p.start for s in sessions for p in s.people if p.name in names)
            terms = []
            for task in jobs:
                if task.job is not None and set(task.job.who) <= names:
                    held = task.work.people if len(task.job.who) >= task.work.people else 1
                    held = min(held, task.work.people)
                    terms.append((task.length * held, self.task[task.key, block]))
            self._at_most(terms, there)

    def _tools(self, block: int) -> None:
        time = sum(
            self.shape.sessions[s].end - self.shape.sessions[s].start for s in self.blocks[block]
        )
        for tool, count in self.shape.problem.tools.items():
            self._at_most(
                [
                    (task.length, self.task[key, block])
                    for key, task in self.shape.tasks.items()
                    if tool in task.work.tools
                ],
                time * count,
            )

    def _order(self) -> None:
        open_jobs = set(self.shape.jobs)
        for name in self.shape.jobs:
            for after in self.shape.problem.jobs[name].after:
                if after.job in open_jobs:
                    for block in range(len(self.blocks)):
                        self._follows(name, after.job, block)

    def _follows(self, then: str, first: str, block: int) -> None:
        literal = self.task[f"job:{then}", block]
        if not (isinstance(literal, int) and not literal):
            earlier = [self.task[f"job:{first}", b] for b in range(block + 1)]
            self.clause((opposite(literal), *earlier))

    def _money(self) -> None:
        number = {s: b for b, sessions in enumerate(self.blocks) for s in sessions}
        ids = {session.id: k for k, session in enumerate(self.shape.sessions)}
        priced = [(k, t.job.price) for k, t in self.shape.tasks.items() if t.job and t.job.price]
        for budget in self.shape.problem.budgets:
            last = max((ids[name] for name in budget.sessions), default=-1)
            blocks = range(number[last]) if last >= 0 else range(0)
            if last >= 0 and self.blocks[number[last]][-1] == last:
                blocks = range(number[last] + 1)
            # in hundredths, rounded so that a plan on the limit is not shut out
            self._at_most(
                [
                    (int(price * 100 + 0.5), self.task[key, b])
                    for key, price in priced
                    for b in blocks
                ],
                int(budget.most * 100 + 0.5),
            )

    # -- ends of sessions ------------------------------------------------------------------------

    def _end(self) -> None:
        last = len(self.blocks) - 1
        for name in self.shape.components:
            self.clause((opposite(self.off[name, last]),))
        for name in self.shape.effects:
            effect = self.shape.problem.effects[name]
            if not effect.owed:
                continue
            if effect.between <= 0:
                self.clause((opposite(self.pending[name, last]),))
            elif self._held[last]:
                causes = [self.task[key, last] for key in self.shape.causing[name]]
                self.clause((opposite(self.pending[name, last]), *causes))
                before = opposite(self.pending[name, last - 1])
                self.clause((opposite(self.pending[name, last]), before))

    def _needed(self) -> dict[int, tuple[str, ...]]:
        return {
            block: uses
            for block, sessions in enumerate(self.blocks)
            if (uses := self.shape.needed.get(sessions[-1], ()))
        }

    def _allowed(self, use: str, block: int, literal: Literal) -> None:
        """The use is allowed at the end of a block when ``literal`` holds."""
        no = opposite(literal)
        for name in self.shape.stopping_components(use):
            self.clause((no, opposite(self.off[name, block])))
        for name in self.shape.stopping_effects(use):
            self.clause((no, opposite(self.pending[name, block])))
        for clause in self.shape.stopping_clauses(use):
            self.clause((no, *self._unarmed(clause, block, block)))

    def _distances(self) -> None:
        """What waits for a distance waits for a session's end at which the car may be driven."""
        if not self.shape.spread or not all(self._held):
            return
        for name in self.shape.effects:
            if self.shape.problem.effects[name].between > 0:
                causes, clears = self.shape.causing[name], self.shape.clearing[name]
                self._driven_between(causes, clears)
                for block in range(len(self.blocks)):
                    for clear in clears:
                        for cause in causes:
                            literals = (self.task[clear, block], self.task[cause, block])
                            self.clause(opposite(lit) for lit in literals)
        for name in self.shape.jobs:
            for after in self.shape.problem.jobs[name].after:
                if after.between > 0:
                    first = (f"job:{after.job}",) if after.job in self.shape.jobs else ()
                    self._driven_between(first, (f"job:{name}",))

    def _driven_between(self, causes: Sequence[str], thens: Sequence[str]) -> None:
        """driven: the car was driven since the last cause. Only then may one of ``thens`` be."""
        driven: Literal = self._may_drive(-1)
        for block in range(len(self.blocks)):
            for then in thens:
                self.clause((opposite(self.task[then, block]), driven))
            caused = [self.task[key, block] for key in causes]
            drive = self._may_drive(block)
            if isinstance(driven, int) and all(isinstance(lit, int) for lit in (*caused, drive)):
                driven = max(drive, driven * (1 - max(caused, default=0)))
                continue
            after = self.model.new_bool_var("")
            self.clause((opposite(after), drive, driven))
            for literal in caused:
                self.clause((opposite(after), drive, opposite(literal)))
            driven = after

    def _may_drive(self, block: int) -> Literal:
        if block not in self._driven:
            if block >= 0 and "drive" in self._needed().get(block, ()):
                self._driven[block] = 1
            else:
                literal = self.model.new_bool_var("")
                self._driven[block] = literal
                self._allowed("drive", block, literal)
        return self._driven[block]

    def _cut(self, cuts: Iterable[Cut]) -> None:
        place = {sessions: b for b, sessions in enumerate(self.blocks)}
        for cut in cuts:
            block = place.get((cut.session,))
            if block is not None:
                literals = [opposite(self.task[key, block]) for key in sorted(cut.keys)]
                # a task that cannot be in the block is absent from it anyhow
                absent = ((key, block) for key in sorted(cut.absent))
                literals += [self.task[spot] for spot in absent if spot in self.task]
                if any(not isinstance(lit, int) for lit in literals):
                    self.clause(literals)
