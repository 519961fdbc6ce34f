"""Many states in one evaluation: the columns of all candidates laid end to end.

The registered functions take columns of any length. So C states of M draws each are run as one
column of C·M draws: what differs between the states is laid out state by state, what does not is
repeated, and a result that rests on nothing that differs is computed once and repeated. Words and
objects cannot be laid out, so that states are taken together only where those agree.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, fields, is_dataclass, replace
from typing import Any

import numpy as np
import numpy.typing as npt

from drybuild.build import State
from drybuild.build.build import Stated
from drybuild.build.declared import Declared, declaration
from drybuild.build.drawn import DrawnFacts, stated
from drybuild.findings import Evaluation, Fact, Missing, Registry
from drybuild.findings.evaluate import Outcome
from drybuild.findings.needs import fill
from drybuild.findings.registry import CheckSpec, ResultSpec
from drybuild.values import DrawnCurve, Draws, Value

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.intp]


class CandidateFacts(DrawnFacts):
    """Facts of one candidate. All proposed parts of a kind share their columns of doubt.

    Two wheels of a catalogue are never on the car together, so that one column for the doubt of
    both is as good as two, and neighbours in a row of offsets differ by their offsets alone.
    """

    def __init__(self, state: State, draws: Draws, proposed: frozenset[str]) -> None:
        super().__init__(state, draws)
        self.proposed = proposed

    def _drawn(
        self, address: str, found: Stated, declared: Declared, changed: bool
    ) -> Fact | Missing:
        head, _, rest = found.owner.removeprefix("part:").partition(".")
        if found.owner.startswith("part:") and head in self.proposed:
            place = declared.owner.split(".", 1)[0]
            owner = ".".join(word for word in (f"part:proposed {place}", rest) if word)
            found = replace(found, owner=owner)
        return super()._drawn(address, found, declared, changed)


@dataclass(frozen=True)
class Table:
    """One address over all states: the different facts there are, and which each state has.

    words: a number for each state, the same where a word or object agrees or numbers stand.
    """

    facts: tuple[Fact | Missing, ...]
    of: Ints
    words: Ints


class States:
    """States that are looked up together: which addresses differ, and what stands there."""

    def __init__(
        self, states: Sequence[State], draws: Draws, proposed: frozenset[str] = frozenset()
    ) -> None:
        self.states = tuple(states)
        self.draws = draws
        self._facts = [CandidateFacts(s, draws, proposed) for s in states]
        self._parts = _differing([s.fitted for s in states])
        self._settings = _differing([s.settings for s in states])
        self._readings = _differing([s.readings for s in states])
        self._marks = _index([tuple(sorted(s.disturbed)) for s in states])
        self._memo: dict[str, Table | None] = {}
        self._keys: dict[str, Ints | None] = {}

    def table(self, address: str) -> Table | None:
        """What stands at an address in each state; None when it is the same in all."""
        if address not in self._memo:
            self._memo[address] = self._table(address)
        return self._memo[address]

    def plain(self, index: int) -> CandidateFacts:
        """The facts of one state."""
        return self._facts[index]

    def _table(self, address: str) -> Table | None:
        key = self._key(address, ())
        if key is None:
            return None
        kept: list[Fact | Missing] = []
        index: dict[Any, int] = {}
        words: dict[Any, int] = {}
        of = np.empty(len(self.states), dtype=np.intp)
        said = np.empty_like(of)
        for value in np.unique(key):
            rows = np.flatnonzero(key == value)
            fact = self._facts[rows[0]].fact(address)
            same, word = _sameness(fact)
            if same not in index:
                index[same] = len(kept)
                kept.append(fact)
            of[rows] = index[same]
            said[rows] = words.setdefault(word, len(words))
        return Table(tuple(kept), of, said) if len(kept) > 1 else None

    def _key(self, address: str, following: tuple[str, ...]) -> Ints | None:
        """A number for each state, the same where the same stands at the address."""
        if address in self._keys:
            return self._keys[address]
        declared = declaration(address)
        owner = address.rpartition(".")[0] if declared is None else declared.owner
        keys = [
            found
            for found in (
                self._parts.get(owner),
                self._settings.get(address),
                self._readings.get(address),
                None if self._marks.max(initial=0) == 0 else self._marks,
            )
            if found is not None
        ]
        for other in self._followed(declared, keys):
            if other not in following:
                key = self._key(other, (*following, address))
                keys += [] if key is None else [key]
        found = _together(keys)
        self._keys[address] = found
        return found

    def _followed(self, declared: Declared | None, keys: list[Ints]) -> Iterable[str]:
        """Addresses that what stands here is a copy of."""
        if declared is None:
            return ()
        here = _together(keys)
        first = [0] if here is None else np.unique(here, return_index=True)[1].tolist()
        found = (stated(self.states[i], declared) for i in first)
        return {
            one.value.same_as
            for one in found
            if one is not None and isinstance(one.value, Value) and one.value.same_as
        }

    def alike(self, addresses: Iterable[str]) -> list[Ints]:
        """States that may be run together: every word and object at these addresses agrees."""
        keys = [
            table.words
            for table in map(self.table, sorted(set(addresses)))
            if table is not None
        ]
        together = _together(keys)
        if together is None:
            return [np.arange(len(self.states))]
        return [np.flatnonzero(together == value) for value in np.unique(together)]


class _Laid:
    """The facts of some states, laid end to end (findings.FactSource)."""

    def __init__(self, states: States, rows: Ints) -> None:
        self.states, self.rows = states, rows
        self.first = states.plain(int(rows[0]))

    @property
    def blends(self) -> tuple[str, ...]:
        return self.first.blends

    def fact(self, address: str) -> Fact | Missing:
        table = self.states.table(address)
        here = self.first.fact(address)
        if isinstance(here, Missing):
            return here
        n = self.states.draws.n
        of = None if table is None else table.of[self.rows]
        if table is None or of is None or np.all(of == of[0]):
            return replace(here, value=repeated(here.value, len(self.rows), n))
        facts = [table.facts[i] for i in np.unique(of)]
        known = [f for f in facts if isinstance(f, Fact)]
        grid = np.zeros((len(table.facts), n))
        for i, fact in enumerate(table.facts):
            if isinstance(fact, Fact):
                grid[i] = fact.value
        ways = [f.how for f in known if f.how is not None]
        return Fact(
            address,
            grid[of].ravel(),
            (),
            min(ways) if ways else None,
            any(f.changed for f in facts),
        )


class Stack(Evaluation):
    """Results and checks over some of the states, which agree in words and objects.

    plain: the first state's own evaluation; what rests on nothing that differs is taken from it.
    """

    def __init__(
        self, registry: Registry, states: States, rows: Ints, plain: Evaluation, differs: _Differs
    ) -> None:
        n = states.draws.n
        self.copies, self.each = len(rows), n
        base = _Repeated(registry, plain.base, len(rows), n)
        super().__init__(registry, _Laid(states, rows), n * len(rows), base)
        self.plain, self.differs = plain, differs

    def get(self, address: str) -> Outcome:
        """The outcome at an address, over all states."""
        found = self._memo.get(address)
        if found is None and address in self._results and not self.differs.here(address):
            found = self._memo[address] = _again(self.plain.get(address), self.copies, self.each)
        return super().get(address) if found is None else found


class _Repeated(Evaluation):
    """Another evaluation's outcomes, repeated for each state."""

    def __init__(self, registry: Registry, plain: Evaluation, copies: int, n: int) -> None:
        super().__init__(registry, plain.facts, n * copies)
        self.plain, self.copies, self.each = plain, copies, n

    def get(self, address: str) -> Outcome:
        found = self._memo.get(address)
        if found is None:
            found = self._memo[address] = _again(self.plain.get(address), self.copies, self.each)
        return found


class _Differs:
    """Which results rest on something that differs between the states."""

    def __init__(self, registry: Registry, states: States) -> None:
        self.states = states
        self.results = registry.instances(states.plain(0).blends)
        self._memo: dict[str, bool] = {}

    def here(self, address: str) -> bool:
        found = self._memo.get(address)
        if found is None:
            named = self.results.get(address)
            found = (
                self.states.table(address) is not None if named is None else self.of(*named)
            )
            self._memo[address] = found
        return found

    def of(self, spec: ResultSpec | CheckSpec, subject: str) -> bool:
        return any(
            self.here(address)
            for need in spec.needs.values()
            if not need.base
            for address in fill(need, spec.per, subject).addresses
        )


def stacks(
    registry: Registry,
    states: States,
    asked: Iterable[str],
    *,
    most_draws: int,
) -> Iterable[tuple[Ints, Stack]]:
    """Evaluations over all states, a group at a time, with the states that each holds."""
    addresses = [a for a in asked if states.table(a) is not None]
    differs = _Differs(registry, states)
    n = states.draws.n
    first = states.plain(0)
    base = Evaluation(registry, DrawnFacts(first.state.base, states.draws), n)
    plain = Evaluation(registry, first, n, base)
    size = max(1, most_draws // n)
    for rows in states.alike(addresses):
        for start in range(0, len(rows), size):
            some = rows[start : start + size]
            yield some, Stack(registry, states, some, plain, differs)


def repeated(value: Any, copies: int, n: int) -> Any:
    """A value of n draws, repeated; floats, words and what holds no draws stay as they are."""
    if copies == 1:
        return value
    if isinstance(value, np.ndarray):
        return np.tile(value, copies) if value.ndim and value.shape[-1] == n else value
    if isinstance(value, DrawnCurve):
        return replace(value, y=np.tile(value.y, copies)) if value.y.ndim == 2 else value
    if is_dataclass(value) and not isinstance(value, type):
        changed = {
            f.name: repeated(getattr(value, f.name), copies, n) for f in fields(value) if f.init
        }
        if all(changed[name] is getattr(value, name) for name in changed):
            return value
        return replace(value, **changed)
    return value


def _again(outcome: Outcome, copies: int, n: int) -> Outcome:
    return replace(outcome, value=repeated(outcome.value, copies, n)) if outcome.known else outcome


def _sameness(fact: Fact | Missing) -> tuple[Any, Any]:
    """What tells a fact from another, and what tells it where numbers may differ."""
    if isinstance(fact, Missing):
        word: Any = ("missing", fact.changed, fact.absent)
        return word, word
    number = isinstance(fact.value, float)
    column = isinstance(fact.value, np.ndarray) and fact.value.ndim == 1
    if number or column:
        # Columns are kept by their value and key, so that equal ones are one object.
        return (fact.value if number else id(fact.value), fact.changed), ("number", fact.changed)
    word = (_hashed(fact.value), fact.changed)
    return word, word


def _differing(maps: list[Any]) -> dict[str, Ints]:
    """For each key at which the maps differ: a number for each map, the same where it agrees."""
    keys = set().union(*maps) if maps else set()
    shared = {id(m) for m in maps}
    if len(shared) == 1:
        return {}
    first = maps[0]
    differing = {
        key
        for m in maps
        for key in keys
        if m is not first and m.get(key, _NOTHING) != first.get(key, _NOTHING)
    }
    return {key: _index([m.get(key, _NOTHING) for m in maps]) for key in differing}


class _Nothing:
    pass


_NOTHING = _Nothing()


def _index(values: list[Any]) -> Ints:
    seen: dict[Any, int] = {}
    return np.array([seen.setdefault(_hashed(v), len(seen)) for v in values], dtype=np.intp)


def _hashed(value: Any) -> Any:
    try:
        hash(value)
    except TypeError:
        return repr(value)
    return value


def _together(keys: list[Ints]) -> Ints | None:
    """One number for each row of keys; None when every key is the same all over."""
    kept = [key for key in keys if key.size and np.any(key != key[0])]
    if not kept:
        return None
    if len(kept) == 1:
        return kept[0]
    found: Ints = np.unique(np.stack(kept, axis=1), axis=0, return_inverse=True)[1].ravel()
    return found
