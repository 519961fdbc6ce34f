"""Trying settings of ladders on a car: which help, which do, and what the whole car says."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

import numpy as np

from drybuild.build import Change, State
from drybuild.examine.catalogue.ladders import Ladder, Step
from drybuild.examine.catalogue.screen import Key, Scope, Screened, screen, state_by_state
from drybuild.examine.examination import Examination, examine_state
from drybuild.examine.fixes import RANK
from drybuild.findings import Finding, Registry
from drybuild.findings.words import Consequence

SCREEN_DRAWS = 256
HELPS = 0.02
ROOMIER = 0.05
LEAST_GAIN = 0.2e-3
NEARLY = 1.5e-3
"""How much a room that is added up from single steps may be short and still be looked at."""


@dataclass(frozen=True)
class Search:
    """What the tries have in common."""

    start: State
    registry: Registry
    scope: Scope
    proposed: frozenset[str]
    before: Examination
    draws: int
    seed: int
    axle: Scope
    done: dict[str, Examination] = field(default_factory=dict)
    slowly: dict[str, dict[Key, float]] = field(default_factory=dict)
    rooms: dict[str, dict[Key, float]] = field(default_factory=dict)
    gains: dict[Key, dict[str, float]] = field(default_factory=dict)

    def screen(self, tries: Sequence[tuple[Step, ...]]) -> Screened:
        states = [self.start.after(changes_of(steps), "draft:must fit") for steps in tries]
        return screen(
            [self.start, *states],
            self.registry,
            self.scope,
            proposed=self.proposed,
            draws=SCREEN_DRAWS,
            seed=self.seed,
        )

    def slow(self, steps: Iterable[Step]) -> dict[Key, float]:
        """Chances at the checks that are run state by state, with these steps."""
        key = repr(changes_of(steps))
        if key not in self.slowly:
            found = state_by_state(
                self.start.after(changes_of(steps), "draft:must fit"), self.registry, self.scope,
                proposed=self.proposed, draws=SCREEN_DRAWS, seed=self.seed,
            )  # fmt: skip
            self.slowly[key] = {k: float(np.mean(m >= 0)) for k, m in found.items()}
            self.rooms[key] = {k: float(np.mean(m)) for k, m in found.items()}
        return self.slowly[key]

    def room(self, steps: Iterable[Step]) -> dict[Key, float]:
        """Mean room at them."""
        chosen = tuple(steps)
        self.slow(chosen)
        return self.rooms[repr(changes_of(chosen))]

    def reaches(self, key: Key, steps: Iterable[Step]) -> bool:
        """Whether the gains of single steps, added up, nearly make up for what is missing."""
        gains = self.gains.get(key, {})
        total = self.room(())[key] + sum(gains.get(repr(s.changes), 0.0) for s in steps)
        return total >= -NEARLY

    def examine(self, steps: Iterable[Step]) -> Examination:
        changes = changes_of(steps)
        key = repr(changes)
        if key not in self.done:
            state = self.start.after(changes, "draft:must fit")
            self.done[key] = examine_state(
                state, self.registry, draws=self.draws, seed=self.seed, unknowns=False
            )
        return self.done[key]


def holds(finding: Finding) -> bool:
    """Whether a finding has the chance that is wanted.

    Such a finding may still be unsure for another reason than its chance: a limit of law that is
    recalled and not read, or an assumed input where someone can be hurt. No Change cures those.
    """
    return finding.chance is not None and finding.chance >= finding.consequence.wanted_chance


def changes_of(steps: Iterable[Step]) -> tuple[Change, ...]:
    return tuple(c for step in steps for c in step.changes)


def parts_of(members: list[Key], keys: dict[Key, Finding]) -> list[list[Key]]:
    """All of a group; where that cannot be had, what can hurt someone; then what does not."""
    hurting = [k for k in members if keys[k].consequence is Consequence.INJURY]
    rest = [k for k in members if k not in hurting]
    found = [members]
    for some in (hurting, rest):
        if some and some != members:
            found.append(some)
    return found


def helping_ladders(
    screened: Screened,
    singles: Sequence[tuple[Ladder, Step]],
    keys: dict[Key, Finding],
) -> dict[Key, set[str]]:
    """For each failing check: the names of the ladders some setting of which helps it."""
    found: dict[Key, set[str]] = {}
    for key, finding in keys.items():
        found[key] = set()
        if key not in screened.keys:
            continue
        at = screened.keys.index(key)
        was = screened.chance[0, at]
        for row, (ladder, _) in enumerate(singles, 1):
            chance = screened.chance[row, at]
            better = chance >= was + HELPS or (
                chance >= was and screened.room[row, at] > screened.room[0, at] + ROOMIER
            )
            if better or chance >= finding.consequence.wanted_chance:
                found[key].add(ladder.name)
    return found


def helping_slowly(
    search: Search,
    ladders: Sequence[Ladder],
    keys: dict[Key, Finding],
    helping: dict[Key, set[str]],
) -> None:
    """The same for the checks that are run state by state: by a ladder's middle and last step."""
    was = search.room(())
    for ladder in ladders if set(was) & set(keys) else ():
        last = len(ladder.steps) - 1
        at = sorted({(last + 1) // 2, last})
        rooms = [search.room((ladder.steps[i],)) for i in at]
        for key in set(was) & set(keys):
            gains = [0.0, *(room.get(key, was[key]) - was[key] for room in rooms)]
            whole = np.interp(np.arange(last + 1) + 1, [0, *(i + 1 for i in at)], gains)
            for step, gain in zip(ladder.steps, whole, strict=True):
                search.gains.setdefault(key, {})[repr(step.changes)] = float(gain)
            if max(gains) > LEAST_GAIN:
                helping[key].add(ladder.name)


def first_slow(
    search: Search, works: Sequence[tuple[Step, ...]], members: Sequence[Key]
) -> list[tuple[Step, ...]]:
    """Settings from the first on that has room at the slow checks, found by halving.

    The examination of the whole car refuses what this lets through wrongly.
    """
    slow = [key for key in members if key in search.slow(())]
    if not slow or not works:
        return list(works)
    works = [steps for steps in works if all(search.reaches(key, steps) for key in slow)]
    if not works:
        return []

    def holds_there(index: int) -> bool:
        chances = search.slow(works[index])
        checks = search.registry.checks
        return all(
            chance >= checks[key[0]].consequence.wanted_chance
            for key, chance in chances.items()
            if key in members
        )

    last = len(works) - 1
    # more is not always better: past some setting another place may bind
    probes = sorted({last, last // 2, last * 3 // 4, last // 4}, key=lambda i: abs(i - last // 2))
    held = next((i for i in probes if holds_there(i)), None)
    if held is None:
        return []
    low, high = 0, held
    while low < high:
        middle = (low + high) // 2
        low, high = (low, middle) if holds_there(middle) else (middle + 1, high)
    return list(works[low:])


def clusters(helping: dict[Key, set[str]]) -> list[list[Key]]:
    """Checks that share a ladder go together."""
    found: list[tuple[set[str], list[Key]]] = []
    for key, names in helping.items():
        joined = [c for c in found if c[0] & names]
        merged = (names.union(*(c[0] for c in joined)), [k for c in joined for k in c[1]] + [key])
        found = [c for c in found if c not in joined] + [merged]
    return [members for _, members in found]


def works_for(screened: Screened, row: int, members: Sequence[Key], search: Search) -> bool:
    """Whether a try has room at all the checks it is for and spoils no other, by the screen."""
    checks = search.registry.checks
    for at, key in enumerate(screened.keys):
        wanted = checks[key[0]].consequence.wanted_chance
        chance = screened.chance[row, at]
        if key in members:
            if not chance >= wanted:
                return False
        elif chance < wanted and not chance >= screened.chance[0, at] - HELPS:
            return False
    return True


def good(before: Examination, after: Examination, members: Sequence[Key]) -> bool:
    """Room enough at the checks it is for, and nothing in the whole car worse than before."""
    was = {(f.check, f.subject): f for f in before.findings}
    for finding in after.findings:
        key = (finding.check, finding.subject)
        if key in members and not holds(finding):
            return False
        old = was.get(key)
        if RANK[finding.verdict] <= (RANK[old.verdict] if old is not None else 0):
            continue
        # an assumed figure of a generated part makes it unsure, whatever its chance: that is said
        if not (holds(finding) and finding.why):
            return False
    return True
