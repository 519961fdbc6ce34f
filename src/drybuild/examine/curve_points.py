"""A curve from a table of points, or from the one point that stands on a box.

Whoever sells a pump prints one point of its curve: 255 L/h at 3 bar. The shape is then taken from a
curve that is there, as a guess, and its size from the point.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from math import hypot
from typing import Any, Final, get_args

import numpy as np

from drybuild.build.declared import Declared
from drybuild.values import (
    KINDS,
    Curve,
    Value,
    ValueFault,
    parse_curve,
    parse_value,
    typed_number,
    unit_of,
)
from drybuild.values.types import OfCurve

SHAPE_DOUBT: Final = 0.10
"""How far a curve of another's shape strays from one's own beside the point that both go through
(95 %; *from memory* of pumps' printed curves)."""


class CurveRefused(ValueError):
    """What was typed is no curve; the text says what was found and what is wanted."""


@dataclass(frozen=True, slots=True)
class Axes:
    """What a curve runs along and what it gives: kinds, and the units of its points."""

    x_kind: str
    y_kind: str
    x_unit: str
    y_unit: str

    @property
    def x_words(self) -> str:
        return _label(self.x_kind, self.x_unit)

    @property
    def y_words(self) -> str:
        return _label(self.y_kind, self.y_unit)


def axes_of(declared: Declared, raw: Any = None) -> Axes | None:
    """The axes of a fact that is a curve, in the units that its table has; None for others."""
    waiting: list[Any] = [declared.field.annotation, *declared.field.metadata]
    while waiting:
        one = waiting.pop()
        if isinstance(one, OfCurve):
            table = raw if isinstance(raw, Mapping) else {}
            return Axes(one.x_kind, one.y_kind,
                        *(_unit(table, name, kind) for name, kind in
                          (("x", one.x_kind), ("y", one.y_kind))))  # fmt: skip
        waiting += get_args(one)
    return None


def rows_of(axes: Axes, raw: Any) -> str:
    """The points of a curve as a file has it, a row a point; empty where none is stated."""
    if not isinstance(raw, Mapping):
        return ""
    curve = parse_curve(raw, axes.x_kind, axes.y_kind)
    x, y = _from_si(axes.x_kind, axes.x_unit), _from_si(axes.y_kind, axes.y_unit)
    return "\n".join(f"{x(a):.6g}; {y(b):.6g}" for a, b in zip(curve.x, curve.y, strict=True))


def doubt_of(raw: Any) -> str:
    """What is stated of the doubt of a curve, as ``read_rows`` takes it."""
    table = raw if isinstance(raw, Mapping) else {}
    return "; ".join(str(table[k]) for k in ("scale_doubt", "offset_doubt") if k in table)


def read_rows(axes: Axes, text: str, doubt: str, by: str) -> dict[str, Any]:
    """A curve's table from a row a point, in the units of its axes. doubt: of its size, 5 %, or of
    how far it may lie beside, 0.1 deg, or both; empty for what its kind has. Raises CurveRefused.
    """
    xs, ys = [], []
    for number, line in enumerate((one for one in text.splitlines() if one.strip()), 1):
        sign = next((one for one in (";", "\t") if one in line), ",")
        cells = [cell.strip().replace("−", "-") for cell in line.strip().rstrip(sign).split(sign)]
        if len(cells) != 2:
            raise CurveRefused(f"row {number}: found {line.strip()}; expected two figures, "
                               f"{axes.x_words}; {axes.y_words}")  # fmt: skip
        try:
            xs.append(typed_number(cells[0]))
            ys.append(typed_number(cells[1]))
        except ValueFault as error:
            raise CurveRefused(f"row {number}: {error}") from None
    table: dict[str, Any] = {"x": xs, "x_unit": axes.x_unit, "y": ys, "y_unit": axes.y_unit}
    table = {key: value for key, value in table.items() if value != ""}
    for one in filter(None, (piece.strip() for piece in doubt.split(";"))):
        table["scale_doubt" if one.endswith("%") else "offset_doubt"] = one
    if by:
        table["by"] = by
    _checked(axes, table)
    return table


def through(
    declared: Declared, raw: Any, at: str, value: str, *, by: str, known: str
) -> tuple[dict[str, Any], str]:
    """A curve of the shape of another, made to go through one point; and that in words.

    raw: the table of the curve whose shape is taken; at, value: the point, as typed; by: how the
    point is known, which gives its doubt where none is typed. Raises CurveRefused. The words: a
    comment for the file, to which whose the shape is may be added.
    """
    axes = axes_of(declared, raw)
    if axes is None or not isinstance(raw, Mapping):
        raise CurveRefused("no curve is there whose shape could be taken: type its points")
    curve = _checked(axes, raw)
    point = _read(axes.x_kind, axes.x_unit, at, "", known)
    stated = _read(axes.y_kind, axes.y_unit, value, by, known)
    there = float(np.interp(point.centre, curve.x, curve.y))
    x_said, y_said = _from_si(axes.x_kind, axes.x_unit), _from_si(axes.y_kind, axes.y_unit)
    if not curve.x[0] <= point.centre <= curve.x[-1]:
        raise CurveRefused(
            f"the shape that is taken goes from {x_said(curve.x[0]):g} to "
            f"{x_said(curve.x[-1]):g} {axes.x_unit}, and the point is at "
            f"{x_said(point.centre):g}: type its points"
        )
    if there <= 0.0 or stated.centre <= 0.0:
        raise CurveRefused("a point at which the curve is zero says nothing of its size")
    factor = stated.centre / there
    doubt = hypot(SHAPE_DOUBT, stated.half_width / stated.centre)
    table = {
        "x": [float(f"{x_said(one):.6g}") for one in curve.x], "x_unit": axes.x_unit,
        "y": [float(f"{y_said(one * factor):.4g}") for one in curve.y], "y_unit": axes.y_unit,
        "scale_doubt": f"{100.0 * min(doubt, 1.0):.0f} %", "by": "assumed",
    }  # fmt: skip
    how = "a guess" if by == "assumed" else f"by {by or known}"
    said = (f"through {y_said(stated.centre):.4g} {axes.y_unit} at {x_said(point.centre):.4g} "
            f"{axes.x_unit}, {how}; its shape is a guess")  # fmt: skip
    return {key: one for key, one in table.items() if one != ""}, said


def _read(kind: str, unit: str, text: str, by: str, known: str) -> Value:
    typed = text.strip().replace("−", "-")
    if not typed:
        raise CurveRefused("half a point: both of its figures are wanted")
    whole = re.fullmatch(r"([-+]?[\d.,]+)\s*((?:±|\+/-|to)\s*[\d.,]+\s*%?)?", typed)
    if whole is not None and (whole[2] or "").endswith("%"):
        typed = f"{whole[1]} {unit} {whole[2]}"
    elif whole is not None:
        typed = f"{typed} {unit}".strip()
    elif unit.endswith(" gauge") and re.fullmatch(r"[\d.,]+\s*bar", typed):
        typed += " gauge"  # as the label of the box says
    entry = {"is": typed, **({"by": by} if by else {})}
    try:
        return parse_value(entry, kind, how=known)
    except ValueFault as error:
        raise CurveRefused(str(error)) from None


def _checked(axes: Axes, raw: Any) -> Curve:
    try:
        return parse_curve(raw, axes.x_kind, axes.y_kind)
    except ValueFault as error:
        raise CurveRefused(str(error)) from None


def _unit(table: Mapping[str, Any], name: str, kind: str) -> str:
    if KINDS[kind].dimensionless:
        return str(table.get(f"{name}_unit", ""))
    first = next(iter(table.get(name, ())), None)
    if isinstance(first, str):
        return parse_value(first, kind).unit
    return str(table.get(f"{name}_unit", "")) or parse_value(KINDS[kind].example, kind).unit


def _from_si(kind: str, unit: str) -> Callable[[float], float]:
    return unit_of(unit, kind).from_si


def _label(kind: str, unit: str) -> str:
    what = KINDS[kind].what.removeprefix("a ").removeprefix("an ")
    return f"{what}, {unit}" if unit else what
