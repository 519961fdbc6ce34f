"""The words of the kernel: verdicts, consequences, uses and where a statement comes from.

Uses and their prerequisites are data (``uses.toml``); see DESIGN idea 4.
"""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from enum import StrEnum
from functools import cache
from importlib.resources import files
from typing import Literal

Per = Literal["car", "axle", "corner", "blend"]
How = Literal["read", "computed", "memory", "practice"]

AXLES = ("front", "rear")
SIDES = ("left", "right")
CORNERS = tuple(f"{axle}.{side}" for axle in AXLES for side in SIDES)


class Verdict(StrEnum):
    """What a finding says: room enough, cannot tell, not enough, or not known at all."""

    ENOUGH = "enough"
    UNSURE = "unsure"
    SHORT = "short"
    UNMEASURED = "unmeasured"


class Consequence(StrEnum):
    """What happens to car or people if the margin is not there."""

    INJURY = "injury"
    ENGINE = "engine"
    DAMAGE = "damage"
    LAW = "law"
    NUISANCE = "nuisance"

    @property
    def wanted_chance(self) -> float:
        """Share of draws in which the margin must be there for *enough* (DESIGN §6)."""
        return 0.99 if self in (Consequence.INJURY, Consequence.ENGINE) else 0.95

    @property
    def unsure_stops(self) -> bool:
        """Whether *unsure* alone stops a use."""
        return self in (Consequence.INJURY, Consequence.ENGINE, Consequence.LAW)


@dataclass(frozen=True)
class Source:
    """Where a formula, a limit or a rule is written.

    ``how`` says how we have it: read (in the document or a copy), computed (from definitions),
    memory (recalled, to be read again), practice (a fact of the trade, no source).
    """

    document: str
    edition: str = ""
    clause: str = ""
    how: How = "memory"

    def __str__(self) -> str:
        text = ", ".join(part for part in (self.document, self.edition, self.clause) if part)
        return f"{text} (from memory)" if self.how == "memory" else text


class RangeNote(str):
    """A note that a formula's input left its range in some draws; SI, for faces to convert.

    It reads as a sentence by itself. key: the input's name in the formula; low, high: the range;
    share: of draws outside it; addresses: where the input comes from, first known one first.
    """

    key: str
    low: float
    high: float
    share: float
    addresses: tuple[str, ...]

    def __new__(
        cls, key: str, low: float, high: float, share: float, addresses: tuple[str, ...]
    ) -> RangeNote:
        note = super().__new__(
            cls, f"{key.replace('_', ' ')} outside {low:g} to {high:g} (SI) in {share:.0%} of draws"
        )
        note.key, note.low, note.high, note.share = key, low, high, share
        note.addresses = addresses
        return note


PRACTICE = Source("common practice, no source", how="practice")


@dataclass(frozen=True)
class Use:
    """Something the car may do, and what must be allowed before it.

    without: another use, and what is left of this one where that is stopped.
    """

    name: str
    needs: tuple[str, ...]
    meaning: str
    without: tuple[tuple[str, str], ...] = ()


@cache
def uses() -> tuple[Use, ...]:
    """The uses in order, each behind its prerequisites, as read from ``uses.toml``."""
    data = tomllib.loads(files(__package__).joinpath("uses.toml").read_text(encoding="utf-8"))
    known: list[Use] = []
    for row in data["use"]:
        without = tuple(row.get("without", {}).items())
        use = Use(row["name"], tuple(row["needs"]), row["meaning"], without)
        for need in (*use.needs, *(other for other, _ in without)):
            if need not in {u.name for u in known}:
                raise ValueError(f"uses.toml: {use.name!r} needs {need!r}, which is not above it")
        known.append(use)
    return tuple(known)


@cache
def use_closure(name: str) -> frozenset[str]:
    """A use and all that must be allowed before it."""
    by_name = {u.name: u for u in uses()}
    found = {name}
    for need in by_name[name].needs:
        found |= use_closure(need)
    return frozenset(found)


@cache
def stopped_with(names: tuple[str, ...]) -> frozenset[str]:
    """All uses that stop when each of ``names`` stops: those and what needs them."""
    return frozenset(u.name for u in uses() if use_closure(u.name) & set(names))
