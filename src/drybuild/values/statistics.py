"""Statistics over draws: one set of functions, weighted, aware of draws that are not solved.

A draw that is nan was not solved, or lies outside a formula's range. It has no place in a
quantile, but it counts as short in every chance. Weights need not sum to one; None means that
all draws weigh the same.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from drybuild.values.value import Array

Floats = npt.NDArray[np.float64]
LEVEL = 0.95


def _column(x: Array) -> Floats:
    return np.atleast_1d(np.asarray(x, dtype=np.float64))


def quantiles(x: Array, qs: Sequence[float], weights: Floats | None = None) -> Floats:
    """Quantiles of the draws, shape (len(qs),); nan where no draw is solved.

    Linear between the midpoints of the draws' weights (Hazen's rule), so that equal weights and
    no weights agree exactly in kind.
    """
    column = _column(x)
    if column.size == 1:
        return np.full(len(qs), column[0])
    solved = ~np.isnan(column)
    if not solved.all():
        column = column[solved]
        weights = None if weights is None else weights[solved]
    if column.size == 0:
        return np.full(len(qs), np.nan)
    wanted = np.asarray(qs, dtype=np.float64)
    if weights is None:
        n = column.size
        place = np.clip(wanted * n - 0.5, 0.0, n - 1.0)
        below = np.floor(place).astype(int)
        above = np.minimum(below + 1, n - 1)
        parted = np.partition(column, np.unique(np.concatenate([below, above])))
        low, high = parted[below], parted[above]
        part = place - below
        with np.errstate(invalid="ignore"):
            between = low + part * (high - low)
        return np.asarray(np.where((part == 0.0) | (low == high), low, between))
    order = np.argsort(column, kind="stable")
    sorted_column, heavy = column[order], weights[order]
    total = heavy.sum()
    if not total > 0.0:
        return np.full(len(qs), np.nan)
    middle = (np.cumsum(heavy) - 0.5 * heavy) / total
    kept = heavy > 0.0
    return np.asarray(np.interp(wanted, middle[kept], sorted_column[kept]))


def quantile(x: Array, q: float, weights: Floats | None = None) -> float:
    """One quantile of the draws."""
    return float(quantiles(x, (q,), weights)[0])


def interval(x: Array, weights: Floats | None = None, level: float = LEVEL) -> tuple[float, float]:
    """The central interval that holds ``level`` of the solved draws (JCGM 101, 7.7, the
    probabilistically symmetric one)."""
    low, high = quantiles(x, ((1.0 - level) / 2.0, (1.0 + level) / 2.0), weights)
    return float(low), float(high)


def shortest_interval(x: Array, level: float = LEVEL) -> tuple[float, float]:
    """The shortest interval that holds ``level`` of the solved draws (JCGM 101, 7.7.4)."""
    column = np.sort(_column(x)[~np.isnan(_column(x))])
    held = int(np.ceil(level * column.size))
    if column.size == 0 or held >= column.size:
        return (float("nan"),) * 2 if column.size == 0 else (float(column[0]), float(column[-1]))
    start = int(np.argmin(column[held:] - column[: column.size - held]))
    return float(column[start]), float(column[start + held])


def summary(x: Array, weights: Floats | None = None) -> tuple[float, float, float]:
    """Median, and the ends of the central 95 %."""
    median, low, high = quantiles(x, (0.5, (1.0 - LEVEL) / 2.0, (1.0 + LEVEL) / 2.0), weights)
    return float(median), float(low), float(high)


def mean(x: Array, weights: Floats | None = None) -> float:
    """Mean of the solved draws."""
    column = _column(x)
    solved = ~np.isnan(column)
    if not solved.any():
        return float("nan")
    if weights is None or column.size == 1:
        return float(column[solved].mean())
    return float(np.average(column[solved], weights=weights[solved]))


def deviation(x: Array, weights: Floats | None = None) -> float:
    """Standard deviation of the solved draws."""
    return float(np.sqrt(mean((_column(x) - mean(x, weights)) ** 2, weights)))


def chance(margin: Array, weights: Floats | None = None) -> float:
    """Share of the draws in which the margin is zero or more. A draw not solved counts as short."""
    return joint_chance((margin,), weights)


def joint_chance(margins: Sequence[Array], weights: Floats | None = None) -> float:
    """Share of the draws in which every margin is zero or more: counted, never multiplied."""
    enough: npt.NDArray[np.bool_] = np.ones(1, dtype=bool)
    for margin in margins:
        enough = enough & (_column(margin) >= 0.0)
    if enough.size == 1:
        return float(enough[0])
    if weights is None:
        return float(np.count_nonzero(enough) / enough.size)
    return float(weights[enough].sum() / weights.sum())


def worst_along(slack: Array) -> tuple[Floats, npt.NDArray[np.intp]]:
    """The least slack along a curve, per draw, and where it is.

    ``slack``: shape (K, N), or (K,) when it is exact. Returns (worst, index), each shape (N,) (or
    (1,)). A draw with a point that is not solved is not solved: its worst is nan, and the index
    is that point.
    """
    rows = np.asarray(slack, dtype=np.float64)
    if rows.ndim == 1:
        rows = rows[:, None]
    if rows.ndim != 2 or rows.shape[0] == 0:
        raise ValueError(f"slack along a curve has shape (K, N); found {rows.shape}")
    index = np.argmin(rows, axis=0)  # the first nan counts as the least
    worst = np.take_along_axis(rows, index[None, :], axis=0)[0]
    return worst, index


def reweight(weights: Floats | None, likelihood: Floats) -> Floats:
    """Weights times likelihood, scaled to mean 1; a likelihood that is nan weighs nothing."""
    seen = np.where(np.isfinite(likelihood), likelihood, 0.0)
    if (seen < 0.0).any():
        raise ValueError("a likelihood is never negative")
    new = seen if weights is None else weights * seen
    total = new.sum()
    if not total > 0.0:
        raise ValueError("no draw agrees with what was seen")
    return np.asarray(new * (new.size / total), dtype=np.float64)


def effective_size(weights: Floats | None, n: int) -> float:
    """How many equal draws the weighted ones are worth (L. Kish, Survey Sampling, 1965)."""
    if weights is None:
        return float(n)
    return float(weights.sum() ** 2 / (weights**2).sum())
