"""Limits against what was found: each finding of the car as built, and the readings under it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from drybuild.examine.book.readings import Taken
from drybuild.examine.examination import Examination
from drybuild.examine.workings import Line, workings
from drybuild.findings import Evaluation, Finding
from drybuild.findings.registry import ResultSpec
from drybuild.findings.sides import Sides, sides
from drybuild.values import System

MOST_INPUTS = 4
"""A check of more inputs is a calculation: its readings are named, its steps are in workings."""


@dataclass(frozen=True, slots=True)
class Limit:
    """A finding with what it rests on. inputs: its figures, where they are few and plain;
    readings: numbers of the measured figures under it; sides: the limit and what was found, None
    of what must only agree or nobody has measured; share_of: what its percents are of."""

    finding: Finding
    inputs: tuple[Line, ...]
    readings: tuple[int, ...]
    sides: Sides | None
    share_of: str


def limits(
    examination: Examination, readings: tuple[Taken, ...], system: System
) -> tuple[Limit, ...]:
    """Every finding that a change of the car concerns, in the order of the systems."""
    numbers = {address: t.number for t in readings for address in t.addresses}
    return tuple(_limit(examination, f, numbers, system) for f in examination.findings if f.armed)


def _limit(
    examination: Examination, finding: Finding, numbers: dict[str, int], system: System
) -> Limit:
    plain = {a.removeprefix("base:") for a in finding.facts}
    behind = tuple(sorted({numbers[a] for a in plain if a in numbers}))
    steps = workings(examination, finding, system)
    known = examination.evaluation.registry.instances(examination.evaluation.facts.blends)
    lines = tuple(line for line in steps[-1].inputs if _is_plain(line, known))
    few = lines if len(lines) <= MOST_INPUTS else ()
    share_of = examination.evaluation.registry.checks[finding.check].share_of
    return Limit(finding, few, behind, _sides(examination.evaluation, finding), share_of)


def _sides(evaluation: Evaluation, finding: Finding) -> Sides | None:
    """What the room is between."""
    if finding.slack is None or finding.kind == "match":
        return None
    spec = evaluation.registry.checks[finding.check]
    given = evaluation.inputs(spec, finding.subject)
    return sides(spec, {name: outcome.value for name, outcome in given.items()})


def _is_plain(line: Line, results: Mapping[str, tuple[ResultSpec, str]]) -> bool:
    """A fact that somebody stated and can read; not what was worked out of others, not whether
    something is there at all, nor by which name the folder knows a part."""
    address = line.address.removeprefix("base:")
    if address in results or address.endswith(".part"):
        return False
    if line.text in ("not stated", "none", "yes", "no") or line.text.startswith("a curve"):
        return False
    return bool(line.known)
