"""Limits against what was found: each finding of the car as built, and the readings under it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from drybuild.examine.book.readings import Taken
from drybuild.examine.examination import Examination
from drybuild.examine.workings import Line, workings
from drybuild.findings import Finding
from drybuild.findings.registry import ResultSpec
from drybuild.values import System

MOST_INPUTS = 4
"""A check of more inputs is a calculation: its readings are named, its steps are in workings."""


@dataclass(frozen=True, slots=True)
class Limit:
    """A finding with what it rests on. inputs: its figures, where they are few and plain;
    readings: numbers of the measured figures under it."""

    finding: Finding
    inputs: tuple[Line, ...]
    readings: tuple[int, ...]


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
    return Limit(finding, lines if len(lines) <= MOST_INPUTS else (), behind)


def _is_plain(line: Line, results: Mapping[str, tuple[ResultSpec, str]]) -> bool:
    """A figure or a word that somebody can read; not what only a formula takes."""
    named = results.get(line.address.removeprefix("base:"))
    if named is not None and named[0].kind in ("object", "text"):
        return False
    return bool(line.known) and line.text not in ("not stated", "none")
