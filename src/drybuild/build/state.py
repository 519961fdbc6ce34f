"""State and Change: the car is what is fitted to it now, and a Change is the only way to another.

State = base ⊕ ordered Changes (DESIGN idea 2). A state is frozen; ``after`` gives the next one.
"""

from __future__ import annotations

import hashlib
import re
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field, replace
from fnmatch import fnmatchcase, translate
from functools import cache, cached_property
from typing import TYPE_CHECKING, Any, Literal

from pydantic import ValidationError

from drybuild.build.declared import (
    declaration,
    declared_addresses,
    expand,
    inner_model,
    read_value,
    reference_fault,
)
from drybuild.build.depends import depends
from drybuild.build.errors import ChangeRefused, nearest
from drybuild.build.kinds import place_of, places
from drybuild.build.worded import expected_of

if TYPE_CHECKING:
    from drybuild.build.build import Build

ChangeKind = Literal["fit", "remove", "set", "disturb", "open", "close", "verify"]


UNSAID = "not said"
"""Stands for the part at a place that nobody spoke of; no part id holds a space."""


@dataclass(frozen=True)
class Change:
    """One change of the car.

    kind   target                          value
    fit    place or group (wheel.front)    part id
    remove place or group                  –
    set    address or group                value as written
    disturb address, place or pattern      –
    open   component                       title and stops (uses), where they are known
    close  component                       –
    verify record id                       evidence, by name (value, tool, name, second person)
    job: id of the job it belongs to, if any; when and who come from the journal.
    """

    kind: ChangeKind
    target: str
    value: Any = None
    job: str = ""
    when: str = ""
    who: str = ""

    def __str__(self) -> str:
        if self.kind in ("fit", "set"):
            return f"{self.kind} {self.target} = {self.value}"
        return f"{self.kind} {self.target}"


@dataclass(frozen=True, slots=True)
class Left:
    """What finished work leaves owed: as the work library names it, the uses that it stops until
    it is done, and what is done then."""

    name: str
    title: str
    stops: tuple[str, ...]
    do: str


@dataclass(frozen=True)
class State:
    """What is fitted, set, open and recorded. ``name`` is now, finished, after:…, draft:….

    fitted: place instance → part id or None (known to be empty); a place that nobody spoke of is
    not in it. settings: address → value set. readings: address → latest value that still holds
    here; a Change that spoils a reading drops it. base_readings: those that hold as found. left:
    what finished work leaves owed on the present car.
    """

    build: Build
    name: str
    fitted: Mapping[str, str | None]
    settings: Mapping[str, Any] = field(default_factory=dict)
    readings: Mapping[str, Any] = field(default_factory=dict)
    disturbed: frozenset[str] = frozenset()
    open: tuple[str, ...] = ()
    changes: tuple[Change, ...] = ()
    base_fitted: Mapping[str, str | None] = field(default_factory=dict)
    base_readings: Mapping[str, Any] = field(default_factory=dict)
    left: tuple[Left, ...] = ()

    def after(self, changes: Iterable[Change], name: str | None = None) -> State:
        """The state after these Changes, in order. Raises ChangeRefused."""
        fitted, settings = dict(self.fitted), dict(self.settings)
        disturbed, opened = set(self.disturbed), list(self.open)
        readings, done = dict(self.readings), list(self.changes)
        for change in changes:
            settings = {a: v for a, v in settings.items() if not _undoes(change, a)}
            _apply(self.build, change, fitted, settings, disturbed, opened)
            if readings:
                readings = {a: v for a, v in readings.items() if not spoils(change, a)}
            done.append(change)
        return replace(
            self,
            name=name or self.name,
            fitted=fitted,
            settings=settings,
            readings=readings,
            disturbed=frozenset(disturbed),
            open=tuple(opened),
            changes=tuple(done),
        )

    @property
    def base(self) -> State:
        """The car as found, before any Change, with the readings that hold for it."""
        return replace(
            self,
            name="as found",
            fitted=self.base_fitted,
            settings={},
            readings=self.base_readings,
            disturbed=frozenset(),
            open=(),
            changes=(),
        )

    @cached_property
    def inputs_hash(self) -> str:
        """SHA-256 of all that the state rests on: the files, and what the journal adds to them."""
        digest = hashlib.sha256(self.build.inputs_hash.encode())
        recorded = [f"{c}\0{c.value}\0{c.when}" for c in self.changes if c.when]
        for readings in (self.readings, self.base_readings):
            recorded += [f"{address}\0{value!r}" for address, value in sorted(readings.items())]
        digest.update("\0".join(recorded).encode())
        return digest.hexdigest() if recorded else self.build.inputs_hash

    def place_changed(self, instance: str) -> bool:
        """Whether another part is there than in the car as found, or none where nobody had said."""
        return self.fitted.get(instance, UNSAID) != self.base_fitted.get(instance, UNSAID)

    @property
    def emptied(self) -> tuple[str, ...]:
        """Places that Changes left empty and that were not known to be empty as found."""
        return tuple(i for i, part in self.fitted.items() if part is None and self.place_changed(i))

    def owed(self, patterns: tuple[str, ...], record: str) -> tuple[str, ...]:
        """Places whose Change makes a record owed that has not been made since."""
        since: list[str] = []
        wanted = _any_of(patterns)
        for change, touched in self._touched:
            if change.kind == "verify":
                if change.target == record:
                    since.clear()
                continue
            since += [place for place in touched if wanted(place)]
        return tuple(dict.fromkeys(since))

    @cached_property
    def _touched(self) -> tuple[tuple[Change, tuple[str, ...]], ...]:
        return tuple((change, touched_by(change)) for change in self.changes)


@cache
def _any_of(patterns: tuple[str, ...]) -> Callable[[str], object]:
    """Whether a place answers to any of the patterns."""
    return re.compile("|".join(translate(p) for p in patterns) or r"\Z.").match


def _apply(
    build: Build,
    change: Change,
    fitted: dict[str, str | None],
    settings: dict[str, Any],
    disturbed: set[str],
    opened: list[str],
) -> None:
    if change.kind in ("fit", "remove"):
        part = None if change.kind == "remove" else str(change.value)
        for instance in instances_of(change.target):
            if part is not None:
                check_fits(build, instance, part)
            fitted[instance] = part
            # What was set on the part before says nothing of this one.
            for address in [a for a in settings if a.startswith(instance + ".")]:
                del settings[address]
    elif change.kind == "set":
        for address in addresses_of(build, change.target):
            owner = _owner(address)
            if owner in fitted and fitted[owner] is None:
                raise ChangeRefused(f"set {change.target}: nothing is fitted at {owner}")
            settings[address] = read_setting(address, change.value)
    elif change.kind == "disturb":
        disturbed.update(reached(change.target))
    elif change.kind == "open":
        if not change.target.strip():
            raise ChangeRefused("open: no component is named")
        opened.append(change.target)
    elif change.kind == "close":
        if change.target not in opened:
            raise ChangeRefused(f"close {change.target!r}: it is not open")
        opened.remove(change.target)
    elif change.kind == "verify":
        if not change.target:
            raise ChangeRefused("verify: no record is named")
    else:
        raise ChangeRefused(f"no kind of Change is called {change.kind!r}")


def check_fits(build: Build, instance: str, part: str) -> None:
    """Raise ChangeRefused unless the part exists and is of the kind that goes there."""
    place = place_of()[instance]
    found = build.parts.get(part)
    if found is None:
        hint = nearest(part, tuple(build.parts))
        raise ChangeRefused(f"{instance}: no part {part!r} in parts/. {hint}".strip())
    kind = getattr(found, "kind", "")
    if kind != place.kind:
        raise ChangeRefused(f"{instance}: {part!r} is a {kind}, a {place.kind} goes there")


@cache
def instances_of(target: str) -> tuple[str, ...]:
    """Place instances of a place or group: ``wheel.front`` → left and right."""
    found = tuple(i for i in place_of() if i == target or i.startswith(target + "."))
    if not found:
        hint = nearest(target, (*places(), *place_of()))
        raise ChangeRefused(f"no place {target!r}. {hint}".strip())
    return found


def addresses_of(build: Build, target: str) -> tuple[str, ...]:
    """The addresses that a set or a reading names, groups written out. Raises ChangeRefused."""
    found = expand(target)
    table, _, rest = target.partition(".")
    if table == "blend" and rest.split(".")[0] not in build.blends:
        hint = nearest(rest.split(".")[0], build.blends)
        raise ChangeRefused(f"{target!r}: build.toml has no such blend. {hint}".strip())
    if not found:
        hint = nearest(target, tuple(declared_addresses()))
        raise ChangeRefused(f"nothing can be set at {target!r}. {hint}".strip())
    for address in found:
        declared = declaration(address)
        inner = inner_model(declared.field.annotation) if declared is not None else None
        if inner is not None:
            keys = ", ".join(inner.model_fields)
            raise ChangeRefused(f"{target!r} is a table: name one of its keys, {keys}")
    return found


def read_setting(address: str, raw: Any, known: str = "measured") -> Any:
    """A raw setting as the value its address takes. Raises ChangeRefused."""
    declared = declaration(address)
    if declared is None:
        raise ChangeRefused(f"nothing is declared at {address!r}")
    if raw is None:
        raise ChangeRefused(f"{address}: no value is given")
    try:
        value = read_value(declared, raw, known=known)
    except ValidationError as error:
        detail = error.errors(include_url=False)[0]
        ctx = detail.get("ctx", {})
        typed = raw["is"] if isinstance(raw, dict) and "is" in raw else raw
        found, hint = ctx.get("found", repr(typed)), ctx.get("hint", "")
        said = f"{address}: found {found}, expected {expected_of(detail)}. {hint}"
        raise ChangeRefused(said.strip().removesuffix(".")) from None
    other = getattr(value, "same_as", None)
    expected = reference_fault(declared.field, other) if isinstance(other, str) else None
    if expected is not None or other == address:
        wanted = expected or "a value"
        raise ChangeRefused(f"{address}: found same_as = {other!r}, expected {wanted}")
    return value


def touched_by(change: Change) -> tuple[str, ...]:
    """Places, tables, addresses and components that a Change touches.

    A set touches the place or table of its address, as far as records are concerned.
    """
    if change.kind in ("fit", "remove"):
        return instances_of(change.target)
    if change.kind == "set":
        return tuple(dict.fromkeys(_owner(a) for a in expand(change.target)))
    if change.kind == "disturb":
        return tuple(dict.fromkeys(n for r in reached(change.target) for n in (_owner(r), r)))
    return (change.target,) if change.kind == "open" else ()


def spoils(change: Change, reading: str) -> bool:
    """Whether a reading taken at an address no longer holds after a Change.

    A place or table that is touched as a whole spoils all its readings, a set those of its own
    address; both spoil what depends on them (``depends.toml``).
    """
    whole = _reach(change)
    if any(reading == name or reading.startswith(name + ".") for name in whole):
        return True
    return bool(whole) and depends(reading, (*touched_by(change), *whole), "now")


def _undoes(change: Change, address: str) -> bool:
    """Whether what a job set on the whole car is lost with a Change of the parts that it rests on.

    A figure of the corner that is set beside it undoes nothing: an alignment sets several.
    """
    if change.kind == "set" and _owner(change.target).split(".")[0] == address.split(".")[0]:
        return False
    return bool(_reach(change)) and depends(address, touched_by(change), "now")


def ends_as_found(change: Change, reading: str) -> bool:
    """Whether a figure of the car as found can no longer be read at an address after a Change."""
    whole = _reach(change)
    return bool(whole) and depends(reading, (*touched_by(change), *whole), "as_found")


def _reach(change: Change) -> tuple[str, ...]:
    if change.kind == "set":
        return expand(change.target)
    return reached(change.target) if change.kind in ("fit", "remove", "disturb") else ()


@cache
def reached(target: str) -> tuple[str, ...]:
    """Places, tables and addresses that a disturb names: one, a group or a pattern.

    Raises ChangeRefused when it names nothing: a misspelt disturb would arm no check.
    """
    owners = dict.fromkeys((*place_of(), *(d.owner for d in declared_addresses().values())))
    pattern = any(sign in target for sign in "*?[")
    named = [o for o in owners if o == target or o.startswith(target + ".")]
    if pattern:
        named = [name for name in (*owners, *declared_addresses()) if fnmatchcase(name, target)]
    found = tuple(named) or expand(target)
    if not found:
        hint = nearest(target, (*places(), *owners, *declared_addresses()))
        raise ChangeRefused(f"no place, table or address {target!r}. {hint}".strip())
    return found


def _owner(address: str) -> str:
    declared = declaration(address)
    return declared.owner if declared is not None else address
