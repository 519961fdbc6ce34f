"""How likely something that wears fails within a time, given what it has behind it.

Lives are Weibull: of those that wear like this, a share ``exp(−(x/life)^shape)`` has not failed
after x (W. Weibull, J. Appl. Mech. 18 (1951) 293-297). What it will do from now on depends on what
it has done: the conditional form (R. B. Abernethy, The New Weibull Handbook, 5th ed. 2006, ch. 2
*from memory*). Distance and age wear it apart from each other; it fails by whichever comes first.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from math import exp, expm1


@dataclass(frozen=True, slots=True)
class Clock:
    """One way of wearing: life (63 % have failed by then), what is behind it, what is to come; all
    in the same unit, km or years."""

    life: float
    used: float
    more: float


def fails_within(shape: float, clocks: Iterable[Clock]) -> float:
    """Chance, 0 to 1, of failing in what is to come, not having failed so far.

    shape: of the Weibull life, above 0. By each clock ``1 − exp((used/life)^shape −
    ((used + more)/life)^shape)``; not to fail is not to fail by any.
    """
    hazard = 0.0
    for clock in clocks:
        used, then = clock.used / clock.life, (clock.used + clock.more) / clock.life
        hazard += then**shape - used**shape
    return -expm1(-hazard)


def survives(shape: float, life: float, used: float) -> float:
    """Share that has not failed after ``used``, same unit as ``life``."""
    return exp(-((used / life) ** shape))
