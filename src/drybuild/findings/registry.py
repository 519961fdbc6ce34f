"""How a system offers its results, checks and records: the small kernel rooms register with."""

from __future__ import annotations

import inspect
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field, replace
from graphlib import CycleError, TopologicalSorter
from typing import Any

from drybuild.findings.between import Between, check_named
from drybuild.findings.errors import RegistrationError
from drybuild.findings.needs import Need, fill, instance, parse_need, subjects
from drybuild.findings.words import Consequence, Per, Source, uses
from drybuild.values import KINDS

Function = Callable[..., Any]


@dataclass(frozen=True)
class ResultSpec:
    """A named quantity of a system: a plain function and where its inputs come from."""

    name: str
    function: Function
    per: Per
    kind: str
    needs: Mapping[str, Need]
    formula: str
    source: Source
    valid: Mapping[str, tuple[float, float]]
    hard: bool
    room: str

    @property
    def formula_name(self) -> str:
        return f"{self.function.__module__}.{self.function.__qualname__}"


@dataclass(frozen=True)
class CheckSpec:
    """One margin: a small function, one source, one consequence, the uses it stops.

    between: the figure that it is about and its limit; share_of: what a room in percent is a share
    of.
    """

    id: str
    title: str
    function: Function
    per: Per
    kind: str
    needs: Mapping[str, Need]
    formula: str
    source: Source
    gap_wanted: float | Need
    consequence: Consequence
    stops: tuple[str, ...]
    pose: str
    when_short: str
    do: str
    safety: str
    valid: Mapping[str, tuple[float, float]]
    room: str
    when_copied: Mapping[str, str]
    between: Between | None = None
    share_of: str = ""


@dataclass(frozen=True)
class RecordSpec:
    """A record that a Change makes owed: what stops which use until a hand check is recorded.

    changed: patterns of places (``wheel.*``, ``injectors``) whose Change makes it owed. hanging: it
    is seen while the wheel is off the ground.
    """

    id: str
    title: str
    changed: tuple[str, ...]
    stops: tuple[str, ...]
    evidence: tuple[str, ...]
    second_person: bool
    do: str
    safety: str
    source: Source
    room: str
    hanging: bool = False


@dataclass
class Room:
    """One room of systems/: collects what the room offers. Filled at import, then only read."""

    name: str
    title: str
    results: list[ResultSpec] = field(default_factory=list)
    checks: list[CheckSpec] = field(default_factory=list)
    records: list[RecordSpec] = field(default_factory=list)

    def result(
        self,
        name: str,
        *,
        of: Function,
        needs: Mapping[str, str],
        kind: str,
        per: Per = "car",
        formula: str = "",
        source: Source,
        valid: Mapping[str, tuple[float, float]] | None = None,
        hard: bool = False,
    ) -> None:
        """Offer a result. ``of`` is a function of keyword arguments named as in ``needs``.

        kind: a kind of ``values.KINDS``, or ``object``/``text`` for a frozen object or a word.
        """
        _own_name(self.name, name)
        _check_kind(name, kind)
        parsed = _check_function(name, of, needs)
        _check_valid(name, parsed, valid or {})
        if hard and kind in ("object", "text"):
            raise RegistrationError(f"{name}: a hard range cannot blank draws of an {kind}")
        self.results.append(
            ResultSpec(
                name, of, per, kind, parsed, formula, source, dict(valid or {}), hard, self.name
            )
        )

    def check(
        self,
        id: str,
        *,
        title: str,
        slack: Function,
        needs: Mapping[str, str],
        kind: str,
        per: Per = "car",
        gap_wanted: float | str = 0.0,
        consequence: str,
        stops: Iterable[str],
        source: Source,
        formula: str = "",
        pose: str = "",
        when_short: str = "",
        do: str = "",
        safety: str = "",
        valid: Mapping[str, tuple[float, float]] | None = None,
        when_copied: Mapping[str, str] | None = None,
        between: Between | None = None,
        share_of: str = "",
    ) -> None:
        """Offer a check: ``slack`` gives the physical slack in SI; margin = slack − gap wanted.

        between: what the slack is the difference of, where ``slack`` itself does not answer with
        it (``Along``, ``RuleSlack``). share_of: what percents of it are of, in the trade's words.
        when_copied: input → ``when_short`` where that input has no figure of its own and copies
        another fact (``same_as``).
        """
        _own_name(self.name, id)
        _check_kind(id, kind)
        parsed = _check_function(id, slack, needs)
        _check_valid(id, parsed, valid or {})
        check_named(id, between, parsed)
        stated = isinstance(gap_wanted, int | float)
        gap = float(gap_wanted) if stated else parse_need(str(gap_wanted))
        if Consequence(consequence) is Consequence.INJURY and not safety:
            raise RegistrationError(f"{id}: someone can be hurt, so it needs a word of safety")
        self.checks.append(
            CheckSpec(
                id, title, slack, per, kind, parsed, formula, source, gap,
                Consequence(consequence), _known_uses(id, stops), pose, when_short or title, do,
                safety, dict(valid or {}), self.name, dict(when_copied or {}),
                between, share_of,
            )
        )  # fmt: skip

    def record(
        self,
        id: str,
        *,
        title: str,
        changed: Iterable[str],
        stops: Iterable[str],
        evidence: Iterable[str] = ("value", "tool", "name"),
        second_person: bool = False,
        do: str,
        safety: str = "",
        source: Source,
        hanging: bool = False,
    ) -> None:
        """Offer a record that becomes owed when a Change touches one of ``changed``."""
        _own_name(self.name, id)
        self.records.append(
            RecordSpec(
                id, title, tuple(changed), _known_uses(id, stops), tuple(evidence),
                second_person, do, safety, source, self.name, hanging,
            )
        )  # fmt: skip


class Registry:
    """All rooms together; built once, checked whole: names, uses, loops."""

    def __init__(self, rooms: Iterable[Room]) -> None:
        self.rooms = tuple(rooms)
        self.results = _by_name("result", (r for room in self.rooms for r in room.results))
        self.checks = _by_name("check", (c for room in self.rooms for c in room.checks))
        self.records = _by_name("record", (r for room in self.rooms for r in room.records))
        self._refuse_loops()
        self._instances: dict[tuple[str, ...], dict[str, tuple[ResultSpec, str]]] = {}
        self._inputs: dict[tuple[int, str], tuple[tuple[str, Need], ...]] = {}

    def in_words(self, words: Callable[[str], str]) -> Registry:
        """The same rooms, with what their checks and records say put through ``words``."""
        rooms = [Room(
            room.name, room.title, room.results,
            [replace(
                c, title=words(c.title), when_short=words(c.when_short), do=words(c.do),
                safety=words(c.safety),
            ) for c in room.checks],
            [replace(r, title=words(r.title), do=words(r.do), safety=words(r.safety))
             for r in room.records],
        ) for room in self.rooms]  # fmt: skip
        return Registry(rooms)

    def instances(self, blends: tuple[str, ...]) -> dict[str, tuple[ResultSpec, str]]:
        """Address → (result, subject) for a car with these blends."""
        found = self._instances.get(blends)
        if found is None:
            found = {
                instance(spec.name, spec.per, subject): (spec, subject)
                for spec in self.results.values()
                for subject in subjects(spec.per, blends)
            }
            self._instances[blends] = found
        return found

    def inputs(self, spec: ResultSpec | CheckSpec, subject: str) -> tuple[tuple[str, Need], ...]:
        """Names of the inputs of a result or check with their needs, filled for a subject."""
        found = self._inputs.get((id(spec), subject))
        if found is None:
            found = tuple((k, fill(n, spec.per, subject)) for k, n in spec.needs.items())
            self._inputs[id(spec), subject] = found
        return found

    def _refuse_loops(self) -> None:
        blends = ("any",)
        names = {
            instance(spec.name, spec.per, subject): (spec, subject)
            for spec in self.results.values()
            for subject in subjects(spec.per, blends)
        }
        graph: dict[str, set[str]] = {}
        for address, (spec, subject) in names.items():
            wanted: set[str] = set()
            for need in spec.needs.values():
                # In the car as found ``base:`` is the car itself, so it can close a loop as well.
                wanted |= {a for a in fill(need, spec.per, subject).addresses if a in names}
            graph[address] = wanted
        try:
            TopologicalSorter(graph).prepare()
        except CycleError as error:
            loop = " → ".join(reversed(error.args[1]))
            raise RegistrationError(
                f"results need each other in a loop: {loop}. Quantities that truly depend on each "
                "other go through one result that solves them together."
            ) from None


def _by_name(what: str, specs: Iterable[Any]) -> dict[str, Any]:
    found: dict[str, Any] = {}
    for spec in specs:
        name = getattr(spec, "name", None) or spec.id
        if name in found:
            raise RegistrationError(f"{what} {name!r} is offered twice")
        found[name] = spec
    return found


def _own_name(room: str, name: str) -> None:
    if not name.startswith(room + "."):
        raise RegistrationError(f"{name!r} is offered by room {room!r}: call it '{room}.…'")


def _check_kind(name: str, kind: str) -> None:
    if kind not in KINDS and kind not in ("object", "text"):
        raise RegistrationError(f"{name}: no kind {kind!r}; known: {', '.join(sorted(KINDS))}")


def _check_function(name: str, function: Function, needs: Mapping[str, str]) -> dict[str, Need]:
    parameters = inspect.signature(function).parameters
    free = any(p.kind is inspect.Parameter.VAR_KEYWORD for p in parameters.values())
    for given in needs:
        if given not in parameters and not free:
            raise RegistrationError(f"{name}: function has no argument {given!r}")
    for parameter in parameters.values():
        needed = parameter.default is inspect.Parameter.empty
        plain = parameter.kind is not inspect.Parameter.VAR_KEYWORD
        if needed and plain and parameter.name not in needs:
            raise RegistrationError(f"{name}: nothing is named for {parameter.name!r}")
    return {key: parse_need(text) for key, text in needs.items()}


def _check_valid(
    name: str, needs: Mapping[str, Need], valid: Mapping[str, tuple[float, float]]
) -> None:
    for key in valid:
        if key not in needs:
            raise RegistrationError(f"{name}: a range is given for {key!r}, which is no input")


def _known_uses(name: str, stops: Iterable[str]) -> tuple[str, ...]:
    known = {use.name for use in uses()}
    found = tuple(stops)
    for use in found:
        if use not in known:
            raise RegistrationError(f"{name}: no use {use!r}; known: {', '.join(sorted(known))}")
    return found
