"""A state's facts as the kernel takes them: resolved, drawn, and whether a Change touched them."""

from __future__ import annotations

import threading
from typing import Any

from drybuild.build.build import Stated
from drybuild.build.declared import Declared, declaration, field_kind
from drybuild.build.kinds import place_of
from drybuild.build.state import State
from drybuild.findings import Fact, Missing, UnknownAddress
from drybuild.values import Curve, Draws, HowKnown, Value, parse_value


class DrawnFacts:
    """Facts of one state over one set of draws (findings.FactSource).

    Order of precedence: the latest reading that holds (a later Change would have spoiled it), then
    what a Change set, then the part that is fitted, then the tables of the files. ``typical``:
    addresses for which the model's usual range stands in, to judge whether measuring them would
    settle anything.
    """

    def __init__(self, state: State, draws: Draws, typical: frozenset[str] = frozenset()) -> None:
        self.state = state
        self.draws = draws
        self.typical = typical
        self._memo: dict[str, Fact | Missing] = {}
        self._other_parts = frozenset(p for p in state.fitted if state.place_changed(p))
        self._following: set[str] = set()
        self._finding = threading.RLock()

    @property
    def blends(self) -> tuple[str, ...]:
        return self.state.build.blends

    def fact(self, address: str) -> Fact | Missing:
        """The fact at an address; raises UnknownAddress when no model declares it."""
        found = self._memo.get(address)
        if found is None:
            with self._finding:  # a reference that another thread follows is no ring
                found = self._memo[address] = self._find(address)
        return found

    def forget(self) -> None:
        """Drop what was drawn, here and for others of as many draws; it is drawn anew, the same."""
        with self._finding:
            self._memo.clear()
            self.draws.drop()

    def _find(self, address: str) -> Fact | Missing:
        declared = declaration(address)
        if declared is None:
            return self._about_place(address)
        changed = self._changed(address, declared)
        found = stated(self.state, declared)
        if found is None:
            if address in self.typical and declared.typical is not None:
                return self._typical(declared, changed)
            return Missing(address, changed, self._absent(declared))
        return self._drawn(address, found, declared, changed)

    def _about_place(self, address: str) -> Fact | Missing:
        if address == "build.rule_sets":
            return Fact(address, self.state.build.head.rule_sets, (), None, False)
        if address == "build.folder":
            return Fact(address, str(self.state.build.root), (), None, False)
        if address in ("build.side.left", "build.side.right"):
            return Fact(address, address.rpartition(".")[2], (), None, False)
        place, _, word = address.rpartition(".")
        if place not in place_of() or word not in ("present", "part"):
            raise UnknownAddress(f"{address!r} is declared by no model and offered by no system")
        changed = self.state.place_changed(place)
        if place not in self.state.fitted:
            return Missing(address, changed)
        part = self.state.fitted[place]
        value: Any = part is not None if word == "present" else (part or "none")
        return Fact(address, value, (), HowKnown.MEASURED, changed)

    def _absent(self, declared: Declared) -> bool:
        """Whether it is of a part that a car may be without: known not to be there, or not said."""
        place = place_of().get(declared.owner)
        return place is not None and place.optional and not self.state.fitted.get(declared.owner)

    def _changed(self, address: str, declared: Declared) -> bool:
        state, owner = self.state, declared.owner
        if address in state.settings or owner in self._other_parts:
            return True
        return bool(state.disturbed) and any(
            address == name or address.startswith(name + ".") for name in state.disturbed
        )

    def _drawn(
        self, address: str, found: Stated, declared: Declared, changed: bool
    ) -> Fact | Missing:
        value = found.value
        if isinstance(value, Value) and value.same_as:
            # Which references meet depends on what is fitted: a ring of them states nothing.
            if address in self._following:
                return Missing(address, changed)
            self._following.add(address)
            other = self.fact(value.same_as)
            self._following.discard(address)
            if isinstance(other, Missing):
                return Missing(address, changed or other.changed, other.absent)
            return Fact(
                address, other.value, other.columns, other.how, changed or other.changed,
                value.same_as,
            )  # fmt: skip
        group, slot = declared.column_key(found.owner)
        if isinstance(value, Value):
            column = value.column(self.draws, group, slot, item=found.item)
            columns = value.columns_used(group, slot, found.item)
            return Fact(address, column, columns, value.how, changed)
        if isinstance(value, Curve):
            columns = value.columns_used(group, slot)
            return Fact(address, value.column(self.draws, group, slot), columns, value.how, changed)
        return Fact(address, value, (), found.known, changed)

    def _typical(self, declared: Declared, changed: bool) -> Fact:
        kind = quantity_kind(declared)
        value = parse_value(declared.typical, kind, how="assumed")
        group, slot = declared.column_key(f"typical:{declared.owner}")
        column = value.column(self.draws, group, slot)
        columns = value.columns_used(group, slot)
        return Fact(declared.address, column, columns, HowKnown.ASSUMED, changed)


def stated(state: State, declared: Declared) -> Stated | None:
    """What stands at a declared address in a state, undrawn; None when nobody stated it."""
    address = declared.address
    build = state.build
    if address in state.readings:
        return Stated(
            state.readings[address], f"reading:{declared.owner}", HowKnown.MEASURED, "journal"
        )
    if address in state.settings:
        return Stated(state.settings[address], f"set:{declared.owner}", HowKnown.MEASURED, "")
    if declared.owner not in place_of():
        return build.stated.get(address)
    part_id = state.fitted.get(declared.owner)
    if part_id is None:
        return None
    value: Any = build.parts[part_id]
    table: Any = value
    for step in declared.path:
        table, value = value, getattr(value, step, None)
        if value is None:
            return None
    owner = ".".join((f"part:{part_id}", *declared.path[:-1]))
    known = table.how_known(declared.path[-1], build.part_known[part_id])
    file = build.part_files[part_id]
    return Stated(value, owner, known, file, declared.owner)


def quantity_kind(declared: Declared) -> str:
    """Name of the kind of quantity a declared fact takes. Raises KeyError for words."""
    kind = field_kind(declared.field)
    if kind is not None:
        return kind
    raise KeyError(f"{declared.address} takes no quantity")
