"""The two figures that a check's slack lies between: what was found, and what limits it.

A check's function answers with their difference alone. Here it is worked out once more with
arrays that remember the last subtraction, so that no check has to say the same thing twice.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from drybuild.findings.errors import FormulaRefused
from drybuild.findings.registry import CheckSpec
from drybuild.findings.slack import RuleSlack

FloatArray = npt.NDArray[np.float64]

LIMITS = (
    "limit", "ceiling", "least", "greatest", "lowest", "highest", "largest", "smallest", "most",
    "rated", "capacity", "allowed", "permitted", "target", "strength", "rims",
)  # fmt: skip
"""Words in an input's name by which it is what another figure must keep to."""


@dataclass(frozen=True, slots=True)
class Sides:
    """found: (N,) or float, SI; low, high: what it must not be below and above, None where there
    is no such end; found_from, limit_from: inputs of the check behind each."""

    found: Any
    low: Any = None
    high: Any = None
    found_from: frozenset[str] = frozenset()
    limit_from: frozenset[str] = frozenset()


class _Traced(np.ndarray[Any, Any]):
    """An array that knows from which inputs it came and, after a subtraction or as the lesser of
    two, of which two."""

    names: frozenset[str]
    terms: tuple[_Traced, _Traced] | None
    lesser: tuple[_Traced, _Traced] | None

    def __array_finalize__(self, other: Any) -> None:
        self.names = getattr(other, "names", frozenset())
        self.terms = self.lesser = None

    def __array_ufunc__(self, ufunc: Any, method: str, *given: Any, **asked: Any) -> Any:
        bare = [np.asarray(one) if isinstance(one, _Traced) else one for one in given]
        asked.pop("out", None)
        found = getattr(ufunc, method)(*bare, **asked)
        if not isinstance(found, np.ndarray | np.floating | float):
            return found
        behind = frozenset().union(*(getattr(one, "names", frozenset()) for one in given))
        made = _traced(found, behind)
        if method == "__call__" and ufunc in (np.subtract, np.minimum):
            first, second = (
                one if isinstance(one, _Traced) else _traced(one, frozenset()) for one in given
            )
            if ufunc is np.subtract:
                made.terms = (first, second)
            else:
                made.lesser = (first, second)
        return made


def _traced(value: Any, names: frozenset[str]) -> _Traced:
    made = np.asarray(value, dtype=np.float64).view(_Traced)
    made.names = names
    return made


def sides(spec: CheckSpec, arguments: Mapping[str, Any]) -> Sides | None:
    """The two figures of a check with these inputs; None where its slack is no such difference."""
    watched = {
        name: _traced(value, frozenset({name})) if _is_figure(value) else value
        for name, value in arguments.items()
    }
    try:
        with np.errstate(all="ignore"):
            slack = spec.function(**watched)
    except (FormulaRefused, ArithmeticError, TypeError, ValueError):
        return None
    if isinstance(slack, RuleSlack):
        if slack.value is None:
            return None
        return Sides(_bare(slack.value), _bare(slack.low), _bare(slack.high))
    return _between(slack) if isinstance(slack, _Traced) else None


def _between(slack: _Traced) -> Sides | None:
    """What an array is the difference of, or the lesser of two such with one figure in both."""
    if slack.terms is not None:
        return _which(*slack.terms)
    first, second = map(_between, slack.lesser) if slack.lesser is not None else (None, None)
    if first is None or second is None:
        return None
    below, above = (second, first) if first.low is None else (first, second)
    if below.low is None or above.high is None or not np.array_equal(below.found, above.found):
        return None
    return Sides(below.found, below.low, above.high, below.found_from,
                 below.limit_from | above.limit_from)  # fmt: skip


def _which(first: _Traced, second: _Traced) -> Sides | None:
    """Room is the first less the second: which of them is the limit, their inputs' names tell.

    What comes from no input is a constant of the check; where no name tells, the second is what
    the first must not be below.
    """
    if any(not one.names and one.size > 1 for one in (first, second)):
        return None
    limits_first, limits_second = _limits(first), _limits(second)
    if limits_first and not limits_second:
        return Sides(_bare(second), high=_bare(first), found_from=second.names,
                     limit_from=first.names)  # fmt: skip
    return Sides(_bare(first), low=_bare(second), found_from=first.names, limit_from=second.names)


def _limits(one: _Traced) -> bool:
    return not one.names or any(set(name.split("_")) & set(LIMITS) for name in one.names)


def _is_figure(value: Any) -> bool:
    plain = isinstance(value, int | float) and not isinstance(value, bool)
    return plain or (isinstance(value, np.ndarray) and value.dtype.kind == "f")


def _bare(value: Any) -> Any:
    return np.asarray(value) if isinstance(value, _Traced) else value
