"""The fast screen: every candidate under every check that it bears on, with few draws.

A check counts for a candidate when a Change armed it and the choice decides something that would
arm it. So a wheel as found counts against the caliper that is changed inside it; a check that the
choice has no part in (a spring that comes loose whatever the wheel) counts for the car alone.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np
import numpy.typing as npt

from drybuild.build import State
from drybuild.build.declared import expand
from drybuild.build.drawn import DrawnFacts
from drybuild.build.state import instances_of
from drybuild.examine.catalogue.stack import CandidateFacts, States, stacks
from drybuild.findings import Evaluation, Finding, Registry
from drybuild.findings.needs import fill, subjects
from drybuild.findings.registry import CheckSpec, ResultSpec
from drybuild.values import Draws

Floats = npt.NDArray[np.float64]

DRAWS = 64
"""Few, and the same for all candidates: they rank, and what is offered is examined with all."""

SEED = 2026
STACKED = 16_384
"""Draws run at once; about what stays in a processor's cache."""

REDUCING = frozenset({"corners.swept"})
"""Results that look at the middle of all their draws, so that states cannot be laid end to end.

Checks that rest on one are run state by state, and only for the states that come into question.
"""

Key = tuple[str, str]


@dataclass(frozen=True)
class Scope:
    """What the choice decides: the checks that one of its places, or what else it sets, may arm."""

    checks: frozenset[Key]

    def bears_on(self, finding: Finding) -> bool:
        """Whether this finding counts for the choice: armed, by whatever, and of its checks."""
        return finding.armed and (finding.check, finding.subject) in self.checks


def axle_scope(
    registry: Registry, blends: tuple[str, ...], axle: str, also: Iterable[str] = ()
) -> Scope:
    """Wheel, tyre, spacer and ring of an axle, and further addresses or places."""
    places = tuple(f"{p}.{axle}." for p in ("wheel", "tyre", "spacer", "centring_ring"))
    more: set[str] = set()
    for target in also:
        found = expand(target)
        if found:
            more.update(found)
        else:
            places += tuple(f"{instance}." for instance in instances_of(target))
    return Scope(
        frozenset(
            (spec.id, subject)
            for spec in registry.checks.values()
            for subject in subjects(spec.per, blends)
            if any(
                a in more or a.startswith(places)
                for a in _arming(registry, spec, subject, blends)
            )
        )
    )


@dataclass(frozen=True)
class Screened:
    """The screen's answer: a row for each state, a column for each check at its place.

    chance: share of draws with room, NaN where the check does not apply or is not measured;
    room: mean margin over twice its deviation, a figure to tell wide room from narrow;
    middle: mean margin, SI. enough: (states, draws), room everywhere; joint: its share.
    unmeasured: what nobody stated, by state. Checks that rest on REDUCING are not in it.
    """

    keys: tuple[Key, ...]
    chance: Floats
    room: Floats
    middle: Floats
    enough: npt.NDArray[np.bool_]
    unmeasured: tuple[frozenset[str], ...]

    @cached_property
    def joint(self) -> Floats:
        """Share of draws with room everywhere, by state."""
        share: Floats = self.enough.mean(axis=1)
        return share

    @cached_property
    def tightest(self) -> Floats:
        """The least room of each state."""
        rooms = np.where(np.isnan(self.chance), np.inf, self.room)
        least: Floats = rooms.min(axis=1, initial=np.inf)
        return least

    def binding(self, row: int, among: Iterable[int] | None = None) -> Key | None:
        """The check that leaves a state the least chance, then the least room."""
        columns = range(len(self.keys)) if among is None else among
        known = [c for c in columns if not np.isnan(self.chance[row, c])]
        if not known:
            return None
        worst = min(known, key=lambda c: (self.chance[row, c], self.room[row, c]))
        return self.keys[worst]


@dataclass
class _Sheet:
    """The matrices while they are filled."""

    rows: int
    columns: dict[Key, int] = field(default_factory=dict)
    chance: list[Floats] = field(default_factory=list)
    room: list[Floats] = field(default_factory=list)
    middle: list[Floats] = field(default_factory=list)

    def column(self, key: Key) -> int:
        if key not in self.columns:
            self.columns[key] = len(self.columns)
            for kept in (self.chance, self.room, self.middle):
                kept.append(np.full(self.rows, np.nan))
        return self.columns[key]


def screen(
    states: Sequence[State],
    registry: Registry,
    scope: Scope,
    *,
    proposed: frozenset[str] = frozenset(),
    draws: int = DRAWS,
    seed: int = SEED,
    only: frozenset[Key] | None = None,
) -> Screened:
    """Run the checks of the choice on all states. only: these checks alone."""
    laid = States(states, Draws(draws, seed), proposed)
    first = Evaluation(registry, laid.plain(0), draws)
    wanted = [
        (spec, subject)
        for spec, subject in _of(registry, scope)
        if (only is None or (spec.id, subject) in only)
        and not _reduces(registry, spec, subject, laid.plain(0).blends)
    ]
    asked: set[str] = set()
    for spec, subject in wanted:
        asked |= first.asked(spec, subject)
    sheet = _Sheet(len(states))
    together = np.ones((len(states), draws), dtype=bool)
    unmeasured: list[frozenset[str]] = [frozenset()] * len(states)
    with np.errstate(all="ignore"):
        for rows, stack in stacks(registry, laid, asked, most_draws=STACKED):
            all_at_once = np.ones((len(rows), draws), dtype=bool)
            lacking: set[str] = set()
            for spec, subject in wanted:
                raw = stack.check(spec, subject)
                if raw is None or not raw.outcome.touched:
                    continue
                if raw.slack is None:
                    lacking |= raw.outcome.missing
                    continue
                margin = (raw.slack - raw.gap).reshape(len(rows), draws)
                enough = margin >= 0
                all_at_once &= enough
                at = sheet.column((spec.id, subject))
                mean = margin.mean(axis=1)
                sheet.chance[at][rows] = enough.mean(axis=1)
                sheet.middle[at][rows] = mean
                sheet.room[at][rows] = _room(mean, margin.std(axis=1))
            together[rows] = all_at_once
            for row in rows:
                unmeasured[row] = frozenset(lacking)
    chance, room, middle = (
        np.stack(kept, axis=1) if kept else np.zeros((len(states), 0))
        for kept in (sheet.chance, sheet.room, sheet.middle)
    )
    return Screened(tuple(sheet.columns), chance, room, middle, together, tuple(unmeasured))


def state_by_state(
    state: State,
    registry: Registry,
    scope: Scope,
    *,
    proposed: frozenset[str] = frozenset(),
    draws: int = DRAWS,
    seed: int = SEED,
) -> dict[Key, Floats]:
    """Margins (draws,) of the checks that ``screen`` leaves out, for one state.

    Empty on a car that has none of them; what is not measured is left out.
    """
    facts = CandidateFacts(state, Draws(draws, seed), proposed)
    base = Evaluation(registry, DrawnFacts(state.base, facts.draws), draws)
    evaluation = Evaluation(registry, facts, draws, base)
    found: dict[Key, Floats] = {}
    with np.errstate(all="ignore"):
        for spec, subject in _of(registry, scope):
            if not _reduces(registry, spec, subject, facts.blends):
                continue
            raw = evaluation.check(spec, subject)
            if raw is None or raw.slack is None:
                continue
            if raw.outcome.touched:
                margin: Floats = raw.slack - raw.gap
                found[spec.id, subject] = margin
    return found


def _of(registry: Registry, scope: Scope) -> list[tuple[CheckSpec, str]]:
    """The checks of a scope at their subjects, in one order."""
    return [(registry.checks[check], subject) for check, subject in sorted(scope.checks)]


def _reduces(
    registry: Registry, spec: CheckSpec, subject: str, blends: tuple[str, ...]
) -> bool:
    """Whether a check rests on a result that looks at all its draws at once."""
    results = registry.instances(blends)
    waiting: list[tuple[CheckSpec | ResultSpec, str]] = [(spec, subject)]
    seen: set[str] = set()
    while waiting:
        one, at = waiting.pop()
        if isinstance(one, ResultSpec) and one.name in REDUCING:
            return True
        for need in one.needs.values():
            for address in fill(need, one.per, at).addresses:
                named = results.get(address)
                if named is not None and address not in seen:
                    seen.add(address)
                    waiting.append(named)
    return False


def _room(mean: Floats, deviation: Floats) -> Floats:
    """Mean over twice the deviation; unbounded where there is no doubt, lost where not solved."""
    sure = deviation <= 1e-12
    ratio = mean / np.where(sure, 1.0, 2.0 * deviation)
    ratio = np.where(sure, np.where(mean >= 0, np.inf, -np.inf), ratio)
    return np.where(np.isnan(ratio), -np.inf, ratio)


def _arming(
    registry: Registry, spec: CheckSpec | ResultSpec, subject: str, blends: tuple[str, ...]
) -> frozenset[str]:
    """Facts whose Change would arm a check: its needs followed, without those that never arm."""
    results = registry.instances(blends)
    found: set[str] = set()
    waiting: list[tuple[CheckSpec | ResultSpec, str]] = [(spec, subject)]
    seen: set[str] = set()
    while waiting:
        one, at = waiting.pop()
        for need in one.needs.values():
            if not need.arms or need.base:
                continue
            for address in fill(need, one.per, at).addresses:
                if address in seen:
                    continue
                seen.add(address)
                named = results.get(address)
                if named is None:
                    found.add(address)
                else:
                    waiting.append(named)
    return frozenset(found)
