"""Findings, uses and holds in short sentences (DESIGN §11)."""

from __future__ import annotations

from drybuild.examine import Examination, Fix, Measurement, UseState
from drybuild.findings import Finding, Verdict
from drybuild.findings.words import Consequence
from drybuild.values import System, show

RANK = {c: i for i, c in enumerate(Consequence)}
VERDICT_RANK = {Verdict.SHORT: 0, Verdict.UNMEASURED: 1, Verdict.UNSURE: 2, Verdict.ENOUGH: 3}


def by_weight(finding: Finding) -> tuple[int, int, float]:
    """Sort key: what hurts most first, then what is surest to be short."""
    chance = finding.chance if finding.chance is not None else 0.5
    return VERDICT_RANK[finding.verdict], RANK[finding.consequence], chance


def stopping(examination: Examination) -> list[Finding]:
    """Findings that stop something, the heaviest first."""
    return sorted((f for f in examination.findings if f.stopping), key=by_weight)


def first_of_each(findings: list[Finding]) -> list[tuple[Finding, str]]:
    """One finding a check, the heaviest, with the places where the same check stops as well."""
    places: dict[str, list[Finding]] = {}
    for finding in findings:
        places.setdefault(finding.check, []).append(finding)
    found = []
    for same in places.values():
        others = [f.place for f in same[1:] if f.subject != "car"]
        found.append((same[0], f"also {', '.join(others)}" if others else ""))
    return found


def where(finding: Finding) -> str:
    """The place before a sentence, with a colon; empty for the car."""
    return "" if finding.subject == "car" else f"{finding.place}: "


def headline(finding: Finding) -> str:
    """What is the matter, in one line, without its number."""
    if finding.verdict is Verdict.SHORT:
        return f"{where(finding)}{finding.when_short}"
    return f"{where(finding)}{finding.title}"


def margin_text(finding: Finding, system: System) -> str:
    """The margin as a builder says it, with its doubt and the chance."""
    if finding.margin is None:
        return f"unmeasured: {', '.join(finding.missing)}"
    if finding.kind == "match":
        return "matches" if finding.margin.median > 0 else "does not match"
    m = finding.margin
    if m.low < 0 < m.high:
        said = show(finding.kind, abs(m.median), system=system)
        ends = (show(finding.kind, e, system=system) for e in (-m.low, m.high))
        side = "short" if m.median < 0 else "to spare"
        worst, best = ends
        amount = f"about {said} {side}, from {worst} short to {best} to spare"
    elif m.median < 0:
        amount = "short by " + show(finding.kind, -m.median, -m.high, -m.low, system=system)
    else:
        amount = "room to spare " + show(finding.kind, m.median, m.low, m.high, system=system)
    return f"{amount}; {chance_text(finding.chance)}"


def chance_text(chance: float | None) -> str:
    """``enough in 97 of 100``; the ends are said as such, never as 0 or 100 of 100 alone."""
    if chance is None:
        return ""
    if chance >= 0.995:
        return "enough in all but a few draws" if chance < 1 else "enough in every draw"
    if chance <= 0.005:
        return "enough in hardly any draw" if chance > 0 else "enough in no draw"
    return f"enough in {round(chance * 100)} of 100"


def joint_text(chance: float | None) -> str:
    """A joint chance as ``81 in 100``."""
    if chance is None:
        return "nothing to count"
    if 0 < chance < 0.005:
        return "less than 1 in 100"
    if 0.995 <= chance < 1:
        return "more than 99 in 100"
    return f"{round(chance * 100)} in 100"


def use_reason(use: UseState) -> str:
    """Why a use is stopped, in a few words; empty when nothing recorded stops it."""
    direct = [h for h in use.holds if not h.through]
    if not use.holds:
        return ""
    if not direct:
        through = dict.fromkeys(h.through for h in use.holds)
        return f"needs {' and '.join(through)} first"
    checks = dict.fromkeys(h.check for h in direct)
    more = len(checks) - 1
    return f"{direct[0].why}, {more} more" if more else direct[0].why


def measurement_text(m: Measurement) -> str:
    """One line on what to measure."""
    name = m.input.replace("_", " ").replace(".", " ")
    settled = "1" if round(m.settles) == 1 else f"{m.settles:.2g}"
    sides = ", both sides" if m.both_sides else ""
    return (
        f"{name}, {m.tool}, {m.minutes} min{sides}: "
        f"expected to settle {settled} of {m.of} open questions"
    )


def fix_text(fix: Fix) -> str:
    """A fix in one line."""
    return " and ".join(fix.titles)
