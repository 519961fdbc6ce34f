"""The exceptions of drybuild, drawn once, here.

    DrybuildError                     everything that drybuild raises on purpose
    └── Fault                         a fault in what a person wrote: found, expected, hint
        └── ValueFault                a value that cannot be read
            ├── UnitFault             a unit that is unknown, or belongs to another quantity
            │   ├── AmbiguousUnit     a unit that means more than one thing; lists the choices
            │   └── DashSizeFault     a dash size where a length is wanted; lists the bores
            ├── MethodFault           a way of measuring that is unknown or does not suit
            └── CurveFault            a curve that cannot be read

Floors above add their own branches under ``Fault`` or ``DrybuildError``.
"""

from __future__ import annotations


def brief(raw: object) -> str:
    """What was found, as it may be shown: short, and never an error of its own."""
    try:
        return _short(repr(raw))
    except ValueError:  # a whole number with too many digits to print
        return f"{type(raw).__name__} of great length"


def _short(text: str, most: int = 160) -> str:
    """A text of bearable length: what was found may be a whole page."""
    return text if len(text) <= most else f"{text[: most - 4]} ..."


class DrybuildError(Exception):
    """Everything that drybuild raises on purpose."""


class Fault(DrybuildError):
    """A fault in what a person wrote. It says what was found, what was expected, and a hint."""

    def __init__(self, found: str, expected: str, hint: str = "") -> None:
        self.found = _short(found)
        self.expected = expected
        self.hint = _short(hint, 700)
        super().__init__(self.found, self.expected, self.hint)

    def __str__(self) -> str:
        text = f"found {self.found}; expected {self.expected}"
        return f"{text}. {self.hint}" if self.hint else text


class ValueFault(Fault):
    """A value that cannot be read."""


class UnitFault(ValueFault):
    """A unit that is unknown, missing, or belongs to another quantity."""


class AmbiguousUnit(UnitFault):
    """A unit that means more than one thing in a garage. The hint lists the choices."""


class DashSizeFault(UnitFault):
    """A dash size where a length is wanted. A dash size is not a bore."""


class MethodFault(ValueFault):
    """A way of measuring that is unknown, or does not suit the quantity."""


class CurveFault(ValueFault):
    """A curve that cannot be read."""
