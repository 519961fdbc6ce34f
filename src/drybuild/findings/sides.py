"""The two figures that a check's room lies between: what was found, and what limits it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from drybuild.findings.between import worth
from drybuild.findings.errors import FormulaRefused
from drybuild.findings.registry import CheckSpec
from drybuild.findings.slack import NOT_APPLICABLE, Along, RuleSlack


@dataclass(frozen=True, slots=True)
class Sides:
    """found: (N,) or float, SI; low, high: what it must not be below and above, None where there
    is no such end; kind: of all three; is_room: what was found is the room itself."""

    found: Any
    low: Any = None
    high: Any = None
    kind: str = ""
    is_room: bool = False


def sides(spec: CheckSpec, arguments: Mapping[str, Any]) -> Sides | None:
    """The figures of a check with these inputs, along a curve those of its worst point; None where
    it has no answer or names none."""
    try:
        with np.errstate(all="ignore"):
            slack = spec.function(**arguments)
    except (FormulaRefused, ArithmeticError):
        return None
    if slack is NOT_APPLICABLE:
        return None
    if isinstance(slack, RuleSlack):
        if slack.value is not None:
            return Sides(slack.value, slack.low, slack.high, spec.kind)
        slack = slack.slack
    if isinstance(slack, Along) and slack.found is not None:
        return _at_worst(slack, slack.found_kind or spec.kind)
    if spec.between is None:
        return None
    if isinstance(slack, Along):
        slack = _picked(slack.slack, slack)
    held = spec.between
    return Sides(
        slack if held.found is None else worth(held.found, arguments),
        worth(held.low, arguments), worth(held.high, arguments), held.kind or spec.kind,
        held.found is None,
    )  # fmt: skip


def _at_worst(along: Along, kind: str) -> Sides:
    found, low, high = (_picked(v, along) for v in (along.found, along.low, along.high))
    return Sides(found, low, high, kind)


def _picked(value: Any, along: Along) -> Any:
    """A figure along a curve where the room is least, drawing by drawing."""
    array = np.asarray(value, dtype=np.float64)
    if value is None or array.ndim < 2:
        return value
    shape = np.broadcast_shapes(array.shape, np.atleast_2d(along.slack).shape)
    index = along.worst(shape[1])
    return np.broadcast_to(array, shape)[index, np.arange(shape[1])]
