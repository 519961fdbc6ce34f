"""The way of the fuel as a line drawing: tank, pump, feed, rail, regulator and the way back.

Pressures and flows at full load, where the engine takes most, each with its doubt.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from drybuild.examine import Examination
from drybuild.show.drawing import SCREEN, Drawing
from drybuild.show.engine_words import PUMP_SIZE, most_taken, said_of, where_most_taken
from drybuild.values import System

WIDE, TALL = 430.0, 584.0
LEFT, RIGHT, BOX = 6.0, 224.0, 200.0
PIPE, BESIDE = 30.0, 44.0
"""From a box's left edge to the pipe, and to the words beside it."""
SIZE = 17.0


@dataclass(frozen=True, slots=True)
class Row:
    """A figure of the network. check: the finding whose workings it stands in."""

    words: str
    value: str
    check: str


@dataclass(frozen=True)
class Network:
    """The drawing, and the same as rows. rpm: the engine speed that it is for."""

    blend: str
    rpm: int
    rows: tuple[Row, ...]
    svg: str


def fuel_network(examination: Examination, blend: str, system: System) -> Network | None:
    """The network with one fuel; None where the pressures are not solved."""
    point = _value(examination, f"fuel.full_load.{blend}")
    rail = _value(examination, "fuel.rail")
    if point is None or rail is None or not np.isfinite(point.rail_pressure).any():
        return None
    worst = most_taken(point)
    speeds = np.asarray(rail.engine_speed, dtype=np.float64) * 60 / (2 * np.pi)
    at = {
        name: where_most_taken(point, name)
        for name in ("pump_pressure", "rail_pressure", "demand", "return_flow", "available")
    }
    manifold = np.broadcast_to(rail.manifold, np.shape(point.rail_pressure))[worst]
    lost = at["pump_pressure"] - at["rail_pressure"]
    rows = (
        ("pump pressure", at["pump_pressure"], "pressure_gauge", "fuel.pump_flow"),
        ("lost on the way to the rail", lost, "pressure_difference", "fuel.supply_loss"),
        ("rail pressure", at["rail_pressure"], "pressure_gauge", "fuel.injector_pressure_ceiling"),
        ("rail over the manifold", at["rail_pressure"] - manifold, "pressure_difference",
         "fuel.injector_duty"),
        ("the engine takes", at["demand"], "flow_volume", "fuel.pump_flow"),
        ("the pump could give", at["available"], "flow_volume", "fuel.pump_flow"),
        ("goes back to the tank", at["return_flow"], "flow_volume", "fuel.return_flow"),
    )  # fmt: skip
    said = tuple(
        Row(words, text, check)
        for words, draws, kind, check in rows
        if (text := said_of(draws, kind, system, PUMP_SIZE if kind == "flow_volume" else 0.0))
    )
    rpm = round(float(speeds[worst]), -2)
    svg = _draw(examination, {row.words: row.value for row in said}, blend, int(rpm))
    return Network(blend, int(rpm), said, svg)


def _draw(examination: Examination, said: dict[str, str], blend: str, rpm: int) -> str:
    d = Drawing(SCREEN, ink="currentColor")
    name = _Names(examination)
    returns = bool(name("return_line"))
    _box(d, LEFT, 20, RIGHT + BOX - LEFT, 52, name("tank") or "tank")
    _box(d, LEFT, 130, BOX, 64, name("pump") or "pump")
    _box(d, LEFT, 268, BOX, 64, name("fuel_filter") or name("feed_line") or "feed line")
    _box(d, LEFT, 420, RIGHT + BOX - LEFT, 52, name("fuel_rail") or "rail")
    _arrow(d, LEFT + PIPE, 72, 130)
    _arrow(d, LEFT + PIPE, 194, 268)
    _arrow(d, LEFT + PIPE, 332, 420)
    for at in (1, 2, 3, 4):
        _arrow(d, LEFT + 84 * at, 472, 508)
    _figure(d, LEFT + BESIDE, 226, said.get("pump pressure", ""), "at the pump")
    _figure(d, LEFT + BESIDE, 370, said.get("lost on the way to the rail", ""), "lost on the way")
    _figure(d, LEFT, 546, said.get("the engine takes", ""), "to the injectors")
    _figure(d, RIGHT - 24, 546, said.get("the pump could give", ""), "the pump could give")
    if returns:
        _box(d, RIGHT, 268, BOX, 64, name("regulator") or "regulator")
        _box(d, RIGHT, 130, BOX, 64, name("return_line"))
        _arrow(d, RIGHT + PIPE, 420, 332)
        _arrow(d, RIGHT + PIPE, 268, 194)
        _arrow(d, RIGHT + PIPE, 130, 72)
        _figure(d, RIGHT + BESIDE, 370, said.get("rail pressure", ""), "in the rail")
        _figure(d, RIGHT + BESIDE, 226, said.get("goes back to the tank", ""), "goes back")
    told = "; ".join(f"{words} {value}" for words, value in said.items())
    return d.svg(WIDE, TALL, f"The way of the fuel, {blend}, at {rpm} rpm: {told}")


class _Names:
    """Names of the fitted parts by place."""

    def __init__(self, examination: Examination) -> None:
        self.state = examination.state

    def __call__(self, place: str) -> str:
        part = self.state.fitted.get(place)
        found = self.state.build.parts.get(part) if part else None
        return (found.name or part or "") if found is not None else ""


def _box(d: Drawing, x: float, y: float, wide: float, tall: float, words: str) -> None:
    d.box(x, y, wide, tall, width=1.8)
    lines = d.broken(words, wide - 20, size=SIZE, heavy=True, most=2)
    top = y + (tall - len(lines) * SIZE * 1.2) / 2 + SIZE * 0.95
    d.lines(x + wide / 2, top, lines, size=SIZE, heavy=True, anchor="middle")


def _arrow(d: Drawing, x: float, start: float, end: float) -> None:
    down = 1 if end > start else -1
    d.line([(x, start), (x, end)], width=2.0)
    d.line([(x - 6, end - 10 * down), (x, end), (x + 6, end - 10 * down)], width=2.0)


def _figure(d: Drawing, x: float, y: float, value: str, words: str) -> None:
    """What it is, the figure, and its doubt, a line each; y: the middle of the three."""
    if not value:
        return
    head, _, doubt = value.removeprefix("about ").partition(", ")
    d.text(x, y - 13, words, size=15)
    d.text(x, y + 6, head, size=SIZE, heavy=True)
    d.text(x, y + 25, doubt, size=15)


def _value(examination: Examination, address: str) -> Any:
    outcome = examination.evaluation.get(address)
    return outcome.value if outcome.known else None
