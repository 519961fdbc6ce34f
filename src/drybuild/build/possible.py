"""What a figure can be: limits that stand in the facts' declarations, so that a slip of the hand is
refused wherever it is written, with what is usual beside it."""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache
from typing import Any

from drybuild.values import Value, ValueFault, parse_value, show_number, with_minus

FAR = 10.0
"""Widths of the usual range beyond its ends, where a fact declares no limits of its own."""

_FIGURES = ("exact", "normal", "lognormal", "uniform", "readings")


def cannot_be(value: Any, declared: Mapping[str, Any]) -> ValueFault | None:
    """The fault of a figure that no such thing has; None where it may be so, or is no figure.

    declared: ``possible`` and ``typical`` of the fact, texts such as ``-15 to 15 deg``.
    """
    possible, typical = declared.get("possible"), declared.get("typical")
    if not isinstance(value, Value) or value.shape not in _FIGURES or not (possible or typical):
        return None
    low, high = _limits(possible, typical, value.kind)
    if low <= value.centre <= high:
        return None
    usual = with_minus(str(typical or ""))
    expected = with_minus(str(possible)) if possible else f"near what is usual, {usual}"
    hint = f"Usual is {usual}" if possible and usual else ""
    return ValueFault(show_number(value.kind, value.centre), expected, hint)


@lru_cache(maxsize=1024)
def _limits(possible: str | None, typical: str | None, kind: str) -> tuple[float, float]:
    """SI."""
    found = parse_value(possible or typical or "", kind)
    if possible:
        return found.low, found.high
    beyond = FAR * (found.high - found.low)
    return found.low - beyond, found.high + beyond
