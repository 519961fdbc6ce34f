"""Fixes: the smallest change, of those the build declares, that makes a finding enough.

Adjusters are tried one at a time over their range, then in pairs. A candidate is applied to a
copy of the state as Changes and the whole car is examined again before it is offered: no other
finding may be worse than before. Where doubt alone keeps it from being enough, the change that
brings it nearest is known too (``nearest_fix``), with what causes the rest.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import combinations, islice, product
from typing import Any, Literal

import numpy as np

from drybuild.build import Build, Change, ChangeRefused, State
from drybuild.build.declared import declaration, expand
from drybuild.build.drawn import stated
from drybuild.build.folder import Adjuster
from drybuild.build.kinds import place_of
from drybuild.build.state import instances_of, read_setting
from drybuild.examine.examination import Examination, evaluate, examine_state, refined
from drybuild.examine.naming import plain_name
from drybuild.findings import Consequence, Finding, Verdict
from drybuild.findings.evaluate import RawFinding
from drybuild.findings.finding import BEST_ESTIMATE, assess, margins, verdict_of
from drybuild.values import Value, show, written

QUICK = 1024
"""Draws used while searching; what is offered is examined with all."""

OFFERED = 3

RUNGS = 3
"""Settings of one adjuster for which the whole car is examined, from the smallest that does."""

NEARLY = 0.03
"""So much below the chance wanted may a setting seem with few draws and be enough with all."""

GAIN = 0.05
"""By less a change that leaves a finding open brings nobody further."""

AS_GOOD = 0.01
"""Settings whose chances differ by less are as good as each other: the smaller one is told."""

MOST_LADDERS = 8
RANK = {Verdict.ENOUGH: 0, Verdict.UNSURE: 1, Verdict.UNMEASURED: 2, Verdict.SHORT: 3}


@dataclass(frozen=True, slots=True)
class Fix:
    """One or two Changes that make a finding enough without making another worse.

    titles: each move in words, metric; settings: the name and first Change of each, for other
    units; before, after: the finding; gained: other findings that become enough on the way.
    """

    changes: tuple[Change, ...]
    titles: tuple[str, ...]
    effort: float
    before: Finding
    after: Finding
    gained: tuple[tuple[str, str], ...]
    settings: tuple[tuple[str, Change], ...] = ()


@dataclass(frozen=True)
class Move:
    """One setting of one adjuster, as Changes."""

    adjuster: Adjuster
    changes: tuple[Change, ...]
    size: float


Ladder = list[tuple[Move, ...]]
"""Ways of one adjuster (or one pair) that seem to cure, the smallest first."""


def curable(build: Build, finding: Finding) -> bool:
    """Whether fixes are worth looking for: it stops a use by its numbers, and the build offers
    something for adjusting."""
    known = finding.verdict in (Verdict.SHORT, Verdict.UNSURE)
    return finding.stopping and known and bool(build.adjusters)


def find_fixes(examination: Examination, finding: Finding) -> tuple[Fix, ...]:
    """Fixes for a finding, the smallest first; empty when the declared adjusters hold none."""
    registry = examination.evaluation.registry
    state = examination.state
    asked = examination.evaluation.asked(registry.checks[finding.check], finding.subject)
    moves = {
        a.address: list(moves_of(state, a)) for a in state.build.adjusters if _bears_on(a, asked)
    }
    ladders: list[Ladder] = []
    for tries in moves.values():
        works = [m for m in tries if _seems_enough(examination, finding, m.changes)]
        ladders.append([(m,) for m in sorted(works, key=lambda m: m.size)])
    singles = sorted((ladder for ladder in ladders if ladder), key=lambda way: _effort(way[0]))
    found = _verified(examination, finding, singles)
    if not found:
        # A single move that cures it but spoils another finding may go with a second one.
        every = {a.address: list(moves_of(state, a)) for a in state.build.adjusters}
        pairs = _pairs(examination, finding, moves, every)
        found = _verified(examination, finding, [[pair] for pair in pairs])
    return tuple(found[:OFFERED])


def apply_moves(state: State, changes: tuple[Change, ...]) -> State:
    """The state with the fix applied, as a draft."""
    return state.after(changes, "draft:fix")


def _effort(moves: tuple[Move, ...]) -> tuple[float, float]:
    return sum(m.adjuster.effort for m in moves), sum(m.size for m in moves)


def _bears_on(adjuster: Adjuster, asked: frozenset[str]) -> bool:
    """Whether the adjuster moves anything that the finding may rest on, stated today or not."""
    for target in (adjuster.address, *adjuster.together):
        for address in expand(target) or instances_of(target):
            if address in asked or any(a.startswith(address + ".") for a in asked):
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
    found: list[tuple[Move, ...]] = []
    for a, b in combinations(sorted(every), 2):
        if a not in moves and b not in moves:
            continue
        for pair in product(_coarse(every[a]), _coarse(every[b])):
            changes = tuple(c for m in pair for c in m.changes)
            if _seems_enough(examination, finding, changes):
                found.append(pair)
                break
    return sorted(found, key=_effort)


def _coarse(moves: list[Move]) -> list[Move]:
    ordered = sorted(moves, key=lambda m: m.size)
    picks = np.unique(np.linspace(0, len(ordered) - 1, min(4, len(ordered))).astype(int))
    return [ordered[i] for i in picks] if ordered else []


def _verified(examination: Examination, finding: Finding, ladders: list[Ladder]) -> list[Fix]:
    """The first rung of each ladder that holds when the whole car is examined again."""
    found: list[Fix] = []
    for ladder in ladders[:MOST_LADDERS]:
        enough = (moves for moves in ladder if _enough(examination, finding, _changes(moves)))
        for moves in islice(enough, RUNGS):
            fix = _held(examination, finding, moves)
            if fix is not None:
                found.append(fix)
                break
        if len(found) == OFFERED:
            break
    return found


def _changes(moves: tuple[Move, ...]) -> tuple[Change, ...]:
    return tuple(c for m in moves for c in m.changes)


def nearest_fix(examination: Examination, finding: Finding) -> Fix | None:
    """What brings a finding as near to enough as the declared adjusters can, where none of them
    makes it enough; None where no change makes its best estimate enough and nothing else worse.

    Its ``after`` names the biggest unknowns: what causes the doubt that is left.
    """
    state, before = examination.state, finding.chance or 0.0
    registry = examination.evaluation.registry
    asked = examination.evaluation.asked(registry.checks[finding.check], finding.subject)
    moves = [
        m for a in state.build.adjusters if _bears_on(a, asked) for m in moves_of(state, a)
    ]  # fmt: skip
    tried = [(_chance(examination, finding, m.changes, QUICK), (m,)) for m in moves]
    least = max(before + GAIN, BEST_ESTIMATE)
    useful = [one for one in tried if one[0] >= least]
    for _ in range(RUNGS):
        if not useful:
            break
        best = max(chance for chance, _ in useful)
        near = [one for one in useful if one[0] >= best - AS_GOOD]
        taken = min(near, key=lambda one: _effort(one[1]))
        fix = _held(examination, finding, taken[1], enough=False)
        if fix is not None:
            return fix
        useful.remove(taken)
    return None


def _held(
    examination: Examination, finding: Finding, moves: tuple[Move, ...], *, enough: bool = True
) -> Fix | None:
    """The fix, if no finding is worse with it and, with ``enough``, the one that it is for enough;
    else if that is likelier enough than before."""
    changes = _changes(moves)
    after = examine_state(
        apply_moves(examination.state, changes),
        examination.evaluation.registry,
        draws=examination.draws,
        seed=examination.seed,
        unknowns=not enough,
    )
    same = (f for f in after.findings if (f.check, f.subject) == (finding.check, finding.subject))
    cured = next(same, None)
    if cured is None or (enough and cured.verdict is not Verdict.ENOUGH):
        return None
    if not enough and (cured.chance or 0.0) < (finding.chance or 0.0) + GAIN:
        return None
    worse, gained = _compare(examination, after)
    if worse:
        return None
    others = tuple(key for key in gained if key != (finding.check, finding.subject))
    titles = tuple(_title(m, examination.state.build) for m in moves)
    settings = tuple((_name(m), m.changes[0]) for m in moves)
    return Fix(changes, titles, _effort(moves)[0], finding, cured, others, settings)


def _compare(
    before: Examination, after: Examination
) -> tuple[list[tuple[str, str]], tuple[tuple[str, str], ...]]:
    """Findings that got worse or stop a use anew, and undecided or short ones now enough."""
    was = {(f.check, f.subject): f for f in before.findings}
    worse, gained = [], []
    for finding in after.findings:
        key = (finding.check, finding.subject)
        old = was.get(key)
        old_rank = RANK[old.verdict] if old is not None else 0
        stops_now = finding.stopping and not (old is not None and old.stopping)
        if RANK[finding.verdict] > old_rank or stops_now:
            worse.append(key)
        elif finding.verdict is Verdict.ENOUGH and old_rank > 0:
            gained.append(key)
    return worse, tuple(gained)


def _seems_enough(
    examination: Examination, finding: Finding, changes: tuple[Change, ...]
) -> bool:
    """Whether the finding alone is enough or nearly so, with few draws."""
    raw = _raw(examination, finding, changes, QUICK)
    if raw is None or verdict_of(raw, 1.0)[0] is not Verdict.ENOUGH:
        return False  # on a guess, or by a limit that is recalled, it is never enough
    wanted = finding.consequence.wanted_chance - NEARLY
    return bool(np.mean(margins([raw], QUICK)[0] >= 0) >= wanted)


def _enough(examination: Examination, finding: Finding, changes: tuple[Change, ...]) -> bool:
    """Whether the finding alone is enough, with as many draws as it was examined with."""
    raw = _raw(examination, finding, changes, examination.draws)
    if raw is None:
        return False
    after, registry = apply_moves(examination.state, changes), examination.evaluation.registry
    rows = margins([raw], examination.draws)
    chances = refined(after, [raw], rows, registry, examination.seed, sparing=False)
    return assess([raw], rows, chances)[0].verdict is Verdict.ENOUGH


def _chance(
    examination: Examination, finding: Finding, changes: tuple[Change, ...], draws: int
) -> float:
    """Share of draws in which the finding is enough after the changes; none where it is not
    worked out."""
    raw = _raw(examination, finding, changes, draws)
    return 0.0 if raw is None else float(np.mean(margins([raw], draws)[0] >= 0))


def _raw(
    examination: Examination, finding: Finding, changes: tuple[Change, ...], draws: int
) -> RawFinding | None:
    registry = examination.evaluation.registry
    try:
        after = apply_moves(examination.state, changes)
    except ChangeRefused:
        return None
    evaluation = evaluate(after, registry, draws, examination.seed)
    with np.errstate(all="ignore"):
        raw = evaluation.check(registry.checks[finding.check], finding.subject)
    return raw if raw is not None and raw.slack is not None else None


def moves_of(state: State, adjuster: Adjuster) -> Iterator[Move]:
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
            # A width in °C is one of 0 °C and more: as a difference it is written right.
            width = "temperature_difference" if low.kind == "temperature" else low.kind
            raw["plus_minus"] = written(width, low.half_width)
        yield raw, abs(setting - now) / span


def _today(state: State, address: str, fallback: Value) -> float:
    declared = declaration(address)
    there = stated(state, declared) if declared is not None else None
    value = there.value if there is not None else None
    return value.median if isinstance(value, Value) else fallback.median


def _name(move: Move) -> str:
    return move.adjuster.title or plain_name(move.changes[0].target)


def _title(move: Move, build: Build) -> str:
    change = move.changes[0]
    if change.kind == "fit":
        part = build.parts.get(str(change.value))
        named = part.name if part is not None and part.name else change.value
        return f"{_name(move)}: {named}"
    return f"{_name(move)}: {shown_setting(change)}"


def shown_setting(change: Change, system: Literal["metric", "us"] = "metric") -> str:
    """A set Change's value in the units of the reader."""
    value = read_setting(expand(change.target)[0], change.value)
    return show(value.kind, value.median, system=system) if isinstance(value, Value) else str(value)


@dataclass(frozen=True)
class Cure:
    """Fixes for all that stops a use, taken one after the other, each on the car with those before.

    left: findings that no declared adjuster cures; after: the car with all fixes, examined.
    """

    fixes: tuple[Fix, ...]
    left: tuple[Finding, ...]
    before: Examination
    after: Examination


def cure_all(examination: Examination) -> Cure:
    """The smallest fix for each stopping finding in turn, heaviest consequence first."""
    registry = examination.evaluation.registry
    current, fixes, left = examination, [], []
    tried: set[tuple[str, str]] = set()
    while True:
        waiting = [
            f
            for f in current.findings
            if f.armed
            and f.verdict in (Verdict.SHORT, Verdict.UNSURE)
            and (f.check, f.subject) not in tried
        ]
        if not waiting:
            break
        order = list(Consequence)
        worst = min(waiting, key=lambda f: (not f.stopping, order.index(f.consequence)))
        tried.add((worst.check, worst.subject))
        offered = find_fixes(current, worst)
        if not offered:
            left.append(worst)
            continue
        fixes.append(offered[0])
        current = examine_state(
            apply_moves(current.state, offered[0].changes),
            registry,
            draws=examination.draws,
            seed=examination.seed,
            unknowns=False,
        )
    after = {(f.check, f.subject): f for f in current.findings}
    now = [after.get((f.check, f.subject)) for f in left]  # None: it no longer concerns the car
    still = tuple(
        f for f, found in zip(left, now, strict=True)
        if found is not None and found.verdict is not Verdict.ENOUGH
    )  # fmt: skip
    return Cure(tuple(fixes), still, examination, current)
