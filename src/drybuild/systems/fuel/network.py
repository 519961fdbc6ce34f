"""Pump, supply line, regulator and return line solved together, for every draw at once.

The unknown is the pressure at the pump's outlet. With it the pump's current, its own terminal
voltage, its flow and the supply loss follow, and so the pressure that arrives at the rail. The
rail in turn wants a pressure: what the regulator holds for the flow that goes back, or, where
the way back is too narrow, what it takes to push that flow through. Where the pump gives less
than the engine takes, nothing goes back and the rail falls until the two agree.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from drybuild.systems.fuel.pump import flow_at_voltage, speed_ratio, terminal_voltage
from drybuild.systems.fuel.tables import Grid, Places, Table, search
from drybuild.values import Array

NODES = 13
TOLERANCE = 200.0  # Pa: far below any gauge; what misses more counts as not solved
Loss = Callable[[Grid], Grid]


@dataclass(frozen=True)
class SupplySide:
    """Pump flow (m3/s) and supply loss (Pa) as tables over pump outlet pressure (Pa gauge).

    Both tables have the same nodes and columns, so that one look-up serves both.
    """

    flow: Table
    loss: Table

    def at(self, pressure: Grid, draw: Places | None = None) -> tuple[Grid, Grid]:
        """Pump flow and supply loss at pump pressures."""
        cells = self.flow.cells(pressure, draw)
        return self.flow.read(cells), self.loss.read(cells)


@dataclass(frozen=True)
class ReturnSide:
    """Pressure (Pa gauge) that the open way back takes, as a table over flow squared.

    The table runs over the square of the flow as a share of ``most`` (W,) m3/s, each draw over
    its own, so that no draw's answer depends on the others.
    """

    loss: Table
    most: Grid

    def at(self, flow: Grid, draw: Places | None = None) -> Grid:
        """Pressure taken at flows (m3/s); ``draw``: column of each, else in turn."""
        most = self.most if draw is None or self.most.size == 1 else self.most[draw]
        return self.loss.at(np.square(flow / most), draw)


@dataclass(frozen=True)
class WorkingPoint:
    """Where all agree. Shapes as the demand, SI; pressures gauge. Unsolved draws are NaN.

    ``demand`` is the engine's volume flow (m3/s), ``set_pressure`` what the regulator would hold,
    ``available`` the pump's flow (m3/s) at the regulator's pressure, whatever the engine takes.
    """

    pump_pressure: Grid
    rail_pressure: Grid
    set_pressure: Grid
    pump_flow: Grid
    return_flow: Grid
    demand: Grid
    available: Grid


def supply_side(
    *,
    pressures: Grid,
    rated_flow: Grid,
    current: Grid,
    supply_voltage: Array,
    circuit_resistance: Array,
    rated_voltage: Array,
    winding_resistance: Array,
    loss: Loss,
) -> SupplySide:
    """Tables of the supply side over even pump pressures (M,).

    rated_flow (M, W) and current (M, W) are read from the maker's curves at these pressures and
    rated_voltage; loss(flow) gives the pressure lost between pump and rail. Source: Ohm's law,
    permanent-magnet motor, displacement pump.
    """
    start, step = float(pressures[0]), float(pressures[1] - pressures[0])
    # The free flow, at no pressure: along the curve's first piece where it starts above zero.
    free = rated_flow[0] - start * (rated_flow[1] - rated_flow[0]) / step
    voltage = terminal_voltage(
        supply_voltage=supply_voltage, current=current, circuit_resistance=circuit_resistance
    )
    ratio = speed_ratio(
        voltage=voltage,
        rated_voltage=rated_voltage,
        current=current,
        winding_resistance=winding_resistance,
    )
    flow = np.asarray(flow_at_voltage(rated_flow=rated_flow, rated_free_flow=free, ratio=ratio))
    flow, lost = (np.ascontiguousarray(a) for a in np.broadcast_arrays(flow, loss(flow)))
    return SupplySide(Table(start, step, flow), Table(start, step, lost))


def return_side(*, highest_flow: Array, loss: Loss) -> ReturnSide:
    """Table of the way back: loss(flow) up to ``highest_flow`` (m3/s), a float or one a draw."""
    most = np.atleast_1d(np.asarray(highest_flow, dtype=np.float64))
    squares = np.linspace(0.0, 1.0, NODES)
    values = np.atleast_2d(loss(np.sqrt(squares)[:, None] * most))
    return ReturnSide(Table(0.0, float(squares[1]), np.ascontiguousarray(values)), most)


def working_point(
    *,
    supply: SupplySide,
    back: ReturnSide,
    demand: Grid,
    set_pressure: Grid,
    rise: Array = 0.0,
) -> WorkingPoint:
    """Solve the network. demand (…, N) m3/s, set_pressure (…, N) Pa gauge that the regulator holds.

    rise: Pa per m3/s by which a regulator's pressure climbs with the flow through it. Draws whose
    balance misses more than 200 Pa, or that leave the pump's curve, are NaN.
    Source: mass balance at the rail; energy along each line.
    """
    draws = np.empty(max(supply.flow.values.shape[1], back.loss.values.shape[1]))
    demand, set_pressure, rises, _ = np.broadcast_arrays(
        np.asarray(demand, float), np.asarray(set_pressure, float), np.asarray(rise, float), draws
    )
    pump, missed, flow, lost = _regulated(supply, demand, set_pressure, rises)
    astray = np.abs(missed) >= TOLERANCE
    if astray.any():
        draw = np.broadcast_to(np.arange(demand.shape[-1]), demand.shape)[astray]
        found, miss = _held(supply, demand[astray], set_pressure[astray], rises[astray], draw)
        pump[astray], missed[astray] = found, miss
        flow[astray], lost[astray] = supply.at(found, draw)
    spare = flow - demand
    held = set_pressure + rises * spare if np.any(rises) else set_pressure
    choked = (back.at(np.maximum(spare, 0.0)) > held) & (spare > 0)
    available = np.where(np.abs(missed) < TOLERANCE, flow, np.nan)
    for odd, solve in ((choked, _choked), (spare < 0, _short)):
        if odd.any():
            draw = np.broadcast_to(np.arange(demand.shape[-1]), demand.shape)[odd]
            found, miss = solve(supply, back, demand[odd], draw)
            pump[odd], missed[odd] = found, miss
            flow[odd], lost[odd] = supply.at(found, draw)
    rail = pump - lost
    spare = np.maximum(flow - demand, 0.0)
    outside = (pump > supply.flow.end) | (pump < supply.flow.start)
    bad = ~(np.abs(missed) < TOLERANCE) | outside | np.isnan(demand)
    if bad.any():
        for array in (pump, rail, flow, spare):
            array[bad] = np.nan
    return WorkingPoint(pump, rail, set_pressure, flow, spare, demand, available)


def _regulated(
    supply: SupplySide, demand: Grid, set_pressure: Grid, rises: Grid
) -> tuple[Grid, Grid, Grid, Grid]:
    """Pump pressure that holds the regulator's pressure at the rail; its misfit, flow and loss.

    Where the supply loss hardly changes with the pressure, two steps and a chord through them do;
    what they miss is for ``_held``.
    """
    climbs = bool(np.any(rises))

    def at(pump: Grid) -> tuple[Grid, Grid, Grid]:
        """Pressure wanted at the pump, its flow there and the supply loss."""
        flow, lost = supply.at(pump)
        target = set_pressure + lost
        if climbs:
            target += rises * np.maximum(flow - demand, 0.0)
        return target, flow, lost

    first = set_pressure
    second = at(first)[0]
    third = at(second)[0]
    with np.errstate(invalid="ignore", divide="ignore"):
        step = second - first
        turn = (third - second) - step
        pump = np.where(np.abs(turn) > 1e-9, first - step * step / turn, third)
    target, flow, lost = at(pump)
    return pump, pump - target, flow, lost


def _held(
    supply: SupplySide, demand: Grid, set_pressure: Grid, rises: Grid, draw: Places
) -> tuple[Grid, Grid]:
    """As ``_regulated`` by search, where a bend of the pump's curve or a steep loss lies between
    its steps."""

    def miss(pump: Grid) -> Grid:
        flow, lost = supply.at(pump, draw)
        return np.asarray(pump - lost - set_pressure - rises * np.maximum(flow - demand, 0.0))

    low = np.full(demand.shape, supply.flow.start)
    return search(miss=miss, low=low, high=np.full(demand.shape, supply.flow.end), tolerance=20.0)


def _choked(supply: SupplySide, back: ReturnSide, demand: Grid, draw: Places) -> tuple[Grid, Grid]:
    """The way back is the limit: the rail is at what pushes the spare flow through it."""

    def miss(pump: Grid) -> Grid:
        flow, lost = supply.at(pump, draw)
        spare = np.maximum(flow - demand, 0.0)
        left: Grid = pump - lost - back.at(spare, draw)
        return left

    low = np.full(demand.shape, supply.flow.start)
    return search(miss=miss, low=low, high=np.full(demand.shape, supply.flow.end), tolerance=20.0)


def _short(supply: SupplySide, back: ReturnSide, demand: Grid, draw: Places) -> tuple[Grid, Grid]:
    """The pump gives less than is taken: the rail falls until the flows agree."""
    # Flow misfits are put on a pressure scale by the pump's mean slope so one tolerance serves.
    fall = np.maximum(supply.flow.values[0] - supply.flow.values[-1], 1e-9)
    slope = (supply.flow.end - supply.flow.start) / fall
    scale = slope if slope.size == 1 else slope[draw]

    def miss(pump: Grid) -> Grid:
        return np.asarray((demand - supply.flow.at(pump, draw)) * scale)

    low = np.full(demand.shape, supply.flow.start)
    return search(miss=miss, low=low, high=np.full(demand.shape, supply.flow.end), tolerance=20.0)
