"""Field types for the models of the build: one for each kind, validating an entry to a Value.

Not imported by ``drybuild.values`` itself, because pydantic need not be there for arithmetic.

The model's validation context may give ``how`` (how the bare numbers of the file are known) and
``catalogue``, a mapping from field name to the 95 % half-width of a bare number in that field.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Annotated, Any, TypeAlias

from pydantic import GetCoreSchemaHandler, GetJsonSchemaHandler
from pydantic.json_schema import JsonSchemaValue
from pydantic_core import CoreSchema, PydanticCustomError, core_schema

from drybuild.values.curve import CURVE_KEYS, Curve, parse_curve
from drybuild.values.errors import ValueFault
from drybuild.values.kinds import KINDS
from drybuild.values.methods import methods_for
from drybuild.values.parse import TABLE_KEYS, parse_value
from drybuild.values.units import listed
from drybuild.values.value import Value


def _context(info: core_schema.ValidationInfo) -> tuple[str, str | None]:
    context = info.context if isinstance(info.context, Mapping) else {}
    catalogue = context.get("catalogue") or {}
    doubt = catalogue.get(info.field_name) if info.field_name else None
    return context.get("how") or "catalogue", doubt


def teaching_error(fault: ValueFault) -> PydanticCustomError:
    """The fault as pydantic carries it, with found, expected and hint in its context."""
    return PydanticCustomError(
        "value_fault", "found {found}; expected {expected}. {hint}",
        {"found": fault.found, "expected": fault.expected, "hint": fault.hint},
    )


@dataclass(frozen=True, slots=True)
class OfKind:
    """Annotation: an entry of this kind. ``doubt`` is the field's own half-width."""

    kind: str
    doubt: str | None = None

    def __get_pydantic_core_schema__(self, source: Any, handler: GetCoreSchemaHandler
                                     ) -> CoreSchema:
        """Validate text, number, list or table; let a Value of the same kind through."""
        return core_schema.with_info_plain_validator_function(
            self._validate, serialization=core_schema.plain_serializer_function_ser_schema(
                lambda value: value.text))

    def _validate(self, raw: object, info: core_schema.ValidationInfo) -> Value:
        if isinstance(raw, Value):
            if raw.kind != self.kind:
                raise PydanticCustomError(
                    "value_fault", "found {found}; expected {expected}. {hint}",
                    {"found": f"a value of kind {raw.kind}", "expected": self.kind, "hint": ""})
            return raw
        how, doubt = _context(info)
        try:
            return parse_value(raw, self.kind, how=how, default_doubt=doubt or self.doubt)
        except ValueFault as fault:
            raise teaching_error(fault) from None

    def __get_pydantic_json_schema__(self, schema: CoreSchema, handler: GetJsonSchemaHandler
                                     ) -> JsonSchemaValue:
        """What editors complete and check."""
        return json_schema(self.kind)


def json_schema(kind: str) -> dict[str, Any]:
    """JSON schema of an entry of that kind: text, list of readings, table (and plain number)."""
    the_kind = KINDS[kind]
    if kind == "match":
        return {"type": "boolean"}
    text = {"type": "string", "examples": [the_kind.example],
            "description": f"{the_kind.what} in {listed(the_kind)}"}
    figure: dict[str, Any] = text
    if the_kind.dimensionless:
        figure = {"anyOf": [text, {"type": "number"}]}
    readings = {"type": "array", "items": figure, "minItems": 2,
                "description": "repeated readings"}
    properties: dict[str, Any] = {
        "is": {"anyOf": [figure, readings]},
        "by": {"enum": list(methods_for(kind)), "description": "how it was measured or is known"},
        "plus_minus": figure | {"description": "95 % half-width, such as '2 mm' or '3 %'"},
        "spread": figure | {"description": "95 % half-width between items"},
        "exact": {"type": "boolean"}, "note": {"type": "string"},
        "tool": {"type": "string", "description": "which instrument, when there are several"},
        "seen_by": {"type": "string", "description": "second person who saw the reading"},
        "how": {"enum": ["assumed", "catalogue", "maker", "measured", "seen"]},
        "same_as": {"type": "string", "description": "address of the value this one copies"},
    }
    table = {"type": "object", "additionalProperties": False,
             "properties": {key: properties[key] for key in TABLE_KEYS},
             "oneOf": [{"required": ["is"]}, {"required": ["same_as"]}]}
    kinds = [text, readings, table]
    if the_kind.dimensionless:
        kinds.insert(1, {"type": "number"})
    return {"anyOf": kinds, "description": f"{the_kind.what} in {listed(the_kind)}",
            "examples": [the_kind.example]}


@dataclass(frozen=True, slots=True)
class OfCurve:
    """Annotation: a curve from one kind to another."""

    x_kind: str
    y_kind: str
    doubt: str | None = None

    def __get_pydantic_core_schema__(self, source: Any, handler: GetCoreSchemaHandler
                                     ) -> CoreSchema:
        """Validate a table; let a Curve of the same kinds through."""
        return core_schema.with_info_plain_validator_function(
            self._validate, serialization=core_schema.plain_serializer_function_ser_schema(
                lambda curve: {"x": list(curve.x), "y": list(curve.y)}))

    def _validate(self, raw: object, info: core_schema.ValidationInfo) -> Curve:
        if isinstance(raw, Curve):
            return raw
        how, doubt = _context(info)
        try:
            return parse_curve(raw, self.x_kind, self.y_kind, how=how,
                               default_doubt=doubt or self.doubt)
        except ValueFault as fault:
            raise teaching_error(fault) from None

    def __get_pydantic_json_schema__(self, schema: CoreSchema, handler: GetJsonSchemaHandler
                                     ) -> JsonSchemaValue:
        """What editors complete and check."""
        x, y = KINDS[self.x_kind], KINDS[self.y_kind]
        item = {"type": ["string", "number"]}
        axis = {"type": "array", "items": item, "minItems": 2}
        word = {"type": "string"}
        properties: dict[str, Any] = dict.fromkeys(CURVE_KEYS, word)
        properties |= {
            "x": axis | {"description": f"{x.what} in {listed(x)}"},
            "y": axis | {"description": f"{y.what} in {listed(y)}"},
            "points": {"type": "array", "minItems": 2,
                       "items": {"type": "array", "items": item, "minItems": 2, "maxItems": 2}},
            "offset_doubt": item | {"description": "95 % half-width of y, the same along x"},
            "scale_doubt": item | {"description": "95 % half-width of the factor on y"},
        }
        return {"type": "object", "additionalProperties": False, "properties": properties,
                "description": f"a curve: {y.what} over {x.what}",
                "examples": [{"x": [x.example], "y": [y.example], "scale_doubt": "5 %"}]}


class CurveOf:
    """``CurveOf("length", "angle")``: the field type of a curve over length to angle."""

    def __new__(cls, x_kind: str, y_kind: str, doubt: str | None = None) -> Any:
        if x_kind not in KINDS or y_kind not in KINDS:
            raise KeyError(f"no kind {x_kind!r} or {y_kind!r}")
        return Annotated[Curve, OfCurve(x_kind, y_kind, doubt)]


Length: TypeAlias = Annotated[Value, OfKind("length")]
PositiveLength: TypeAlias = Annotated[Value, OfKind("positive_length")]
RimWidth: TypeAlias = Annotated[Value, OfKind("rim_width")]
Distance: TypeAlias = Annotated[Value, OfKind("distance")]
Area: TypeAlias = Annotated[Value, OfKind("area")]
Volume: TypeAlias = Annotated[Value, OfKind("volume")]
Mass: TypeAlias = Annotated[Value, OfKind("mass")]
LineDensity: TypeAlias = Annotated[Value, OfKind("line_density")]
Time: TypeAlias = Annotated[Value, OfKind("time")]
Temperature: TypeAlias = Annotated[Value, OfKind("temperature")]
TemperatureDifference: TypeAlias = Annotated[Value, OfKind("temperature_difference")]
Force: TypeAlias = Annotated[Value, OfKind("force")]
Torque: TypeAlias = Annotated[Value, OfKind("torque")]
Energy: TypeAlias = Annotated[Value, OfKind("energy")]
Power: TypeAlias = Annotated[Value, OfKind("power")]
PressureAbsolute: TypeAlias = Annotated[Value, OfKind("pressure_absolute")]
PressureGauge: TypeAlias = Annotated[Value, OfKind("pressure_gauge")]
PressureDifference: TypeAlias = Annotated[Value, OfKind("pressure_difference")]
Stress: TypeAlias = Annotated[Value, OfKind("stress")]
FlowVolume: TypeAlias = Annotated[Value, OfKind("flow_volume")]
FlowMass: TypeAlias = Annotated[Value, OfKind("flow_mass")]
Density: TypeAlias = Annotated[Value, OfKind("density")]
SpringRate: TypeAlias = Annotated[Value, OfKind("spring_rate")]
Damping: TypeAlias = Annotated[Value, OfKind("damping")]
RollStiffness: TypeAlias = Annotated[Value, OfKind("roll_stiffness")]
RollGradient: TypeAlias = Annotated[Value, OfKind("roll_gradient")]
Angle: TypeAlias = Annotated[Value, OfKind("angle")]
AnglePerLength: TypeAlias = Annotated[Value, OfKind("angle_per_length")]
PerLength: TypeAlias = Annotated[Value, OfKind("per_length")]
Speed: TypeAlias = Annotated[Value, OfKind("speed")]
Acceleration: TypeAlias = Annotated[Value, OfKind("acceleration")]
RotationSpeed: TypeAlias = Annotated[Value, OfKind("rotation_speed")]
Frequency: TypeAlias = Annotated[Value, OfKind("frequency")]
Voltage: TypeAlias = Annotated[Value, OfKind("voltage")]
Current: TypeAlias = Annotated[Value, OfKind("current")]
Charge: TypeAlias = Annotated[Value, OfKind("charge")]
Resistance: TypeAlias = Annotated[Value, OfKind("resistance")]
ResistancePerLength: TypeAlias = Annotated[Value, OfKind("resistance_per_length")]
Conductance: TypeAlias = Annotated[Value, OfKind("conductance")]
HeatCapacity: TypeAlias = Annotated[Value, OfKind("heat_capacity")]
Viscosity: TypeAlias = Annotated[Value, OfKind("viscosity")]
Inertia: TypeAlias = Annotated[Value, OfKind("inertia")]
SpecificFuel: TypeAlias = Annotated[Value, OfKind("specific_fuel")]
HeatingValue: TypeAlias = Annotated[Value, OfKind("heating_value")]
FuelUse: TypeAlias = Annotated[Value, OfKind("fuel_use")]
SoundLevel: TypeAlias = Annotated[Value, OfKind("sound_level")]
Ratio: TypeAlias = Annotated[Value, OfKind("ratio")]
Fraction: TypeAlias = Annotated[Value, OfKind("fraction")]
Lambda: TypeAlias = Annotated[Value, OfKind("lambda")]
Number: TypeAlias = Annotated[Value, OfKind("number")]
Match: TypeAlias = Annotated[Value, OfKind("match")]
Money: TypeAlias = Annotated[Value, OfKind("money")]
