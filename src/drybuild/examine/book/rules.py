"""Rules read against the car: jurisdiction, clause, edition; and what was not assessed."""

from __future__ import annotations

from dataclasses import dataclass

from drybuild.examine.examination import Examination
from drybuild.examine.naming import lacking_text
from drybuild.findings import Finding, Verdict
from drybuild.systems.law import rule_sets
from drybuild.systems.law.rules import AnyRule, Registered, RuleSet, applies

NEVER_ASSESSED = (
    "rust, welds and hidden damage",
    "seats, belts, airbags, glazing, lamps and their aim as fitted",
    "what comes out of the tailpipe, and noise unless a reading of it is listed",
    "how the car behaves on the road; it was driven by nobody who wrote this",
    "workmanship that no record describes",
    "full lock, and the give of rubber bushes, unless a hand check of it is listed",
)
"""What no figure of this book speaks of, whatever the rule sets say."""


@dataclass(frozen=True, slots=True)
class RuleRead:
    """One rule that concerns this car. findings: those that were held against it; empty when the
    car was not: what the rule speaks of was not asked of this build."""

    rule: AnyRule
    findings: tuple[Finding, ...]
    outside: bool
    read_by_owner: bool


@dataclass(frozen=True, slots=True)
class RulesRead:
    """One rule set with its rules. It is a reading aid: the authority's text and people decide."""

    rules: RuleSet
    read: tuple[RuleRead, ...]
    others: int


def rules_read(examination: Examination) -> tuple[RulesRead, ...]:
    """Every rule set of the build; ``others``: rules of it that do not concern this car."""
    concerned = examination.evaluation.get("law.concerned")
    car: Registered = concerned.value.car if concerned.known else Registered()
    known = rule_sets()
    found = []
    for name in examination.state.build.head.rule_sets:
        if name in known:
            rules = known[name]
            mine = [rule for rule in rules.rule if applies(rule, rules, car)]
            read = tuple(_read(rules, rule, examination, car) for rule in mine)
            found.append(RulesRead(rules, read, len(rules.rule) - len(mine)))
    return tuple(found)


def _read(rules: RuleSet, rule: AnyRule, examination: Examination, car: Registered) -> RuleRead:
    tag = f"[{rules.id}:{rule.id}]"
    lines = [(f, line) for f in examination.findings for line in f.rules if line.endswith(tag)]
    outside = any("best estimate outside" in line for _, line in lines)
    by_owner = f"{rules.id}:{rule.id}" in car.read_by_owner
    return RuleRead(rule, tuple(f for f, _ in lines), outside, by_owner)


def not_assessed(examination: Examination) -> tuple[str, ...]:
    """Findings of the car as built that nobody could work out, each with what is missing."""
    found: dict[str, list[str]] = {}
    for f in examination.findings:
        if f.verdict is Verdict.UNMEASURED:
            place = "" if f.subject == "car" else f.place
            found.setdefault(f"{f.title}: {lacking_text(f)}", []).append(place)
    return tuple(
        f"{', '.join(p for p in where if p)}: {said}" if any(where) else said
        for said, where in found.items()
    )
