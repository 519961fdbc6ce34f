"""Whose the doubt of a difference is, where a figure is moved that was a guess before."""

from __future__ import annotations

from collections.abc import Iterable

from drybuild.build import Change, State
from drybuild.build.drawn import DrawnFacts
from drybuild.build.state import addresses_of
from drybuild.examine.lookup import Present
from drybuild.examine.naming import plain_name
from drybuild.examine.opened import OpenBuild
from drybuild.findings import Fact
from drybuild.values import Draws, HowKnown


def doubt_before(opened: OpenBuild, start: State, changes: Iterable[Change]) -> tuple[str, ...]:
    """A sentence for each figure that is set and that was only guessed in the state before: the
    move is exact, what it starts from is not. start: the state before."""
    facts = DrawnFacts(start, Draws(64))
    present = Present(opened, opened.build.head.units)
    said: dict[str, None] = {}
    for change in changes:
        if change.kind != "set":
            continue
        for address in addresses_of(opened.build, change.target)[:1]:
            fact = facts.fact(address)
            if isinstance(fact, Fact) and fact.how is HowKnown.ASSUMED:
                said[_sentence(change.target, present.at(address, start))] = None
    return tuple(said)


def _sentence(target: str, stood: str) -> str:
    return (
        f"the {plain_name(target)} before it is a guess ({stood}): the doubt of what moves is that "
        "of the guess, not of what is set"
    )
