"""Conditions as they are written in the library and in a build's folder.

undertray            the component is off
alternator:aside     it is moved aside, or off
wheels_front:on      it is fitted
tool:lift            the work session has it
use:turn over        nothing stops that use
clear:coolant_low    that effect is not pending
a + b                both of them
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import Literal

TermKind = Literal["off", "on", "aside", "tool", "use", "clear"]
FORMS = "a component, component:on, component:aside, tool:NAME, use:NAME or clear:EFFECT"


@dataclass(frozen=True, slots=True)
class Term:
    """One condition as written. ``aside``: moved aside or off, whichever it happens to be."""

    kind: TermKind
    name: str


@lru_cache(maxsize=4096)
def read_way(text: str) -> tuple[Term, ...]:
    """The terms of one alternative. Raises ValueError, which says what was expected."""
    return tuple(_term(piece.strip()) for piece in text.split(" + "))


def _term(text: str) -> Term:
    before, colon, after = (piece.strip() for piece in text.partition(":"))
    if not colon and before:
        return Term("off", before)
    if before in ("tool", "use", "clear") and after:
        return Term(before, after)  # type: ignore[arg-type]
    if before and after in ("on", "aside"):
        return Term(after, before)  # type: ignore[arg-type]
    raise ValueError(FORMS)
