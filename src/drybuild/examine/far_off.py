"""Figures of a part that lie far outside what is usual: most often a unit that was mistaken.

A figure is held to the usual range that its model names, else to that of the standard parts of its
kind. Far is our own measure: ten times. What is a ratio has no unit to mistake and is left alone.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

import numpy as np

from drybuild.build import Build, Change
from drybuild.build.declared import Declared, declared_addresses, field_kind
from drybuild.build.drawn import DrawnFacts
from drybuild.build.kinds import places
from drybuild.findings import Fact
from drybuild.values import KINDS, Draws, System, parse_value, show_number

FAR: Final = 10.0
"""Times; cc/min and L/h are 17 apart, bar and kPa 100, inch and mm 25."""


def far_off(build: Build, part: str, system: System = "metric") -> tuple[str, ...]:
    """Of each such figure of a part: what it is and what is usual, in words."""
    kind = getattr(build.parts[part], "kind", "")
    place = next((p for p in places().values() if p.kind == kind), None)
    if place is None:
        return ()
    owner = place.instances[0]
    others = [i for i, p in build.parts.items()
              if p.standard and i != part and getattr(p, "kind", "") == kind]  # fmt: skip
    own, draws = _facts(build, owner, part, Draws()), Draws()
    standard = [_facts(build, owner, other, draws) for other in others]
    return tuple(
        said for declared in declared_addresses().values()
        if declared.owner == owner and (said := _said(declared, own, standard, system))
    )  # fmt: skip


def _facts(build: Build, owner: str, part: str, draws: Draws) -> DrawnFacts:
    return DrawnFacts(build.base_state.after([Change("fit", owner, part)]), draws)


def _said(
    declared: Declared, own: DrawnFacts, standard: list[DrawnFacts], system: System
) -> str:
    kind = field_kind(declared.field)
    if kind is None or KINDS[kind].dimensionless:
        return ""
    least, figure, most = next(_figures(declared, [own]), (0.0, 0.0, 0.0))
    low, high, words = _usual(declared, kind, standard, system)
    if least <= 0.0 or low <= 0.0:
        return ""
    middle = (low * high) ** 0.5
    above = least > max(high, middle * FAR)
    if not above and most >= min(low, middle / FAR):
        return ""
    times = f"more than {FAR:g} times" if above else "less than a tenth of"
    name = declared.plain[:1].upper() + declared.plain[1:]
    is_now = show_number(kind, figure, system, size=middle)
    return f"{name}, {is_now}, is {times} what is {words}: look at its unit."


def _usual(
    declared: Declared, kind: str, standard: list[DrawnFacts], system: System
) -> tuple[float, float, str]:
    """Ends of what it is held to, SI, and that in words; zeros where there is nothing."""
    if declared.typical is not None:
        value = parse_value(declared.typical, kind)
        return *value.interval, f"usual, {declared.typical}"
    found = sorted(middle for _, middle, _ in _figures(declared, standard))
    if not found:
        return 0.0, 0.0, ""
    ends = dict.fromkeys(show_number(kind, one, system) for one in (found[0], found[-1]))
    return found[0], found[-1], f"standard here, {' to '.join(ends)}"


def _figures(
    declared: Declared, sources: list[DrawnFacts]
) -> Iterator[tuple[float, float, float]]:
    """Low end, middle and high end of what stands in each, where a figure does."""
    for facts in sources:
        fact = facts.fact(declared.address)
        if isinstance(fact, Fact) and isinstance(fact.value, np.ndarray | float | int):
            column = np.asarray(fact.value, dtype=np.float64)
            low, middle, high = (float(q) for q in np.nanquantile(column, (0.025, 0.5, 0.975)))
            yield low, middle, high
