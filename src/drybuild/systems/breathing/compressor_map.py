"""A compressor map made ready for fast reading: resampled once onto a regular grid, then kept.

A map is a few lines of equal corrected speed, each from its surge end to its choke end. Between
lines, points at the same share of the way from surge to choke belong together. The grid has one
row per pressure ratio and one column per share of the flow between surge line and the far edge at
that ratio, so that surge line and choke line are the grid's own edges and are read exactly.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from drybuild.systems.breathing.compressor import EXPONENT
from drybuild.values import Array

FloatArray = npt.NDArray[np.float64]

ROWS = 96
COLUMNS = 48
TOPS = 480
SHARES = 61
STEPS_BETWEEN_LINES = 12


@dataclass(frozen=True, slots=True)
class SpeedLine:
    """One line of a map: corrected speed rad/s; flow kg/s rising; ratio and efficiency along."""

    speed: float
    flow: tuple[float, ...]
    pressure_ratio: tuple[float, ...]
    efficiency: tuple[float, ...]


@dataclass(frozen=True, slots=True, eq=False)
class MapGrid:
    """A map on its regular grid. Flows and speeds are corrected ones, at the map's references.

    ratio_0, ratio_step: the rows' pressure ratios; surge, edge, choke: flow per row (edge is the
    nearer of choke and top speed); efficiency, speed: (ROWS, COLUMNS); ceiling: highest ratio of
    the map per flow, at ``ceiling_flow``.
    """

    temperature: float
    pressure: float
    ratio_0: float
    ratio_step: float
    surge: FloatArray
    edge: FloatArray
    choke: FloatArray
    efficiency: FloatArray
    speed: FloatArray
    ceiling_flow: FloatArray
    ceiling: FloatArray

    @property
    def ratio_top(self) -> float:
        """The highest pressure ratio at which the map shows any point."""
        return self.ratio_0 + self.ratio_step * (len(self.surge) - 1)


@dataclass(frozen=True, slots=True)
class Row:
    """Where a pressure ratio lies in the grid: row index, share of the way to the next, edges."""

    index: npt.NDArray[np.intp]
    share: FloatArray
    surge: FloatArray
    width: FloatArray


def make_grid(
    *, lines: Sequence[SpeedLine], temperature: float, pressure: float
) -> MapGrid:
    """Resample the lines of a map. Reference temperature K, pressure Pa absolute.

    Raises ValueError with the line at fault: fewer than three lines, flows not rising, ratios that
    do not rise with speed, efficiencies outside 0 to 1.
    Source: usual reading of a map (lines of equal share between surge and choke); ratio − 1 is
    taken as growing with speed squared between lines (similarity).
    """
    ordered = sorted(lines, key=lambda line: line.speed)
    _refuse(ordered)
    share = np.linspace(0.0, 1.0, SHARES)
    flow, ratio, efficiency = (np.stack(rows) for rows in zip(
        *(_along(line, share) for line in ordered), strict=True))  # fmt: skip
    speed = np.array([line.speed for line in ordered])
    speed, flow, ratio, efficiency = _with_standstill(speed, flow, ratio, efficiency)
    speed, flow, ratio, efficiency = _between_lines(speed, flow, ratio, efficiency)
    if np.any(np.diff(ratio, axis=0) <= 0.0):
        raise ValueError("the pressure ratio must rise from each speed line to the next")
    rows = np.linspace(1.0, float(ratio[-1, 0]), ROWS)
    columns = np.linspace(0.0, 1.0, COLUMNS)
    surge, edge = np.empty(ROWS), np.empty(ROWS)
    grid_efficiency, grid_speed = np.empty((ROWS, COLUMNS)), np.empty((ROWS, COLUMNS))
    speeds = np.broadcast_to(speed[:, None], ratio.shape)
    crossed = [_on_rows(rows, ratio, along) for along in (flow, efficiency, speeds)]
    last = (ratio[-1], flow[-1], efficiency[-1])
    for i, wanted in enumerate(rows):
        here = (crossed[0][i], crossed[1][i], crossed[2][i])
        w, e, n = _reach(float(wanted), here, last, float(speed[-1]))
        surge[i], edge[i] = w[0], w[-1]
        way = (w - w[0]) / max(w[-1] - w[0], 1e-12)
        grid_efficiency[i] = np.interp(columns, way, e)
        grid_speed[i] = np.interp(columns, way, n)
    choke = np.interp(rows, ratio[:, -1], flow[:, -1])
    ceiling_flow = np.linspace(0.0, float(flow[-1, -1]), TOPS)
    below = ceiling_flow < flow[-1, 0]
    ceiling = np.where(
        below,
        np.interp(ceiling_flow, flow[:, 0], ratio[:, 0]),
        np.interp(ceiling_flow, flow[-1], ratio[-1]),
    )
    return MapGrid(
        temperature, pressure, 1.0, float(rows[1] - rows[0]), surge, edge, choke,
        grid_efficiency, grid_speed, ceiling_flow, ceiling,
    )  # fmt: skip


def find_row(grid: MapGrid, ratio: Array) -> Row:
    """Rows of pressure ratios; beyond the map the nearest row is taken."""
    last = len(grid.surge) - 1.000001
    # fmax and fmin also send NaN to the first row, so that it can be an index
    rows = (np.asarray(ratio) - grid.ratio_0) * (1.0 / grid.ratio_step)
    x = np.asarray(np.fmin(np.fmax(rows, 0.0), last))
    index = x.astype(np.intp)
    share: FloatArray = np.asarray(x - index, dtype=np.float64)
    surge = _between(grid.surge, index, share)
    return Row(index, share, surge, _between(grid.edge, index, share) - surge)


def read_efficiency(grid: MapGrid, row: Row, flow: Array) -> Array:
    """Efficiency at corrected flows (kg/s) of rows; the map's edge value beyond its edges."""
    return _read(grid.efficiency, row, flow)


def read_speed(grid: MapGrid, row: Row, flow: Array, ratio: Array) -> Array:
    """Corrected speed (rad/s) at corrected flows and ratios.

    Beyond the far edge the speed grows with the flow, above the map with the square root of the
    head (similarity): an estimate, and such a point lies outside the map.
    """
    speed = _read(grid.speed, row, flow)
    beyond = np.maximum(flow / np.maximum(row.surge + row.width, 1e-9), 1.0)
    top = grid.ratio_top
    if np.any(ratio > top):
        head = np.maximum(ratio, top) ** EXPONENT - 1.0
        speed = speed * np.sqrt(head / (top**EXPONENT - 1.0))
    return speed * beyond


def surge_flow(grid: MapGrid, row: Row) -> Array:
    """Corrected flow (kg/s) of the surge line at rows."""
    return row.surge


def choke_flow(grid: MapGrid, row: Row) -> Array:
    """Corrected flow (kg/s) of the choke ends at rows; above the top line's end, that end's."""
    return _between(grid.choke, row.index, row.share)


def highest_ratio(grid: MapGrid, flow: Array) -> Array:
    """Highest pressure ratio that the map shows at corrected flows: surge line, then top line."""
    last = TOPS - 1
    x = np.fmin(np.fmax(flow * (last / grid.ceiling_flow[-1]), 0.0), last - 1e-6)
    index = x.astype(np.intp)
    return _between(grid.ceiling, index, np.asarray(x - index))


def _read(table: FloatArray, row: Row, flow: Array) -> FloatArray:
    last = COLUMNS - 1
    x = (flow - row.surge) * (last / np.maximum(row.width, 1e-12))
    x = np.fmin(np.fmax(x, 0.0), last - 1e-6)
    column = x.astype(np.intp)
    share = x - column
    flat = table.ravel()
    at = row.index * COLUMNS + column
    low = flat[at]
    low += share * (flat[at + 1] - low)
    at += COLUMNS
    high = flat[at]
    high += share * (flat[at + 1] - high)
    return np.asarray(low + row.share * (high - low))


def _between(values: FloatArray, index: npt.NDArray[np.intp], share: FloatArray) -> FloatArray:
    low = values[index]
    return np.asarray(low + share * (values[index + 1] - low))


def _refuse(lines: Sequence[SpeedLine]) -> None:
    if len(lines) < 3:
        raise ValueError(f"a compressor map needs at least 3 speed lines, found {len(lines)}")
    for line in lines:
        name = f"speed line {line.speed * 30.0 / np.pi:.0f} rpm"
        sizes = {len(line.flow), len(line.pressure_ratio), len(line.efficiency)}
        if len(sizes) != 1 or len(line.flow) < 2:
            raise ValueError(f"{name}: flow, pressure ratio and efficiency differ in length")
        if np.any(np.diff(line.flow) <= 0.0) or line.flow[0] <= 0.0:
            raise ValueError(f"{name}: flow must rise from the surge end to the choke end")
        if min(line.efficiency) <= 0.0 or max(line.efficiency) >= 1.0:
            raise ValueError(f"{name}: efficiency must lie between 0 and 1")
        if min(line.pressure_ratio) < 1.0:
            raise ValueError(f"{name}: a pressure ratio below 1")
    if len({line.speed for line in lines}) != len(lines):
        raise ValueError("two speed lines have the same speed")


def _along(line: SpeedLine, share: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray]:
    flow = np.array(line.flow)
    way = (flow - flow[0]) / (flow[-1] - flow[0])
    return (
        np.interp(share, way, flow),
        np.interp(share, way, line.pressure_ratio),
        np.interp(share, way, line.efficiency),
    )


def _with_standstill(
    speed: FloatArray, flow: FloatArray, ratio: FloatArray, efficiency: FloatArray
) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray]:
    """Add the line that every map leaves out: no speed, no flow, ratio 1."""
    return (
        np.concatenate([[0.0], speed]),
        np.concatenate([np.zeros_like(flow[:1]), flow]),
        np.concatenate([np.ones_like(ratio[:1]), ratio]),
        np.concatenate([efficiency[:1], efficiency]),
    )


def _between_lines(
    speed: FloatArray, flow: FloatArray, ratio: FloatArray, efficiency: FloatArray
) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray]:
    """More lines between the lines: ratio by speed squared, flow and efficiency by speed."""
    at = np.concatenate([
        speed[:1],
        *(np.linspace(a, b, STEPS_BETWEEN_LINES + 1)[1:]
          for a, b in np.stack([speed[:-1], speed[1:]], axis=1)),
    ])  # fmt: skip
    columns = range(flow.shape[1])
    fine_flow = np.stack([np.interp(at, speed, flow[:, j]) for j in columns], axis=1)
    fine_ratio = np.stack([np.interp(at**2, speed**2, ratio[:, j]) for j in columns], axis=1)
    fine_efficiency = np.stack([np.interp(at, speed, efficiency[:, j]) for j in columns], axis=1)
    return at, fine_flow, fine_ratio, fine_efficiency


def _on_rows(rows: FloatArray, ratio: FloatArray, along: FloatArray) -> FloatArray:
    """What stands along the lines of equal share where these cross pressure ratios:
    (rows, shares)."""
    columns = range(ratio.shape[1])
    return np.stack([np.interp(rows, ratio[:, j], along[:, j]) for j in columns], axis=1)


def _reach(
    wanted: float,
    crossed: tuple[FloatArray, FloatArray, FloatArray],
    last: tuple[FloatArray, FloatArray, FloatArray],
    fastest: float,
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Flow, efficiency, speed along a row of the grid, from surge to choke or top speed.

    crossed: the three at each share; last: ratio, flow, efficiency of the top line.
    """
    top, flow, efficiency = last
    reached = int(np.argmax(top < wanted)) if np.any(top < wanted) else len(top)
    reached = max(reached, 1)  # the surge end of the top line is the last row by construction
    w, e, n = (values[:reached] for values in crossed)
    if reached < len(top):
        before, after = top[reached - 1], top[reached]
        part = float(np.clip((before - wanted) / (before - after), 0.0, 1.0))
        end = flow[reached - 1] + part * (flow[reached] - flow[reached - 1])
        drop = efficiency[reached] - efficiency[reached - 1]
        if end > w[-1]:
            w = np.append(w, end)
            e = np.append(e, efficiency[reached - 1] + part * drop)
            n = np.append(n, fastest)
    return w, e, n
