"""Sums of correlated times in closed form: what the draws must agree with.

Each time is a function of a standard normal z, ``G(z)``, and the z of two tasks have correlation r.
With the coefficients ``c[k]`` of G over normalised Hermite polynomials, the covariance of two times
is the sum over k ≥ 1 of ``c[k] d[k] r^k`` (Mehler's formula: P. Biller and B. L. Nelson, ACM Trans.
Model. Comput. Simul. 13 (2003) 211-237 *from memory*).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import lru_cache

import numpy as np
import numpy.typing as npt
from scipy.special import ndtri

from drybuild.work.durations import mean, times
from drybuild.work.model import Hours

Floats = npt.NDArray[np.float64]

DEGREE = 8
POINTS = 20_000


@lru_cache(maxsize=4096)
def coefficients(hours: Hours) -> tuple[float, ...]:
    """Hermite coefficients 1 to ``DEGREE`` of a time as function of its standard normal z, h.

    The midpoint rule in the chance, which the triangle's kink does not disturb; the mean is taken
    off first, since the rule cuts the polynomials' tails.
    """
    chance = (np.arange(POINTS) + 0.5) / POINTS
    z, time = ndtri(chance), times(hours, chance) - mean(hours)
    before, now = np.ones_like(z), z
    found = []
    for degree in range(1, DEGREE + 1):
        found.append(float(np.mean(time * now)))
        before, now = now, (z * now - np.sqrt(degree) * before) / np.sqrt(degree + 1)
    return tuple(found)


def covariance(one: Hours, other: Hours, r: float) -> float:
    """Covariance of two times, h², whose standard normal z have correlation r, −1 < r < 1."""
    pairs = zip(coefficients(one), coefficients(other), strict=True)
    return float(sum(c * d * r**k for k, (c, d) in enumerate(pairs, 1)))


def total(
    hours: Sequence[Hours], people: Sequence[float], weights: Sequence[Mapping[str, float]],
    variances: Sequence[float],
) -> tuple[float, float]:  # fmt: skip
    """Mean, h, and standard deviation, h, of the sum of people × time over tasks.

    weights: of each task's common factors, as ``doubts.weights``. variances: of each time by
    itself, h². Source: variance of a sum, Σ σ² + 2 Σ cov.
    """
    names = sorted({name for row in weights for name in row})
    loads = np.array([[row.get(name, 0.0) for name in names] for row in weights])
    loads = loads.reshape(len(hours), len(names))
    r = loads @ loads.T
    scale = np.array(people, dtype=float)
    c = np.array([coefficients(h) for h in hours]).reshape(len(hours), DEGREE) * scale[:, None]
    shared = sum(np.outer(c[:, k], c[:, k]) * r ** (k + 1) for k in range(DEGREE))
    both = np.asarray(shared, dtype=float)
    np.fill_diagonal(both, np.array(variances) * scale**2)
    middle = sum(n * mean(h) for n, h in zip(people, hours, strict=True))
    return float(middle), float(np.sqrt(both.sum()))
