"""Breathing and fuel in words: fuels side by side."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np

from drybuild.examine import Examination
from drybuild.values import System, kind_named, show, shown_unit, stepped

PUMP_SIZE = 1e-4
"""A flow, m3/s, in whose unit all flows of fuel are said."""

@dataclass(frozen=True, slots=True)
class FuelFigure:
    """A figure of each fuel. check: the finding whose workings it stands in, or empty."""

    words: str
    check: str
    values: tuple[str, ...]


def fuels(examination: Examination) -> tuple[str, ...]:
    """The fuels that the build uses."""
    return tuple(
        blend for blend in examination.state.build.blends
        if _value(examination, f"blend.{blend}.used") is not False
    )  # fmt: skip


def fuel_figures(examination: Examination, system: System) -> tuple[FuelFigure, ...]:
    """Fuels beside each other; a figure that is known of none is left out."""
    rows = (
        ("octane, research", "fuel.octane", "fuel.octane.{}", "number", None),
        ("most torque", "breathing.power_goal", "breathing.power.{}", "torque",
         lambda curve: _peak(curve.torque)),
        ("most power", "breathing.power_goal", "breathing.power.{}", "power",
         lambda curve: _peak(curve.power)),
        ("injectors open, at most", "fuel.injector_duty", "fuel.duty.{}", "fraction", _peak),
        ("fuel taken, at most", "fuel.pump_flow", "fuel.full_load.{}", "flow_volume",
         lambda point: where_most_taken(point, "demand")),
        ("pump gives then", "fuel.pump_flow", "fuel.full_load.{}", "flow_volume",
         lambda point: where_most_taken(point, "available")),
        ("use", "", "fuel.use.{}", "fuel_use", None),
        ("range", "fuel.range", "fuel.range.{}", "distance", None),
    )  # fmt: skip
    blends = fuels(examination)
    found = []
    for words, check, address, kind, reduced in rows:
        said = tuple(
            _said(_value(examination, address.format(b)), kind, reduced, system) for b in blends
        )
        if any(said):
            found.append(FuelFigure(words, check, said))
    return tuple(found)


def most_taken(point: Any) -> int:
    """Where along engine speed the engine takes most fuel; what the pump gives is said of there."""
    return int(np.nanargmax(np.nanmedian(point.demand, axis=1)))


def where_most_taken(point: Any, name: str) -> Any:
    """A figure of the fuel's way at full load, (N,), at the engine speed that takes most."""
    values = np.broadcast_to(getattr(point, name), np.shape(point.demand))
    return values[most_taken(point)]


def _peak(values: Any) -> Any:
    array = np.asarray(values, dtype=np.float64)
    return np.nanmax(array, axis=0) if array.ndim == 2 else array


def _said(value: Any, kind: str, reduced: Callable[[Any], Any] | None, system: System) -> str:
    if value is None:
        return ""
    array = np.asarray(reduced(value) if reduced is not None else value, dtype=np.float64)
    if array.ndim == 2:
        array = _peak(array)
    return said_of(array, kind, system, PUMP_SIZE if kind == "flow_volume" else 0.0)


def said_of(draws: Any, kind: str, system: System, like: float = 0.0) -> str:
    """Draws of one figure as they are said; empty when none is solved.

    like: a size, SI, in whose unit it is said, so that figures beside each other have one unit.
    """
    array = np.atleast_1d(np.asarray(draws, dtype=np.float64))
    if not np.isfinite(array).any():
        return ""
    low, median, high = (float(v) for v in np.nanquantile(array, (0.025, 0.5, 0.975)))
    if not like:
        return show(kind, median, low, high, system=system)
    unit, label = shown_unit(kind_named(kind), like, system)
    middle, least, most = stepped(*(unit.from_si(v) for v in (median, low, high)))
    return f"about {middle} {label}, {least} to {most}"


def _value(examination: Examination, address: str) -> Any:
    outcome = examination.evaluation.get(address)
    return outcome.value if outcome.known else None
