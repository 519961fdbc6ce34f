"""The base of every table in the build folder: parts, sections of the car, and what a fact is."""

from __future__ import annotations

import re
from dataclasses import dataclass
from types import UnionType
from typing import Annotated, Any, ClassVar, Literal, Self, Union, get_args, get_origin

from pydantic import (
    BaseModel,
    ConfigDict,
    Field,
    GetJsonSchemaHandler,
    ModelWrapValidatorHandler,
    PrivateAttr,
    field_validator,
    model_validator,
)
from pydantic.fields import FieldInfo
from pydantic.json_schema import JsonSchemaValue
from pydantic_core import CoreSchema
from pydantic_core.core_schema import ValidationInfo

from drybuild.build.possible import cannot_be
from drybuild.findings import AXLES, CORNERS
from drybuild.findings.words import Per
from drybuild.values import METHODS, HowKnown
from drybuild.values.methods import ALSO_CALLED
from drybuild.values.types import Mass, teaching_error

UNDER_WAY = re.compile(
    r"\b(full load|full speed|straight road|idle|idling|loads off|hour of driving)\b|, driving"
)
"""Words of a way to measure that say that the engine runs, or the car drives."""


@dataclass(frozen=True)
class Measure:
    """How a fact is measured: with which tool, in how many minutes, and what to do."""

    tool: str
    minutes: int
    how: str

    @property
    def under_way(self) -> bool:
        """Whether the engine runs for it, or the car drives."""
        return UNDER_WAY.search(self.how) is not None


def fact(
    doc: str,
    *,
    catalogue: str | None = None,
    measure: tuple[str, int, str] | None = None,
    typical: str | None = None,
    possible: str | None = None,
    plain: str | None = None,
    beside: bool = False,
    stamped: bool = False,
    default: Any = None,
) -> Any:
    """A field that states a fact.

    doc: what it is, in one line; catalogue: default doubt (95 % half-width) of a bare number;
    measure: (tool, minutes, how); typical: usual range, used only to judge whether measuring an
    unstated fact would settle anything, never in a finding, and to refuse what lies far beyond it;
    possible: the range beyond which no such thing is, where that is known better; plain: what a
    mechanic calls it, where that is not the field's name (``{of}``: of the table it lies in);
    beside: it only says with what the reading in its table was taken; stamped: it stands on the
    part itself, so that a reading by eye is its maker's figure and no guess.
    """
    extra: dict[str, Any] = {}
    if catalogue is not None:
        extra["catalogue"] = catalogue
    if measure is not None:
        extra["measure"] = {"tool": measure[0], "minutes": measure[1], "how": measure[2]}
    if typical is not None:
        extra["typical"] = typical
    if possible is not None:
        extra["possible"] = possible
    if plain is not None:
        extra["plain"] = plain
    if beside:
        extra["beside"] = True
    if stamped:
        extra["stamped"] = True
    return Field(default=default, description=doc, json_schema_extra=extra)


WORD_TABLE = {
    "type": "object",
    "description": "a word or a count, and how it is known",
    "properties": {
        "is": {"type": ["string", "integer", "boolean"]},
        "by": {"type": "string"},
        "seen_by": {"type": "string"},
    },
    "required": ["is", "by"],
    "additionalProperties": False,
    "examples": [{"is": "205/50 R16 87V", "by": "eye"}],
}
"""A word may be written as a table, as a number may: who or what it was read by is kept."""


def _is_word(field: FieldInfo) -> bool:
    """Whether a fact takes a word, a count, or yes and no: what has no doubt of its own."""
    if not isinstance(field.json_schema_extra, dict) or any(
        isinstance(m, type) or hasattr(m, "kind") for m in field.metadata
    ):
        return False
    waiting: list[Any] = [field.annotation]
    plain = True
    while waiting and plain:
        one = waiting.pop()
        origin = get_origin(one)
        if origin is Annotated:
            plain = not any(hasattr(m, "kind") or hasattr(m, "y_kind") for m in one.__metadata__)
            waiting.append(get_args(one)[0])
        elif origin in (Union, UnionType):
            waiting += get_args(one)
        elif origin is not Literal:
            plain = one in (str, int, bool, type(None))
    return plain


class Model(BaseModel):
    """A table: unknown keys are faults, nothing changes after reading."""

    model_config = ConfigDict(
        extra="forbid", frozen=True, arbitrary_types_allowed=True, str_max_length=4000
    )
    catalogue_doubts: ClassVar[dict[str, str]] = {}
    word_facts: ClassVar[frozenset[str]] = frozenset()
    _words_by: dict[str, HowKnown] = PrivateAttr(default_factory=dict)

    @classmethod
    def __pydantic_init_subclass__(cls, **kwargs: Any) -> None:
        super().__pydantic_init_subclass__(**kwargs)
        doubts: dict[str, str] = {}
        for name, field in cls.model_fields.items():
            extra = field.json_schema_extra
            if isinstance(extra, dict) and "catalogue" in extra:
                doubts[name] = str(extra["catalogue"])
        cls.catalogue_doubts = doubts
        cls.word_facts = frozenset(n for n, f in cls.model_fields.items() if _is_word(f))

    @model_validator(mode="wrap")
    @classmethod
    def _with_doubts(
        cls, data: Any, handler: ModelWrapValidatorHandler[Self], info: ValidationInfo
    ) -> Self:
        """Tells the value types which default doubt each field of this table has."""
        words = _words_with_how(data, cls.word_facts)
        if words:
            data = {**data, **{name: table["is"] for name, table in words.items()}}
        context = info.context
        if not isinstance(context, dict):
            made = handler(data)
        else:
            outer = context.get("catalogue")
            context["catalogue"] = cls.catalogue_doubts
            try:
                made = handler(data)
            finally:
                context["catalogue"] = outer
        if words:
            made._words_by.update({name: word_known(table) for name, table in words.items()})
        return made

    @field_validator("*", mode="after")
    @classmethod
    def _can_be(cls, value: Any, info: ValidationInfo) -> Any:
        """Refuses a figure beyond all that such a thing can be, as its fact declares it."""
        extra = cls.model_fields[info.field_name or ""].json_schema_extra
        fault = cannot_be(value, extra) if isinstance(extra, dict) else None
        if fault is not None:
            raise teaching_error(fault)
        return value

    def how_known(self, name: str, otherwise: HowKnown) -> HowKnown:
        """How a fact of this table is known: as its own entry says, else as its file does."""
        return self._words_by.get(name, otherwise)

    @classmethod
    def __get_pydantic_json_schema__(
        cls, schema: CoreSchema, handler: GetJsonSchemaHandler
    ) -> JsonSchemaValue:
        made = handler(schema)
        properties = handler.resolve_ref_schema(made).get("properties", {})
        for told_here in properties.values():  # words for people, none for the editor of a file
            told_here.pop("plain", None)
            told_here.pop("possible", None)
            told_here.pop("stamped", None)
            told_here.pop("beside", None)
        for name in cls.word_facts & properties.keys():
            kept = properties[name]
            told = {k: kept.pop(k) for k in ("description", "default", "title") if k in kept}
            plain = kept.get("anyOf") or [kept]
            properties[name] = {**told, "anyOf": [*plain, WORD_TABLE]}
        return made

    @classmethod
    def measure_of(cls, name: str) -> Measure | None:
        """How a field is measured, if the model says."""
        extra = cls.model_fields[name].json_schema_extra
        row = extra.get("measure") if isinstance(extra, dict) else None
        if not isinstance(row, dict):
            return None
        return Measure(str(row["tool"]), int(str(row["minutes"])), str(row["how"]))


def _words_with_how(data: Any, known: frozenset[str]) -> dict[str, dict[str, Any]]:
    """The entries ``{ is = word, by = … }`` of a table's words."""
    if not isinstance(data, dict):
        return {}
    return {
        name: entry
        for name, entry in data.items()
        if name in known and isinstance(entry, dict) and _says_by(entry)
    }


def _says_by(entry: dict[Any, Any]) -> bool:
    rest = entry.keys() - {"is"}
    said = all(isinstance(entry[key], str) and entry[key].strip() for key in rest)
    return "is" in entry and "by" in rest and rest <= {"by", "seen_by"} and said


def word_known(entry: dict[str, Any]) -> HowKnown:
    """How a word is known: what was read off the thing itself, by whatever means, is measured."""
    if entry.get("seen_by"):
        return HowKnown.SEEN
    method = METHODS.get(ALSO_CALLED.get(entry["by"].lower(), entry["by"]))
    if method is None or method.doubts:
        return HowKnown.MEASURED
    return method.how


class Part(Model):
    """Anything that can be fitted to a place; its kind says which facts it may state."""

    name: str = Field(default="", description="what is written on the box")
    maker: str = Field(default="", description="who makes it")
    mass: Mass | None = fact(
        "mass of one", catalogue="3 %", measure=("scales", 3, "weigh it before it goes on")
    )
    price: str = Field(default="", description="price as text, with its currency")
    arrives: str = Field(default="", description="date from which it is in hand, yyyy-mm-dd")
    approvals: tuple[str, ...] = Field(default=(), description="approval marks on the part")
    serial: str = Field(default="", description="serial or date code")
    standard: bool = Field(default=False, description="fitted by the vehicle's maker")
    note: str = Field(default="", description="anything worth keeping")
    documents: tuple[str, ...] = Field(
        default=(),
        description="documents of its maker or of an authority behind its rating: kind, number, "
        "edition, page; the book names them",
    )


class Section(Model):
    """A table of facts of the car, the site or the goals."""


@dataclass(frozen=True)
class Place:
    """Where a part is fitted. ``optional``: a car may well be without one.

    without: uses that stop once a Change has left the place empty; where nothing is said, none for
    an optional place, and run and creep for another.
    """

    root: str
    kind: str
    per: Per
    optional: bool = False
    title: str = ""
    without: tuple[str, ...] | None = None

    @property
    def stops_empty(self) -> tuple[str, ...]:
        """Uses that stop once a Change has left the place empty."""
        if self.without is not None:
            return self.without
        return () if self.optional else ("run", "creep")

    @property
    def instances(self) -> tuple[str, ...]:
        """``wheel.front.left`` …, ``pads.front`` …, or the root alone."""
        ends = {"corner": CORNERS, "axle": AXLES}.get(self.per)
        return (self.root,) if ends is None else tuple(f"{self.root}.{end}" for end in ends)
