"""What the room of a check lies between: the figure that the check is about, and its limit.

A check's function answers with their difference alone; here it names the two, so that whoever
signs for the car sees both.
"""

from __future__ import annotations

import inspect
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from drybuild.findings.errors import RegistrationError

Side = str | float | tuple[str, float] | Callable[..., Any]
"""An input by its name; a constant of the check; an input, and what counts where nobody stated it;
or a function of inputs, whose arguments are named as they are."""


@dataclass(frozen=True, slots=True)
class Between:
    """found: the figure itself, None where it is the room; low, high: what it must not be below
    and above; kind: of these figures, where it is not that of the room."""

    found: Side | None
    low: Side | None = None
    high: Side | None = None
    kind: str = ""


LEFT = Between(found=None, low=0.0)
"""The room is the figure itself: a gap, of which some must be left."""


def not_above(found: Side, limit: Side, *, kind: str = "") -> Between:
    """What a figure must not exceed."""
    return Between(found, high=limit, kind=kind)


def not_below(found: Side, limit: Side, *, kind: str = "") -> Between:
    """What a figure must reach."""
    return Between(found, low=limit, kind=kind)


def inside(found: Side, low: Side, high: Side, *, kind: str = "") -> Between:
    """Both ends of a figure."""
    return Between(found, low, high, kind)


def worth(side: Side | None, given: Mapping[str, Any]) -> Any:
    """What a side is worth with these inputs, SI."""
    if isinstance(side, str):
        return given[side]
    if isinstance(side, tuple):
        name, otherwise = side
        return otherwise if given[name] is None else given[name]
    if callable(side):
        return side(**{name: given[name] for name in inspect.signature(side).parameters})
    return side


def check_named(check: str, between: Between | None, needs: Mapping[str, Any]) -> None:
    """Refuses a side that names what is no input of the check."""
    for name in _named(between):
        if name not in needs:
            raise RegistrationError(f"{check}: its figure or limit names {name!r}, no input")


def _named(between: Between | None) -> Iterator[str]:
    for side in (between.found, between.low, between.high) if between is not None else ():
        if isinstance(side, str):
            yield side
        elif isinstance(side, tuple):
            yield side[0]
        elif callable(side):
            yield from inspect.signature(side).parameters
