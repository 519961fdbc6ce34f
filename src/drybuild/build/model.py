"""The base of every table in the build folder: parts, sections of the car, and what a fact is."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, ClassVar, Self

from pydantic import BaseModel, ConfigDict, Field, ModelWrapValidatorHandler, model_validator
from pydantic_core.core_schema import ValidationInfo

from drybuild.findings import AXLES, CORNERS
from drybuild.findings.words import Per
from drybuild.values.types import Mass


@dataclass(frozen=True)
class Measure:
    """How a fact is measured: with which tool, in how many minutes, and what to do."""

    tool: str
    minutes: int
    how: str


def fact(
    doc: str,
    *,
    catalogue: str | None = None,
    measure: tuple[str, int, str] | None = None,
    typical: str | None = None,
    default: Any = None,
) -> Any:
    """A field that states a fact.

    doc: what it is, in one line; catalogue: default doubt (95 % half-width) of a bare number;
    measure: (tool, minutes, how); typical: usual range, used only to judge whether measuring an
    unstated fact would settle anything, never in a finding.
    """
    extra: dict[str, Any] = {}
    if catalogue is not None:
        extra["catalogue"] = catalogue
    if measure is not None:
        extra["measure"] = {"tool": measure[0], "minutes": measure[1], "how": measure[2]}
    if typical is not None:
        extra["typical"] = typical
    return Field(default=default, description=doc, json_schema_extra=extra)


class Model(BaseModel):
    """A table: unknown keys are faults, nothing changes after reading."""

    model_config = ConfigDict(
        extra="forbid", frozen=True, arbitrary_types_allowed=True, str_max_length=4000
    )
    catalogue_doubts: ClassVar[dict[str, str]] = {}

    @classmethod
    def __pydantic_init_subclass__(cls, **kwargs: Any) -> None:
        super().__pydantic_init_subclass__(**kwargs)
        doubts: dict[str, str] = {}
        for name, field in cls.model_fields.items():
            extra = field.json_schema_extra
            if isinstance(extra, dict) and "catalogue" in extra:
                doubts[name] = str(extra["catalogue"])
        cls.catalogue_doubts = doubts

    @model_validator(mode="wrap")
    @classmethod
    def _with_doubts(
        cls, data: Any, handler: ModelWrapValidatorHandler[Self], info: ValidationInfo
    ) -> Self:
        """Tells the value types which default doubt each field of this table has."""
        context = info.context
        if not isinstance(context, dict):
            return handler(data)
        outer = context.get("catalogue")
        context["catalogue"] = cls.catalogue_doubts
        try:
            return handler(data)
        finally:
            context["catalogue"] = outer

    @classmethod
    def measure_of(cls, name: str) -> Measure | None:
        """How a field is measured, if the model says."""
        extra = cls.model_fields[name].json_schema_extra
        row = extra.get("measure") if isinstance(extra, dict) else None
        if not isinstance(row, dict):
            return None
        return Measure(str(row["tool"]), int(str(row["minutes"])), str(row["how"]))


class Part(Model):
    """Anything that can be fitted to a place; its kind says which facts it may state."""

    name: str = Field(default="", description="what is written on the box")
    maker: str = Field(default="", description="who makes it")
    mass: Mass | None = fact(
        "mass of one", catalogue="3 %", measure=("scales", 3, "weigh it before it goes on")
    )
    price: str = Field(default="", description="price as text, with its currency")
    approvals: tuple[str, ...] = Field(default=(), description="approval marks on the part")
    serial: str = Field(default="", description="serial or date code")
    standard: bool = Field(default=False, description="fitted by the vehicle's maker")
    note: str = Field(default="", description="anything worth keeping")


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


Validator = Callable[[Any], Any]
