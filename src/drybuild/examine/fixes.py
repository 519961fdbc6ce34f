"""Fixes: the smallest change, of those the build declares, that makes a finding enough.

Adjusters are tried one at a time over their range, then in pairs. A candidate is applied to a
copy of the state as Changes and the whole car is examined again before it is offered: no other
finding may be worse than before.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import combinations, product
from typing import Any, Literal

import numpy as np

from drybuild.build import Change, ChangeRefused, State
from drybuild.build.declared import declaration, expand
from drybuild.build.drawn import stated
from drybuild.build.folder import Adjuster
from drybuild.build.kinds import place_of
from drybuild.build.state import instances_of, read_setting
from drybuild.examine.examination import Examination, evaluate, examine_state
from drybuild.findings import Finding, Registry, Verdict
from drybuild.findings.finding import assess, margins
from drybuild.values import Value, show, written

QUICK = 1024
"""Draws used while searching; what is offered is examined with all."""

OFFERED = 3
RANK = {Verdict.ENOUGH: 0, Verdict.UNSURE: 1, Verdict.UNMEASURED: 2, Verdict.SHORT: 3}


@dataclass(frozen=True, slots=True)
class Fix:
    """One or two Changes that make a finding enough without making another worse.

    before, after: the finding; gained: other findings that become enough on the way.
    """

    changes: tuple[Change, ...]
    titles: tuple[str, ...]
    effort: float
    before: Finding
    after: Finding
    gained: tuple[tuple[str, str], ...]


@dataclass(frozen=True)
class Move:
    """One setting of one adjuster, as Changes."""

    adjuster: Adjuster
    changes: tuple[Change, ...]
    size: float


def find_fixes(examination: Examination, finding: Finding) -> tuple[Fix, ...]:
    """Fixes for a finding, the smallest first; empty when the declared adjusters hold none."""
    registry = examination.evaluation.registry
    state = examination.state
    moves = {
        a.address: list(_moves(state, a)) for a in state.build.adjusters if _bears_on(a, finding)
    }
    works = {
        address: [m for m in tries if _cures(state, registry, finding, m.changes, examination.seed)]
        for address, tries in moves.items()
    }
    singles = [min(w, key=lambda m: m.size) for w in works.values() if w]
    ranked: list[tuple[Move, ...]] = [(m,) for m in sorted(singles, key=_effort)]
    found = _verified(examination, finding, ranked)
    if not found:
        # A single move that cures it but spoils another finding may go with a second one.
        every = {a.address: list(_moves(state, a)) for a in state.build.adjusters}
        found = _verified(examination, finding, _pairs(examination, finding, moves, every))
    return tuple(found[:OFFERED])


def apply_moves(state: State, changes: tuple[Change, ...]) -> State:
    """The state with the fix applied, as a draft."""
    return state.after(changes, "draft:fix")


def _effort(move: Move) -> tuple[float, float]:
    return move.adjuster.effort, move.size


def _bears_on(adjuster: Adjuster, finding: Finding) -> bool:
    """Whether the finding rests on anything that the adjuster moves."""
    facts = {*finding.facts, *finding.missing}
    for target in (adjuster.address, *adjuster.together):
        for address in expand(target) or (target,):
            if any(f == address or f.startswith(address + ".") for f in facts):
                return True
    return False


def _pairs(
    examination: Examination,
    finding: Finding,
    moves: dict[str, list[Move]],
    every: dict[str, list[Move]],
) -> list[tuple[Move, ...]]:
    """Pairs of moves that cure the finding, by effort then size; coarse steps, verified later.

    One of the two bears on the finding; the other may only make up for what the first spoils.
    """
    registry, state, seed = examination.evaluation.registry, examination.state, examination.seed
    found: list[tuple[Move, ...]] = []
    for a, b in combinations(sorted(every), 2):
        if a not in moves and b not in moves:
            continue
        for pair in product(_coarse(every[a]), _coarse(every[b])):
            changes = tuple(c for m in pair for c in m.changes)
            if _cures(state, registry, finding, changes, seed):
                found.append(pair)
                break
    return sorted(found, key=lambda p: (sum(m.adjuster.effort for m in p), sum(m.size for m in p)))


def _coarse(moves: list[Move]) -> list[Move]:
    ordered = sorted(moves, key=lambda m: m.size)
    picks = np.unique(np.linspace(0, len(ordered) - 1, min(4, len(ordered))).astype(int))
    return [ordered[i] for i in picks] if ordered else []


def _verified(
    examination: Examination, finding: Finding, candidates: list[tuple[Move, ...]]
) -> list[Fix]:
    """Those candidates that hold when the whole car is examined again."""
    registry = examination.evaluation.registry
    found: list[Fix] = []
    for moves in candidates[:8]:
        changes = tuple(c for m in moves for c in m.changes)
        after = examine_state(
            apply_moves(examination.state, changes), registry,
            draws=examination.draws, seed=examination.seed, unknowns=False,
        )  # fmt: skip
        cured = next(
            (f for f in after.findings if (f.check, f.subject) == (finding.check, finding.subject)),
            None,
        )
        if cured is None or cured.verdict is not Verdict.ENOUGH:
            continue
        worse, gained = _compare(examination, after)
        if not worse:
            titles = tuple(_title(m) for m in moves)
            effort = sum(m.adjuster.effort for m in moves)
            found.append(Fix(changes, titles, effort, finding, cured, gained))
            if len(found) == OFFERED:
                break
    return found


def _compare(
    before: Examination, after: Examination
) -> tuple[list[tuple[str, str]], tuple[tuple[str, str], ...]]:
    """Findings that got worse, and undecided or short ones that became enough."""
    was = {(f.check, f.subject): f for f in before.findings}
    worse, gained = [], []
    for finding in after.findings:
        key = (finding.check, finding.subject)
        old = was.get(key)
        old_rank = RANK[old.verdict] if old is not None else 0
        if RANK[finding.verdict] > old_rank:
            worse.append(key)
        elif finding.verdict is Verdict.ENOUGH and old_rank > 0:
            gained.append(key)
    return worse, tuple(gained)


def _cures(
    state: State,
    registry: Registry,
    finding: Finding,
    changes: tuple[Change, ...],
    seed: int,
) -> bool:
    """Whether the finding alone would be enough, with few draws."""
    try:
        evaluation = evaluate(apply_moves(state, changes), registry, QUICK, seed)
    except ChangeRefused:
        return False
    with np.errstate(all="ignore"):
        raw = evaluation.check(registry.checks[finding.check], finding.subject)
    if raw is None or raw.slack is None:
        return False
    return assess([raw], margins([raw], QUICK))[0].verdict is Verdict.ENOUGH


def _moves(state: State, adjuster: Adjuster) -> Iterator[Move]:
    targets = (adjuster.address, *adjuster.together)
    if _is_place(adjuster.address):
        for index, part in enumerate(adjuster.choices):
            if any(state.fitted.get(i) != part for t in targets for i in instances_of(t)):
                changes = tuple(Change("fit", t, part) for t in targets)
                yield Move(adjuster, changes, float(index))
        return
    for raw, size in _settings(state, adjuster):
        yield Move(adjuster, tuple(Change("set", t, raw) for t in targets), size)


def _is_place(address: str) -> bool:
    return any(i == address or i.startswith(address + ".") for i in place_of())


def _settings(state: State, adjuster: Adjuster) -> Iterator[tuple[Any, float]]:
    """Raw settings with how far each is from today's, as a share of the range."""
    address = expand(adjuster.address)[0]
    if adjuster.choices:
        yield from ((raw, float(i)) for i, raw in enumerate(adjuster.choices))
        return
    if adjuster.low is None or adjuster.high is None:
        return
    low, high = (read_setting(address, raw) for raw in (adjuster.low, adjuster.high))
    if not isinstance(low, Value) or not isinstance(high, Value):
        return
    now = _today(state, address, low)
    span = abs(high.median - low.median) or 1.0
    for setting in np.linspace(low.median, high.median, adjuster.steps):
        raw: dict[str, Any] = {"is": written(low.kind, float(setting))}
        if low.exact:
            raw["exact"] = True
        else:
            raw["plus_minus"] = written(low.kind, low.half_width)
        yield raw, abs(setting - now) / span


def _today(state: State, address: str, fallback: Value) -> float:
    declared = declaration(address)
    there = stated(state, declared) if declared is not None else None
    value = there.value if there is not None else None
    return value.median if isinstance(value, Value) else fallback.median


def _title(move: Move) -> str:
    change = move.changes[0]
    name = move.adjuster.title or change.target.replace("_", " ").replace(".", " ")
    if change.kind == "fit":
        return f"{name}: {change.value}"
    return f"{name}: {shown_setting(change)}"


def shown_setting(change: Change, system: Literal["metric", "us"] = "metric") -> str:
    """A set Change's value in the units of the reader."""
    value = read_setting(expand(change.target)[0], change.value)
    return show(value.kind, value.median, system=system) if isinstance(value, Value) else str(value)
