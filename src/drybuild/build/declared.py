"""Every address that a model declares, with what it means and how it is measured."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from types import UnionType
from typing import Annotated, Any, Union, get_args, get_origin

from pydantic import TypeAdapter
from pydantic.fields import FieldInfo

from drybuild.build.kinds import part_kinds, place_of, sections
from drybuild.build.model import Measure, Model
from drybuild.findings import AXLES, CORNERS
from drybuild.values import KINDS
from drybuild.values.types import OfKind

SLOTS = 16
"""Fields of one table that share a group of draw columns; more make a second group."""

HEAD_FIELDS = frozenset(
    {"kind", "name", "maker", "price", "approvals", "serial", "standard", "note"}
)
"""Fields of a part that are no facts a formula may ask for, but ``kind`` and ``name``."""


@dataclass(frozen=True)
class Declared:
    """A fact that a model declares: where it lives and what its model says of it.

    owner: the table (``car``, ``axle.front``) or place instance; path: keys below it.
    """

    address: str
    owner: str
    path: tuple[str, ...]
    model: type[Model]
    field: FieldInfo
    index: int

    @property
    def doc(self) -> str:
        return self.field.description or ""

    @property
    def measure(self) -> Measure | None:
        return self.model.measure_of(self.path[-1])

    @property
    def typical(self) -> str | None:
        found = _extra(self.field).get("typical")
        return str(found) if found is not None else None

    @property
    def plain(self) -> str:
        """What a mechanic calls it, without its place: ``tyre's side to arch lip``."""
        said: list[str] = []
        table = self.owner
        for name in self.path:
            table = f"{table}.{name}"
            word = _extra(self._at(table)).get("plain") or name.replace("_", " ")
            said = [word.format(of=" ".join(said))] if "{of}" in word else [*said, word]
        return " ".join(said)

    @property
    def beside(self) -> bool:
        """Whether it only says with what the reading in its table was taken."""
        return bool(_extra(self.field).get("beside"))

    @property
    def stamped(self) -> bool:
        """Whether it stands on the part itself, to be read off by eye."""
        return bool(_extra(self.field).get("stamped"))

    def _at(self, address: str) -> FieldInfo:
        found = self if address == self.address else declaration(address)
        return found.field if found is not None else self.field

    @property
    def adapter(self) -> TypeAdapter[Any]:
        return _adapter(self.model, self.path[-1])

    @property
    def catalogue(self) -> dict[str, str]:
        return self.model.catalogue_doubts

    def column_key(self, owner: str) -> tuple[str, int]:
        """Group and slot of its draw column, under the thing that states it."""
        group, slot = divmod(self.index, SLOTS)
        return f"{owner}/{group}", slot


def _extra(field: FieldInfo) -> Mapping[str, Any]:
    extra = field.json_schema_extra
    return extra if isinstance(extra, dict) else {}


@cache
def _adapter(model: type[Model], name: str) -> TypeAdapter[Any]:
    field = model.model_fields[name]
    annotation: Any = field.annotation
    if field.metadata:
        annotation = Annotated[annotation, *field.metadata]
    return TypeAdapter(annotation)


def read_value(declared: Declared, raw: Any, *, known: str) -> Any:
    """A value set or noted at a declared address. Raises pydantic's ValidationError."""
    name = declared.path[-1]
    if is_word(declared) and isinstance(raw, dict) and "is" in raw:
        raw = raw["is"]
    wrapped = declared.model.__pydantic_validator__.validate_assignment(
        declared.model.model_construct(),
        name,
        raw,
        context={"how": known, "catalogue": declared.catalogue},
    )
    return getattr(wrapped, name) if not isinstance(wrapped, tuple) else wrapped[0][name]


def field_kind(field: FieldInfo) -> str | None:
    """Name of the kind of quantity that a field takes, or None for words."""
    waiting: list[Any] = [field.annotation, *field.metadata]
    while waiting:
        one = waiting.pop()
        if isinstance(one, OfKind):
            return one.kind
        waiting += get_args(one)
    return None


def is_word(declared: Declared) -> bool:
    """Whether a fact is a word, a count, or yes and no: no quantity, no curve, no table."""
    return declared.path[-1] in declared.model.word_facts


def reference_fault(field: FieldInfo, other: str) -> str | None:
    """What ``same_as = other`` should have named for a field, or None when it is right."""
    target = declaration(other)
    if target is None:
        return "a declared address"
    wanted = field_kind(field)
    if wanted is not None and field_kind(target.field) != wanted:
        return f"the address of {KINDS[wanted].what}"
    return None


def inner_model(annotation: Any) -> type[Model] | None:
    """The nested table behind an annotation such as ``Taken | None``, if it is one."""
    origin = get_origin(annotation)
    if origin is Annotated:
        return inner_model(get_args(annotation)[0])
    if origin in (Union, UnionType):
        models = [m for m in (inner_model(a) for a in get_args(annotation)) if m is not None]
        return models[0] if len(models) == 1 else None
    if isinstance(annotation, type) and issubclass(annotation, Model):
        return annotation
    return None


PRINTED_ONLY = frozenset({"arrives", "documents"})
"""Fields of a part that have no address: they came later, and take no draw column's place."""


def _flatten(
    model: type[Model], path: tuple[str, ...]
) -> Iterator[tuple[tuple[str, ...], type[Model], FieldInfo]]:
    for name, field in model.model_fields.items():
        if name in PRINTED_ONLY:
            continue
        yield (*path, name), model, field
        inner = inner_model(field.annotation)
        if inner is not None and len(path) < 3:
            yield from _flatten(inner, (*path, name))


def _declare(owner: str, model: type[Model], into: dict[str, Declared]) -> None:
    for index, (path, inner, field) in enumerate(_flatten(model, ())):
        address = f"{owner}.{'.'.join(path)}"
        into[address] = Declared(address, owner, path, inner, field, index)


@cache
def declared_addresses() -> Mapping[str, Declared]:
    """Address → declaration, for all sections and all places (blends: see ``declared_blend``)."""
    found: dict[str, Declared] = {}
    for name, model in sections().items():
        owners: tuple[str, ...] = (name,)
        if name == "axle":
            owners = tuple(f"axle.{a}" for a in AXLES)
        elif name == "corner":
            owners = tuple(f"corner.{c}" for c in CORNERS)
        elif name == "blend":
            continue
        for owner in owners:
            _declare(owner, model, found)
    kinds = part_kinds()
    for instance, place in place_of().items():
        kind = kinds.get(place.kind)
        if kind is not None:
            _declare(instance, kind, found)
    return found


@cache
def declared_blend(blend: str) -> Mapping[str, Declared]:
    """Address → declaration for one fuel blend of the build."""
    found: dict[str, Declared] = {}
    if "blend" in sections():
        _declare(f"blend.{blend}", sections()["blend"], found)
    return found


def declaration(address: str) -> Declared | None:
    """The declaration of an address, or None."""
    if address.startswith("blend."):
        return declared_blend(address.split(".")[1]).get(address)
    return declared_addresses().get(address)


@cache
def expand(address: str) -> tuple[str, ...]:
    """An address with its group written out: ``arm.rear.camber`` → both sides. Empty if unknown."""
    if declaration(address) is not None:
        return (address,)
    found = []
    for known in declared_addresses():
        if _covers(address, known):
            found.append(known)
    return tuple(found)


def _covers(group: str, address: str) -> bool:
    """True when dropping side, or axle and side, from ``address`` gives ``group``."""
    steps = address.split(".")
    for at in (1, 2):
        for drop in (1, 2):
            dropped = steps[at : at + drop]
            sided = all(step in ("front", "rear", "left", "right") for step in dropped)
            if sided and ".".join(steps[:at] + steps[at + drop :]) == group:
                return True
    return False

