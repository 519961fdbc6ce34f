"""Findings that are open, folded by what settles them: the ones that stop a use come first."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from drybuild.build.model import Part
from drybuild.examine import Measurement
from drybuild.examine.naming import worth_asking
from drybuild.findings import Finding
from drybuild.show.sentences import measurement_text

READ_RULE = "a rule, read"
NARROWER = "other figures, each of its own"
ONLY_CHANGED = "a change of parts or aims"
"""What settles findings on which no measurement of the list bears."""


@dataclass(frozen=True)
class Fold:
    """Open findings that one thing bears on: what it is, and where it is written down if it is a
    measurement."""

    what: str
    at: str
    findings: tuple[Finding, ...]

    @property
    def stopping(self) -> int:
        """How many of them stop a use."""
        return sum(f.stopping and bool(f.stops) for f in self.findings)

    @property
    def counted(self) -> str:
        """How many it bears on: ``40, each stops a use``."""
        many, stopping = len(self.findings), self.stopping
        if stopping == many:
            return f"{many}, {'it stops' if many == 1 else 'each stops'} a use"
        if not stopping:
            return f"{many}, {'it stops' if many == 1 else 'they stop'} nothing"
        return f"{many}, {stopping} of them {'stops' if stopping == 1 else 'stop'} a use"


def folded(
    findings: Sequence[Finding], measurements: Sequence[Measurement], parts: Mapping[str, Part]
) -> tuple[Fold, ...]:
    """Every finding once: under the first measurement of the list that bears on it, else under what
    else may settle it. Folds with most that stop a use come first, those without a measurement
    last."""
    by: dict[int, list[Finding]] = {}
    rest: dict[str, list[Finding]] = {}
    bears = [frozenset(m.findings) for m in measurements]
    for f in findings:
        key = (f.check, f.subject)
        at = next((n for n, those in enumerate(bears) if key in those), None)
        if at is None:
            rest.setdefault(_else(f), []).append(f)
        else:
            by.setdefault(at, []).append(f)
    measured = [
        Fold(measurement_text(measurements[n], parts), measurements[n].note_as, _first(those))
        for n, those in sorted(by.items())
    ]
    others = [Fold(what, "", _first(those)) for what, those in rest.items()]
    return tuple(fold for folds in (measured, others) for fold in sorted(folds, key=_most))


def at_a_glance(folds: Sequence[Fold], *, first: int = 3) -> str:
    """How far the first few measurements reach: ``3 measurements bear on 52 of the 198``."""
    whole = sum(len(f.findings) for f in folds)
    few = [f for f in folds if f.at][:first]
    reach = sum(len(f.findings) for f in few)
    if not few:
        return ""
    many = "The first measurement bears" if len(few) == 1 else (
        f"The first {len(few)} measurements bear"
    )
    stopping = sum(f.stopping for f in folds)
    tail = f" {stopping} of the {whole} stop a use." if stopping else ""
    return f"{many} on {reach} of the {whole}.{tail}"


def _else(finding: Finding) -> str:
    if finding.settles_by == "reading the rule":
        return READ_RULE
    if finding.settles_by == "a change" or not worth_asking(finding):
        return ONLY_CHANGED
    return NARROWER


def _first(findings: Sequence[Finding]) -> tuple[Finding, ...]:
    """Those that stop a use first, else in their order."""
    return tuple(sorted(findings, key=lambda f: not (f.stopping and f.stops)))


def _most(fold: Fold) -> tuple[int, int]:
    return -fold.stopping, -len(fold.findings)
