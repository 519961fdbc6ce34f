"""How long a task takes: a triangle through its P10, mode and P90, and whole quarters of an hour.

The triangular distribution is the usual reading of low, likely and high figures of a task (D.
Vose, Risk Analysis, 3rd ed. 2008, 14.3 *from memory*); here low and high are its 10 % and 90 %
points, so that the very worst lies beyond what was said.
"""

from __future__ import annotations

from functools import lru_cache
from math import sqrt

from drybuild.work.model import QUARTERS_AN_HOUR, Hours

TAIL = 0.1
"""Share of cases below ``low``, and above ``high``."""


@lru_cache(maxsize=4096)
def ends(low: float, likely: float, high: float) -> tuple[float, float]:
    """Least and greatest value, h, of the triangle with this P10, mode and P90.

    0 ≤ low ≤ likely ≤ high. The two equations are solved by halving the ratio between the tails.
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


def quarters(hours: float) -> int:
    """Hours as whole quarters, rounded and never truncated; any work at all takes one."""
    if hours <= 0:
        return 0
    return max(1, int(hours * QUARTERS_AN_HOUR + 0.5))


def planned(hours: Hours, percentile: float) -> int:
    """Quarters that a plan gives a task; one of fixed length gets all of it."""
    return quarters(hours.high if hours.fixed else quantile(hours, percentile))
