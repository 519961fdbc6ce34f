"""Runs results and checks over one state's facts: each result at most once, missing inputs named.

An ``Evaluation`` is made for a source of facts (a state of the car, drawn) and asks the registry
for what is needed. It knows for every outcome which facts it rests on, which of those a Change
has touched (that arms a check), the lowest way of knowing among them, and which ranges were left.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any, Protocol

import numpy as np
import numpy.typing as npt

from drybuild.findings.errors import FormulaRefused, Lacking, NotWorkedOut, UnknownAddress
from drybuild.findings.needs import Need, fill, instance, subjects
from drybuild.findings.registry import CheckSpec, Registry, ResultSpec
from drybuild.findings.slack import NOT_APPLICABLE, Along, RuleSlack
from drybuild.findings.words import RangeNote
from drybuild.values import HowKnown

NOTHING: frozenset[str] = frozenset()

WHOLE = ("object", "text")
"""Kinds of result that are no figures: solutions, curves, words."""

SAME = 1e-9
"""Relative; a figure that moved less than this moved by the rounding of the sums alone."""

UNWORKABLE = "cannot be worked out from these figures: "
"""How it begins what is missing where exact figures are stated and make an arithmetic error."""
IDLE = " does not apply"
"""How it ends of a result that has nothing to say on this car."""
BEYOND = "cannot be worked out: "
"""How it begins where everything is stated and the formula does not reach it."""


@dataclass(frozen=True, slots=True)
class Fact:
    """One fact as drawn: a float, a column (N,), a drawn curve, a word or a frozen object.

    columns: keys of the draw columns behind it; changed: a Change touched it since as found;
    same_as: the address that it copies, where nobody gave it a figure of its own.
    """

    address: str
    value: Any
    columns: tuple[tuple[str, int], ...]
    how: HowKnown | None
    changed: bool
    same_as: str = ""


@dataclass(frozen=True, slots=True)
class Missing:
    """A declared fact that nobody has stated.

    absent: it belongs to a part that a car may be without, and none is fitted here or spoken of.
    """

    address: str
    changed: bool
    absent: bool = False


class FactSource(Protocol):
    """What the kernel asks of a state of the car."""

    @property
    def blends(self) -> tuple[str, ...]:
        """Ids of the fuel blends of the build."""

    def fact(self, address: str) -> Fact | Missing:
        """The fact at an address; raises UnknownAddress when no model declares it."""


@dataclass(frozen=True, slots=True)
class Outcome:
    """What a result, a fact or an input came to.

    known: there is a value. facts: every fact behind it. touched: those that arm.
    lowest: lowest way of knowing among the facts that arm. missing: what nobody stated.
    """

    value: Any
    known: bool
    facts: frozenset[str] = NOTHING
    touched: frozenset[str] = NOTHING
    lowest: HowKnown | None = None
    notes: frozenset[str] = NOTHING
    missing: frozenset[str] = NOTHING
    absent: bool = False


@dataclass(frozen=True, slots=True)
class RawFinding:
    """A check's outcome before statistics. slack is None when unmeasured.

    when_short: how it is said that it is short, where that is not as its check always says it.
    """

    spec: CheckSpec
    subject: str
    slack: npt.NDArray[np.float64] | None
    gap: Any
    outcome: Outcome
    worst: npt.NDArray[np.float64] | None = None
    worst_kind: str = ""
    rule: RuleSlack | None = None
    when_short: str = ""


class Evaluation:
    """All results and checks of a registry over one source of facts and one set of draws."""

    def __init__(
        self,
        registry: Registry,
        facts: FactSource,
        n: int,
        base: Evaluation | None = None,
    ) -> None:
        self.registry = registry
        self.facts = facts
        self.n = n
        self.base = base if base is not None else self
        self._results = registry.instances(facts.blends)
        self._memo: dict[str, Outcome] = {}
        self._taken: dict[int, Outcome] = {}

    def get(self, address: str) -> Outcome:
        """The outcome at an address, a fact's or a result's."""
        found = self._memo.get(address)
        if found is None:
            named = self._results.get(address)
            found = self._fact(address) if named is None else self._result(*named)
            self._memo[address] = found
        return found

    def forget(self) -> None:
        """Drop what was worked out, the car as found apart. Whoever asks has it made anew."""
        self._memo.clear()
        self._taken.clear()

    def inputs(self, spec: ResultSpec | CheckSpec, subject: str) -> dict[str, Outcome]:
        """The outcome of each input of a result or check."""
        return {key: self._need(need) for key, need in self.registry.inputs(spec, subject)}

    def check(self, spec: CheckSpec, subject: str) -> RawFinding | None:
        """Run one check; None when it does not concern this car."""
        given = self.inputs(spec, subject)
        outcome, arguments = _gather(given, spec.needs, spec.valid)
        gap: Any = spec.gap_wanted
        if isinstance(gap, Need):
            wanted = self._need(fill(gap, spec.per, subject))
            outcome = _join(outcome, wanted)
            gap = wanted.value
        if not outcome.known:
            if outcome.absent or _asks_nothing(given, spec):
                return None
            return RawFinding(spec, subject, None, gap, outcome)
        try:
            raw = spec.function(**arguments)
        except Lacking as error:
            refused = _unknown(outcome, self._wanted(spec, subject, error.inputs))
            return RawFinding(spec, subject, None, gap, refused)
        except (FormulaRefused, ArithmeticError) as error:
            return RawFinding(spec, subject, None, gap, _refused(outcome, spec.title, error))
        return self._raw(spec, subject, gap, raw, outcome)

    def asked(self, spec: CheckSpec | ResultSpec, subject: str) -> frozenset[str]:
        """Every fact address that a check or result may take, stated or not, results followed."""
        found: set[str] = set()
        for need in spec.needs.values():
            for address in fill(need, spec.per, subject).addresses:
                named = self._results.get(address)
                found |= {address} if named is None else self.asked(*named)
        return frozenset(found)

    def _raw(
        self, spec: CheckSpec, subject: str, gap: Any, raw: Any, outcome: Outcome
    ) -> RawFinding | None:
        if raw is NOT_APPLICABLE:
            return None
        rule = raw if isinstance(raw, RuleSlack) else None
        if rule is not None:
            raw = rule.slack
        said = self._when_copied(spec, subject)
        if isinstance(raw, Along):
            slack, worst = _worst(raw, self.n)
            return RawFinding(spec, subject, slack, gap, outcome, worst, raw.kind, rule, said)
        slack = np.broadcast_to(np.asarray(raw, dtype=np.float64), (self.n,))
        return RawFinding(spec, subject, slack, gap, outcome, rule=rule, when_short=said)

    def _when_copied(self, spec: CheckSpec, subject: str) -> str:
        """How a shortfall is said where an input copies another fact; empty where none does."""
        for key, words in spec.when_copied.items():
            for address in fill(spec.needs[key], spec.per, subject).addresses:
                fact = self.facts.fact(address)
                if isinstance(fact, Fact) and fact.same_as:
                    return words
        return ""

    def taken(self, need: Need, at: int) -> bool:
        """Whether the alternative at that place is known, and surely enough to be taken."""
        outcome = self.get(need.addresses[at])
        return outcome.known and not (at in need.sure and outcome.lowest is HowKnown.ASSUMED)

    def chosen(self, need: Need) -> str:
        """The alternative that is taken; where none is, the first that could be."""
        ways = range(len(need.addresses))
        could = (at for at in ways if not any(map(idle, self.get(need.addresses[at]).missing)))
        taken = next((at for at in ways if self.taken(need, at)), None)
        return need.addresses[next(could, 0) if taken is None else taken]

    def _need(self, need: Need) -> Outcome:
        # Filled needs are cached objects, so their identity is a key that costs nothing.
        found = self._taken.get(id(need))
        if found is None:
            found = self._taken[id(need)] = self._take(need)
        return found

    def _take(self, need: Need) -> Outcome:
        source = self.base if need.base else self
        tried = []
        for at in range(len(need.addresses)):
            outcome = source.get(need.addresses[at])
            if source.taken(need, at):
                break
            tried.append(outcome)
        else:
            return _not_stated(need, tried)
        if need.arms and not need.base and not tried:
            return outcome
        arms = NOTHING
        if need.arms and not need.base:
            arms = outcome.touched.union(*(t.touched for t in tried))
        facts = _based(outcome.facts) if need.base else outcome.facts
        lowest = outcome.lowest if need.arms else None
        return Outcome(outcome.value, True, facts, arms, lowest, outcome.notes)

    def _fact(self, address: str) -> Outcome:
        fact = self.facts.fact(address)
        touched = frozenset({address}) if fact.changed else NOTHING
        if isinstance(fact, Missing):
            missing = frozenset({address})
            return Outcome(None, False, NOTHING, touched, missing=missing, absent=fact.absent)
        return Outcome(fact.value, True, frozenset({address}), touched, fact.how)

    def _result(self, spec: ResultSpec, subject: str) -> Outcome:
        given = self.inputs(spec, subject)
        outcome, arguments = _gather(given, spec.needs, spec.valid)
        if not outcome.known:
            return outcome
        try:
            value = spec.function(**arguments)
        except Lacking as error:
            return _unknown(outcome, self._wanted(spec, subject, error.inputs))
        except (FormulaRefused, ArithmeticError) as error:
            return _refused(outcome, spec.name, error)
        if value is NOT_APPLICABLE or value is None:
            return _unknown(outcome, frozenset({f"{spec.name}{IDLE}"}))
        if spec.hard and isinstance(value, np.ndarray | float):
            value = _blank_outside(value, arguments, spec.valid)
        touched = outcome.touched
        if touched and self._read_off(spec, subject, given) and self._stands(spec, subject, value):
            touched = NOTHING
        return Outcome(value, True, outcome.facts, touched, outcome.lowest, outcome.notes)

    def _wanted(
        self, spec: ResultSpec | CheckSpec, subject: str, inputs: tuple[str, ...]
    ) -> frozenset[str]:
        """What is missing where a formula cannot do without inputs that may be left out."""
        needs, found = dict(self.registry.inputs(spec, subject)), NOTHING
        for ways in inputs:
            each = [self._take(replace(needs[one], optional=False)) for one in ways.split("|")]
            found |= _any_of([one.missing for one in each])
        return found

    def _read_off(self, spec: ResultSpec, subject: str, given: Mapping[str, Outcome]) -> bool:
        """Whether a figure is read off a solution, in which all hangs together, and no Change
        touches it but through that."""
        touching = (
            address for key, need in self.registry.inputs(spec, subject) if given[key].touched
            for address in need.addresses
        )  # fmt: skip
        solved = (self._results[a][0].kind if a in self._results else "" for a in touching)
        return spec.kind not in WHOLE and all(kind in WHOLE for kind in solved)

    def _stands(self, spec: ResultSpec, subject: str, value: Any) -> bool:
        """Whether a figure is in every draw what it is of the car as found."""
        if self.base is self:
            return False
        found = self.base.get(instance(spec.name, spec.per, subject))
        if not found.known or np.shape(found.value) != np.shape(value):
            return False
        then, now = (np.asarray(v, dtype=np.float64) for v in (found.value, value))
        return bool(np.allclose(then, now, rtol=SAME, atol=0.0, equal_nan=True))


def _any_of(lacking: list[frozenset[str]]) -> frozenset[str]:
    """What is missing when any one of several inputs would do.

    Single facts are named together, ``a|b``; where all of them are results of many, the fewest.
    What a formula refused is said in words, and only where no fact would do; what no measurement
    would help comes last.
    """
    facts = [one for one in lacking if not any(" " in name for name in one)]
    lacking = facts or [one for one in lacking if not any(map(beyond, one))] or lacking
    single = [one for one in lacking if len(one) == 1]
    if single:
        return frozenset({"|".join(dict.fromkeys(next(iter(one)) for one in single))})
    return min(lacking, key=len)


def beyond(missing: str) -> bool:
    """Whether something missing cannot be had by measuring: everything it asks for is stated."""
    return missing.removeprefix("base:").startswith((UNWORKABLE, BEYOND))


def idle(missing: str) -> bool:
    """Whether something missing is a result that does not apply to this car."""
    return missing.endswith(IDLE)


def check_addresses(registry: Registry, facts: FactSource) -> list[str]:
    """Input addresses that no model and no result declares (a test keeps this empty)."""
    results = registry.instances(facts.blends)
    wrong: list[str] = []
    specs: list[Any] = [*registry.results.values(), *registry.checks.values()]
    for spec in specs:
        for subject in subjects(spec.per, facts.blends):
            for key, need in spec.needs.items():
                for address in fill(need, spec.per, subject).addresses:
                    if address in results:
                        continue
                    try:
                        facts.fact(address)
                    except UnknownAddress:
                        name = getattr(spec, "name", None) or spec.id
                        wrong.append(f"{name}: {key} = {address!r}")
    return sorted(set(wrong))


def _asks_nothing(given: Mapping[str, Outcome], spec: CheckSpec) -> bool:
    """True when a part that the check is about is known not to be there."""
    return any(
        outcome.known
        and outcome.value is False
        and spec.needs[key].addresses[0].endswith(".present")
        for key, outcome in given.items()
    )


def _not_stated(need: Need, tried: list[Outcome]) -> Outcome:
    arms = NOTHING
    if need.arms and not need.base:
        arms = NOTHING.union(*(t.touched for t in tried))
    if need.optional:
        return Outcome(None, True, NOTHING, arms)
    missing = _any_of([t.missing for t in tried])
    if need.base:
        missing = frozenset("|".join(f"base:{a}" for a in m.split("|")) for m in missing)
    # One of the alternatives may be of a part that is not there, and the other simply not stated.
    return Outcome(None, False, NOTHING, arms, missing=missing, absent=all(t.absent for t in tried))


def _gather(
    given: Mapping[str, Outcome],
    needs: Mapping[str, Need],
    valid: Mapping[str, tuple[float, float]],
) -> tuple[Outcome, dict[str, Any]]:
    """The inputs together: what they rest on, and the arguments of the function."""
    inputs = given.values()
    missing, absent, known = NOTHING, False, all(o.known for o in inputs)
    if not known:
        missing = NOTHING.union(*(o.missing for o in inputs if not o.known))
        absent = any(o.absent for o in inputs)
    notes = NOTHING.union(*(o.notes for o in inputs))
    if valid:
        left = (
            _outside(key, given[key].value, *ends, needs[key].addresses)
            for key, ends in valid.items()
        )
        notes = notes.union(note for note in left if note)
    ways = [o.lowest for o in inputs if o.lowest is not None]
    outcome = Outcome(
        None,
        known,
        NOTHING.union(*(o.facts for o in inputs)),
        NOTHING.union(*(o.touched for o in inputs)),
        min(ways) if ways else None,
        notes,
        missing,
        absent,
    )
    return outcome, {key: value.value for key, value in given.items()}


def _join(a: Outcome, b: Outcome) -> Outcome:
    ways = [way for way in (a.lowest, b.lowest) if way is not None]
    return Outcome(
        None, a.known and b.known, a.facts | b.facts, a.touched | b.touched,
        min(ways) if ways else None, a.notes | b.notes, a.missing | b.missing, a.absent | b.absent,
    )  # fmt: skip


def _refused(outcome: Outcome, name: str, error: Exception) -> Outcome:
    """An outcome that cannot be had. Exact facts are plain floats, of which a formula may make an
    arithmetic error where an array would have given nan."""
    said = f"{BEYOND}{error}" if isinstance(error, NotWorkedOut) else str(error)
    if not isinstance(error, FormulaRefused):
        said = f"{UNWORKABLE}{name.replace('_', ' ')} ({error})"
    return _unknown(outcome, frozenset({said}))


def _unknown(outcome: Outcome, reasons: frozenset[str]) -> Outcome:
    return Outcome(
        None, False, outcome.facts, outcome.touched, outcome.lowest, outcome.notes, reasons
    )


def _based(facts: frozenset[str]) -> frozenset[str]:
    return frozenset(f if f.startswith("base:") else f"base:{f}" for f in facts)


def _outside(
    key: str, value: Any, low: float, high: float, addresses: tuple[str, ...]
) -> RangeNote | None:
    if not isinstance(value, int | float | np.ndarray):
        return None
    array = np.asarray(value, dtype=np.float64)
    if array.min() >= low and array.max() <= high:  # the usual case, cheaply; never with a NaN
        return None
    with np.errstate(invalid="ignore"):
        share = float(np.mean((array < low) | (array > high)))
    if share <= 0:
        return None
    return RangeNote(key, low, high, share, addresses)


def _blank_outside(
    value: Any, arguments: Mapping[str, Any], valid: Mapping[str, tuple[float, float]]
) -> Any:
    for key, (low, high) in valid.items():
        given = arguments[key]
        if isinstance(given, int | float | np.ndarray):
            value = np.where((given < low) | (given > high), np.nan, value)
    return value


def _worst(along: Along, n: int) -> tuple[npt.NDArray[np.float64], npt.NDArray[np.float64]]:
    slack = np.asarray(along.slack, dtype=np.float64)
    index = along.worst(n)
    picked = np.broadcast_to(slack, (along.at.shape[0], n))[index, np.arange(n)]
    return picked, np.asarray(along.at, dtype=np.float64)[index]
