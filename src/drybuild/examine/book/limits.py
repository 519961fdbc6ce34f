"""Limits against what was found: each finding of the car as built, and the readings under it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from drybuild.examine.book.readings import Taken
from drybuild.examine.examination import Examination
from drybuild.examine.workings import Line, kind_of, workings
from drybuild.findings import Evaluation, Finding
from drybuild.findings.registry import ResultSpec
from drybuild.findings.sides import Sides, sides
from drybuild.values import System

POINTS = {
    "pressure_difference": ("pressure_absolute", "pressure_gauge"),
    "temperature_difference": ("temperature",),
}
"""Kind of a difference → kinds of the figures that it is between."""

MOST_INPUTS = 4
"""A check of more inputs is a calculation: its readings are named, its steps are in workings."""


@dataclass(frozen=True, slots=True)
class Limit:
    """A finding with what it rests on. inputs: its figures, where they are few and plain;
    readings: numbers of the measured figures under it; sides: the limit and what was found, where
    its room is the difference of two figures, of this kind."""

    finding: Finding
    inputs: tuple[Line, ...]
    readings: tuple[int, ...]
    sides: Sides | None
    kind: str


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
    return Limit(finding, few, behind, *_sides(examination.evaluation, finding))


def _sides(evaluation: Evaluation, finding: Finding) -> tuple[Sides | None, str]:
    """What the room is between, and the kind of both."""
    if finding.slack is None or finding.kind == "match":
        return None, finding.kind
    spec = evaluation.registry.checks[finding.check]
    given = evaluation.inputs(spec, finding.subject)
    found = sides(spec, {name: outcome.value for name, outcome in given.items()})
    if found is None:
        return None, finding.kind
    behind = found.found_from | found.limit_from
    kinds = {kind_of(evaluation, spec, name, finding.subject) for name in behind}
    points = (kind for kind in POINTS.get(finding.kind, ()) if kind in kinds)
    return found, next(points, finding.kind)


def _is_plain(line: Line, results: Mapping[str, tuple[ResultSpec, str]]) -> bool:
    """A figure or a word that somebody can read; not what only a formula takes."""
    named = results.get(line.address.removeprefix("base:"))
    if named is not None and named[0].kind in ("object", "text"):
        return False
    return bool(line.known) and line.text not in ("not stated", "none")
