"""What the part of a usual cure has to be: the smallest amount with which its checks are enough.

A figure that cures the best estimate cures half of the cars it may be. So the amount is stepped up
until the checks are enough, with the chance that they want and on the draws of the examination;
where doubt keeps them from it at any amount, the amount that brings them nearest is told, with what
causes the rest. All else of the part is as it is guessed.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from drybuild.build import Change, State
from drybuild.build.declared import declaration
from drybuild.build.kinds import places
from drybuild.build.model import Part
from drybuild.build.proposed import Proposed, make_part, with_proposed
from drybuild.build.state import instances_of, read_setting
from drybuild.examine.examination import Examination, evaluate
from drybuild.examine.naming import to_be_chosen
from drybuild.examine.unknowns import with_unknowns
from drybuild.examine.usual import Offer, Usual, part_table, stem_of, targets_of, usual_cures
from drybuild.findings import Finding, Verdict
from drybuild.findings.finding import assess, margins
from drybuild.values import HowKnown, Value, written

NEAR = 0.01
"""Amounts whose chances differ by less bring a check as near as each other."""


@dataclass(frozen=True)
class Needed:
    """What a part has to be at a place. value: SI, of ``kind``; more: or more, else or less;
    finding: the least sure of its findings at that amount; enough: whether all of them have the
    chance that they want there."""

    place: str
    fact: str
    kind: str
    value: float
    more: bool
    finding: Finding
    enough: bool


def needed(examination: Examination, offer: Offer) -> tuple[Needed, ...]:
    """What each part of a cure has to be; nothing where its amount is of no bearing or no matter
    of degree."""
    if not offer.usual.amount:
        return ()
    found = (_at(examination, offer, place) for place in offer.parts)
    return tuple(one for one in found if one is not None)


def planned(examination: Examination) -> tuple[Offer, ...]:
    """Usual cures that are planned with parts still to be chosen, for what they leave open."""
    return tuple(_planned(examination))


def _planned(examination: Examination) -> Iterator[Offer]:
    state, parts = examination.state, examination.state.build.parts
    open_ones = [f for f in examination.findings if f.armed and f.verdict is not Verdict.ENOUGH]
    for usual in usual_cures().values():
        there: dict[str, str] = {}
        mine = []
        for finding in open_ones:
            if finding.check not in usual.checks:
                continue
            for place in targets_of(usual, finding.subject, state):
                part = state.fitted.get(instances_of(place)[0]) or ""
                named = parts[part].name if part in parts else ""
                if part.startswith(stem_of(usual, place)) and to_be_chosen(named or ""):
                    there[place] = part
                    mine += [finding] if finding not in mine else []
        if mine:
            yield Offer(usual, tuple(mine), dict(sorted(there.items())), {})


@dataclass(frozen=True)
class _Trial:
    """Findings of one place as they are with an amount there, each with the chance it has."""

    value: float
    findings: tuple[Finding, ...]

    @property
    def enough(self) -> bool:
        return all(_sure(f) for f in self.findings)

    @property
    def least(self) -> Finding:
        return min(self.findings, key=_lacking)


def _sure(finding: Finding) -> bool:
    return (finding.chance or 0.0) >= finding.consequence.wanted_chance


def _lacking(finding: Finding) -> float:
    return (finding.chance or 0.0) - finding.consequence.wanted_chance


def _at(examination: Examination, offer: Offer, place: str) -> Needed | None:
    axle = place.partition(".")[2]
    fact, *ladder = offer.usual.amount
    instance = instances_of(place)[0]
    declared = declaration(f"{instance}.{fact}")
    mine = [f for f in offer.findings
            if f.subject.startswith(axle) and _hangs_on(examination, f, place, fact)]  # fmt: skip
    if declared is None or not mine:
        return None
    first, last, step = (read_setting(declared.address, text) for text in ladder)
    assert isinstance(first, Value)
    assert isinstance(last, Value)
    assert isinstance(step, Value)
    count = round(abs(last.median - first.median) / step.median) + 1
    values = np.linspace(first.median, last.median, count)
    trials: dict[int, _Trial | None] = {}

    def trial(at: int) -> _Trial | None:
        if at not in trials:
            trials[at] = _tried(examination, offer, place, mine, float(values[at]))
        return trials[at]

    end = trial(count - 1)
    if end is None:
        return None
    taken = end
    low, high = -1, count - 1
    if end.enough:
        while high - low > 1:
            middle = (low + high) // 2
            there = trial(middle)
            if there is not None and there.enough:
                high, taken = middle, there
            else:
                low = middle
    else:
        tried = [t for at in range(0, count, max(1, count // 8)) if (t := trial(at)) is not None]
        best = max(_lacking(t.least) for t in (*tried, end))
        taken = next(t for t in (*tried, end) if _lacking(t.least) >= best - NEAR)
    finding = taken.least if taken.enough else _explained(examination, offer, place, taken)
    more = last.median > first.median
    return Needed(place, fact, first.kind, taken.value, more, finding, taken.enough)


def _hangs_on(examination: Examination, finding: Finding, place: str, fact: str) -> bool:
    spec = examination.evaluation.registry.checks[finding.check]
    asked = examination.evaluation.asked(spec, finding.subject)
    return any(f"{instance}.{fact}" in asked for instance in instances_of(place))


def _tried(
    examination: Examination, offer: Offer, place: str, mine: list[Finding], value: float
) -> _Trial | None:
    """None where a finding is not worked out with it."""
    found = _found(examination, offer, place, mine, value)
    return None if found is None else _Trial(value, tuple(found[0]))


def _found(
    examination: Examination, offer: Offer, place: str, mine: list[Finding], value: float
) -> Any:
    registry, draws = examination.evaluation.registry, examination.draws
    state = _with(examination.state, offer, place, value)
    evaluation = evaluate(state, registry, draws, examination.seed)
    with np.errstate(all="ignore"):
        raw = [evaluation.check(registry.checks[f.check], f.subject) for f in mine]
    known = [one for one in raw if one is not None]
    if not known or any(one.slack is None for one in known):
        return None
    rows = margins(known, draws)
    return assess(known, rows), rows, evaluation


def _explained(examination: Examination, offer: Offer, place: str, trial: _Trial) -> Finding:
    """The least sure finding of a trial, with what causes its doubt."""
    findings, rows, evaluation = _found(examination, offer, place, [trial.least], trial.value)
    return with_unknowns(findings, rows, evaluation)[0]


def _with(state: State, offer: Offer, place: str, value: float) -> State:
    """The state with all parts of the cure fitted, the one at a place of that amount."""
    proposed, changes = [], []
    for where, part in offer.parts.items():
        made = _part(state, offer, where, part)
        if where == place:
            made = made.model_copy(update=_amount(made, offer.usual, value))
        one = Proposed(f"{part} as tried", made, HowKnown.ASSUMED, "tried")
        proposed.append(one)
        changes.append(Change("fit", where, one.id))
    return with_proposed(state, proposed).after(changes, "draft:amount")


def _part(state: State, offer: Offer, place: str, part: str) -> Part:
    if part in state.build.parts:
        return state.build.parts[part]
    table = part_table(state.build, offer, place)
    kind = places()[place.partition(".")[0]].kind
    return make_part(kind, {k: v for k, v in table.items() if k != "kind"}, known="assumed")


def _amount(part: Part, usual: Usual, value: float) -> Mapping[str, Any]:
    """The amount as its maker states it, with the doubt that such figures have."""
    fact, first, *_ = usual.amount
    kind: str = getattr(part, "kind")  # noqa: B009  a part of a place has one
    unit = read_setting(f"{_any_place(kind)}.{fact}", first).kind
    said = make_part(kind, {fact: {"is": written(unit, value), "by": "maker"}})
    return {fact: getattr(said, fact)}


def _any_place(kind: str) -> str:
    root = next(name for name, place in places().items() if place.kind == kind)
    return instances_of(root)[0]
