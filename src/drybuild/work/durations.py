"""How long a task takes: a triangle through its P10, mode and P90, and whole quarters of an hour.

Low, likely and high are said by people, and people leave out the very best and the very worst. So
low and high are read as the points that one case in ten lies below and above, and the triangle
reaches beyond them. That a triangle is fixed by its mode and two quantiles is in S. Kotz and J. R.
van Dorp, Beyond Beta (2004), ch. 1; that people's "least" and "most" are about their 10 % and 90 %
points is the usual finding with estimates (D. L. Keefer and S. E. Bodily, Management Science 29
(1983) 595-609). Both *from memory*; that it holds for work on cars is common practice.

A triangle whose lower end would lie below 0 is cut there: its lowest cases take no time at all.
"""

from __future__ import annotations

from functools import lru_cache
from math import log, sqrt

import numpy as np
import numpy.typing as npt

from drybuild.work.model import QUARTERS_AN_HOUR, Hours

Floats = npt.NDArray[np.float64]

TAIL = 0.1
"""Share of cases below ``low``, and above ``high``."""

Z_TAIL = 1.2815515655446004
"""Standard normal point that a share ``TAIL`` lies above."""


@lru_cache(maxsize=4096)
def ends(low: float, likely: float, high: float) -> tuple[float, float]:
    """Least and greatest value, h, of the triangle with this P10, mode and P90.

    0 ≤ low ≤ likely ≤ high. The two equations are solved by halving the ratio between the tails.
    The least may come out below 0.
    """
    if low == high:
        return low, high
    left, right = likely - low, high - likely
    # With width w and mode at distance p from the least value: (p - left)² = TAIL w p and
    # (w - p - right)² = TAIL w (w - p). For each share p/w the tails follow; find that share.
    share_low, share_high = 0.0, 1.0
    for _ in range(200):
        share = (share_low + share_high) / 2
        # p(1 - sqrt(TAIL / share)) = left, when share > TAIL; else the mode lies below P10
        wanted_left = share - sqrt(TAIL * share)
        wanted_right = (1 - share) - sqrt(TAIL * (1 - share))
        if wanted_left * right > wanted_right * left:
            share_high = share
        else:
            share_low = share
    width = (left + right) / (1 - sqrt(TAIL * share) - sqrt(TAIL * (1 - share)))
    least = likely - share * width
    return least, least + width


def quantile(hours: Hours, chance: float) -> float:
    """The time, h, that the task keeps within with this chance (0 to 1)."""
    least, greatest = ends(hours.low, hours.likely, hours.high)
    if least == greatest:
        return least
    share = (hours.likely - least) / (greatest - least)
    if chance <= share:
        return max(0.0, least + sqrt(chance * (greatest - least) * (hours.likely - least)))
    return greatest - sqrt((1 - chance) * (greatest - least) * (greatest - hours.likely))


def times(hours: Hours, chances: Floats) -> Floats:
    """``quantile`` of many chances at once, h, same shape."""
    least, greatest = ends(hours.low, hours.likely, hours.high)
    if least == greatest:
        return np.full(chances.shape, least)
    width, left = greatest - least, hours.likely - least
    rising = least + np.sqrt(chances * (width * left))
    falling = greatest - np.sqrt((1.0 - chances) * (width * (width - left)))
    return np.maximum(0.0, np.where(chances * width <= left, rising, falling))


@lru_cache(maxsize=4096)
def mean(hours: Hours) -> float:
    """Mean of the time, h. Triangle: (least + likely + greatest) / 3, and what the cut at 0 adds.

    What is cut: the integral of the distribution function from the least to 0.
    """
    least, greatest = ends(hours.low, hours.likely, hours.high)
    if least == greatest:
        return least
    added = 0.0
    if least < 0.0:
        added = -(least**3) / (3 * (greatest - least) * (hours.likely - least))
    return (least + hours.likely + greatest) / 3 + added


@lru_cache(maxsize=4096)
def variance(hours: Hours) -> float:
    """Variance of the time, h². Triangle: (a² + b² + c² − ab − ac − bc) / 18 (any handbook)."""
    a, c = ends(hours.low, hours.likely, hours.high)
    if a == c:
        return 0.0
    b = hours.likely
    whole = (a * a + b * b + c * c - a * b - a * c - b * c) / 18
    if a >= 0.0:
        return whole
    # the second moment loses what lies below 0; the mean is that of the cut triangle
    second = whole + ((a + b + c) / 3) ** 2 - a**4 / (6 * (c - a) * (b - a))
    return second - mean(hours) ** 2


def log_spread(hours: Hours) -> float:
    """Spread of ln(time): that of the lognormal with this P10 and P90; 0 for a fixed length.

    A low of next to nothing counts as a twentieth of the high.
    """
    if hours.fixed:
        return 0.0
    return log(hours.high / max(hours.low, hours.high / 20)) / (2 * Z_TAIL)


def quarters(hours: float) -> int:
    """Hours as whole quarters, rounded and never truncated; any work at all takes one."""
    if hours <= 0:
        return 0
    return max(1, int(hours * QUARTERS_AN_HOUR + 0.5))


def planned(hours: Hours, percentile: float) -> int:
    """Quarters that a plan gives a task; one of fixed length gets all of it."""
    return quarters(hours.high if hours.fixed else quantile(hours, percentile))
