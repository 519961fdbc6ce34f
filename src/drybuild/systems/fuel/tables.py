"""Small tables of one column a draw, and a bracketed search over arrays: the solver's tools."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

Grid = npt.NDArray[np.float64]
Places = npt.NDArray[np.intp]


@dataclass(frozen=True)
class Cells:
    """Where values lie in a table: flat index of the node below and the part to the next."""

    low: Places
    part: Grid


@dataclass(frozen=True)
class Table:
    """Values (M, W) at even steps from ``start``; W is one column a draw, or 1 for all draws."""

    start: float
    step: float
    values: Grid

    @property
    def end(self) -> float:
        """Last place that the table covers."""
        return self.start + self.step * (len(self.values) - 1)

    def cells(self, where: Grid, draw: Places | None = None) -> Cells:
        """Cells of places (..., N), held inside the table; ``draw``: column of each, else in turn.

        The caller must notice places outside: what it solves there will not balance.
        """
        nodes, width = self.values.shape
        scaled = where - self.start
        scaled *= 1 / self.step
        np.fmin(np.fmax(scaled, 0.0, out=scaled), nodes - 1 - 1e-9, out=scaled)  # nan reads node 0
        node = scaled.astype(np.intp)
        scaled -= node
        if width > 1:
            node *= width
            node += np.arange(width) if draw is None else draw
        return Cells(node, scaled)

    def read(self, cells: Cells) -> Grid:
        """Linear interpolation at cells."""
        flat = self.values.reshape(-1)
        low: Grid = flat.take(cells.low)
        high: Grid = flat.take(cells.low + self.values.shape[1])
        high -= low
        high *= cells.part
        high += low
        return high

    def at(self, where: Grid, draw: Places | None = None) -> Grid:
        """Linear interpolation at places (see ``cells``)."""
        return self.read(self.cells(where, draw))


def search(
    *, miss: Callable[[Grid], Grid], low: Grid, high: Grid, tolerance: float, steps: int = 60
) -> tuple[Grid, Grid]:
    """Root of a function rising from ``low`` to ``high``, elementwise: place and what it misses.

    Illinois variant of regula falsi, halved every third step against kinks; at most ``steps``
    evaluations, ended early once every bracketed element misses less than ``tolerance``. An element
    that does stays as it is, so that it comes out alike whatever the others need.
    Elements without a bracket return their better end and its miss: the caller blanks what
    misses too much.
    Source: Dowell and Jarratt, BIT 11 (1971) 168.
    """
    low, high = low.copy(), high.copy()
    at_low, at_high = miss(low), miss(high)
    nearer = np.abs(at_low) < np.abs(at_high)
    best, best_miss = np.where(nearer, low, high), np.where(nearer, at_low, at_high)
    bracketed = (at_low <= 0) & (at_high >= 0)
    if not bracketed.any():
        return best, best_miss
    last = np.zeros(low.shape)
    for step in range(steps):
        if float(np.max(np.abs(best_miss), initial=0.0, where=bracketed)) < tolerance:
            break
        with np.errstate(invalid="ignore", divide="ignore"):
            guess = (low * at_high - high * at_low) / (at_high - at_low)
        inside = (guess > low) & (guess < high) & (step % 3 != 2)
        guess = np.where(inside, guess, 0.5 * (low + high))
        there = miss(guess)
        better = (np.abs(there) < np.abs(best_miss)) & bracketed & (np.abs(best_miss) >= tolerance)
        best = np.where(better, guess, best)
        best_miss = np.where(better, there, best_miss)
        right = there > 0
        at_low = np.where(right, np.where(last > 0, 0.5 * at_low, at_low), there)
        at_high = np.where(right, there, np.where(last < 0, 0.5 * at_high, at_high))
        low, high = np.where(right, low, guess), np.where(right, guess, high)
        last = np.where(right, 1.0, -1.0)
    return best, best_miss
