"""What an unmeasured finding wants to know, and under which address that is written down."""

from __future__ import annotations

from collections.abc import Collection

from drybuild.build.declared import declaration, inner_model
from drybuild.examine.examination import Examination
from drybuild.examine.lookup import Present, takes, where_words
from drybuild.examine.measuring import note_as
from drybuild.examine.naming import plain_name, wanted
from drybuild.examine.opened import OpenBuild
from drybuild.findings import Finding, Verdict

IN_HAND = "part."


def wanting(examination: Examination, finding: Finding) -> tuple[tuple[str, str], ...]:
    """(words, address) of each fact that is missing; of those of which any one would do, the first
    that a reading can state."""
    found: dict[str, str] = {}
    for missing in wanted(finding.missing):
        for one in missing.split("|"):
            address = _noted_at(examination, one)
            if address:
                found.setdefault(address, plain_name(one.removeprefix("base:")))
                break
    return tuple((words, address) for address, words in found.items())


def still_wanted(
    examination: Examination, written: Collection[str]
) -> dict[str, dict[str, str]]:
    """What is missing still for the checks that ask for what was just written, and stop a use:
    by the title of each, address → words."""
    there = {one for address in written for one in _places(examination, address)}
    evaluation, found = examination.evaluation, dict[str, dict[str, str]]()
    for f in examination.findings:
        if f.verdict is not Verdict.UNMEASURED or not f.stopping or f.beyond:
            continue
        if there.isdisjoint(evaluation.asked(evaluation.registry.checks[f.check], f.subject)):
            continue
        for words, address in wanting(examination, f):
            if address not in written:
                found.setdefault(f.title, {})[address] = words
    return found


def resting(examination: Examination, address: str) -> list[Finding]:
    """The findings that rest on a fact, and the unmeasured ones that ask for it, the heaviest
    first."""
    there = frozenset(_places(examination, address))
    named = {*there, *(f"base:{one}" for one in there if not address.startswith(IN_HAND))}
    evaluation = examination.evaluation

    def asks(f: Finding) -> bool:
        # Of what is stated a check that lacks something else says nothing.
        spec = evaluation.registry.checks[f.check]
        return f.verdict is Verdict.UNMEASURED and not there.isdisjoint(
            evaluation.asked(spec, f.subject)
        )

    found = [f for f in examination.findings if named & f.facts or asks(f)]
    return sorted(found, key=lambda f: f.weight)


def read_at_places(opened: OpenBuild, address: str) -> str:
    """What was read of a part where it is on the car, by its places, in words; else empty.

    Its own file says nothing of that: a reading is of the one that was in hand.
    """
    if not address.startswith(IN_HAND):
        return ""
    state, present = opened.present.state, Present(opened, opened.build.head.units)
    where: dict[str, list[str]] = {}
    _, part, *path = address.split(".")
    for place in (p for p, fitted in state.fitted.items() if fitted == part):
        one = ".".join((place, *path))
        if one in state.readings:
            where.setdefault(present.at(one, state), []).append(where_words(one))
    return "; ".join(f"{', '.join(filter(None, at))} {said}".strip() for said, at in where.items())


def _places(examination: Examination, address: str) -> tuple[str, ...]:
    """The address; of a part's, that at each place where the part is fitted."""
    if not address.startswith(IN_HAND):
        return (address,)
    _, part, *path = address.split(".")
    fitted = examination.state.fitted.items()
    return tuple(".".join((place, *path)) for place, one in fitted if one == part)


def _noted_at(examination: Examination, address: str) -> str:
    """Empty for a result, a curve, a table, and a place where nothing is fitted."""
    plain = address.removeprefix("base:")
    declared = declaration(plain)
    if declared is None or inner_model(declared.field.annotation) is not None:
        return ""
    state, as_found = examination.state, plain != address
    fitted = state.base_fitted if as_found else state.fitted
    if takes(declared).startswith("a curve") or fitted.get(declared.owner, "") is None:
        return ""
    return note_as(declared, examination, as_found=as_found)
