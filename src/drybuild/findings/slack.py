"""What a check's function may return besides a plain array of slack."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Final

import numpy as np
import numpy.typing as npt


class _NotApplicable:
    """The check does not concern this car (no finding is made)."""

    def __repr__(self) -> str:
        return "NOT_APPLICABLE"


NOT_APPLICABLE: Final = _NotApplicable()


@dataclass(frozen=True)
class Along:
    """Slack along a curve: per draw only its worst point counts (DESIGN §6).

    slack: (K, N) in SI; at: (K,) where along the curve; kind: the kind of ``at``.
    found, low, high: the figure along the curve that the check is about, and its ends, SI (None:
    no such end); found_kind: their kind, where it is not that of the slack.
    """

    slack: npt.NDArray[np.float64]
    at: npt.NDArray[np.float64]
    kind: str
    found: Any = None
    low: Any = None
    high: Any = None
    found_kind: str = ""

    def worst(self, n: int) -> npt.NDArray[np.intp]:
        """Place along the curve where each of n draws has least; what is not solved has none."""
        slack = np.broadcast_to(np.asarray(self.slack, dtype=np.float64), (self.at.shape[0], n))
        with np.errstate(invalid="ignore"):
            index: npt.NDArray[np.intp] = np.argmin(
                np.where(np.isnan(slack), -np.inf, slack), axis=0
            )
        return index


@dataclass(frozen=True)
class RuleSlack:
    """Slack against written rules: the strictest applicable, with how its limit is known.

    slack: (N,) or float, SI; rule: the binding rule as text; memory: its limit is recalled, not
    read, so that it can never be *enough*; shown: every applicable rule as one line each;
    value, low, high: what the binding rule is held against, and its ends, SI (None: no such end).
    """

    slack: Any
    rule: str
    memory: bool
    shown: tuple[str, ...] = ()
    value: Any = None
    low: Any = None
    high: Any = None


def matches(same: Any) -> Any:
    """Slack of a yes/no check: +1 where it matches, −1 where it does not (kind ``match``)."""
    return np.where(np.asarray(same, dtype=bool), 1.0, -1.0)
