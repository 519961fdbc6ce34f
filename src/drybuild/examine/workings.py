"""Workings of a finding: the chain of formulas and numbers behind it, from facts to margin."""

from __future__ import annotations

from collections.abc import Set
from dataclasses import dataclass, fields, is_dataclass, replace
from typing import Any

import numpy as np

from drybuild.build.declared import declaration
from drybuild.build.drawn import quantity_kind
from drybuild.examine.examination import Examination
from drybuild.examine.naming import plain_list
from drybuild.findings import Evaluation, Fact, Finding
from drybuild.findings.evaluate import Outcome
from drybuild.findings.needs import Need, fill
from drybuild.findings.registry import CheckSpec, ResultSpec
from drybuild.values import DrawnCurve, HowKnown, System, kind_named, show, shown_unit

TOGETHER = "worked out together: "
"""How it begins what a line says of figures that one step finds at once."""

AS_SET = "set as an aim, not measured"
"""What a Change sets and no reading has shown since."""


@dataclass(frozen=True, slots=True)
class Line:
    """One input of a step: its name in the formula, its address, its number, how it is known."""

    name: str
    address: str
    text: str
    known: str


@dataclass(frozen=True, slots=True)
class Step:
    """One step: what is worked out, by which formula, from what, with which result and source."""

    title: str
    address: str
    formula: str
    inputs: tuple[Line, ...]
    result: str
    source: str
    function: str


def workings(
    examination: Examination, finding: Finding, system: System = "metric"
) -> tuple[Step, ...]:
    """Every step behind a finding, each before the step that uses it; the check is last."""
    evaluation = examination.evaluation
    spec = evaluation.registry.checks[finding.check]
    steps: dict[str, Step] = {}
    for need in spec.needs.values():
        _follow(evaluation, fill(need, spec.per, finding.subject), steps, system)
    steps[finding.check] = _check_step(evaluation, spec, finding, system)
    aims = examination.state.settings.keys() - examination.state.readings.keys()
    return tuple(replace(step, inputs=_aimed(step.inputs, aims)) for step in steps.values())


def _aimed(inputs: tuple[Line, ...], aims: Set[str]) -> tuple[Line, ...]:
    """The inputs, an aim called one; what stands as found has ``base:`` and is none."""
    return tuple(
        replace(line, known=AS_SET)
        if line.address in aims and line.known == HowKnown.MEASURED.words
        else line
        for line in inputs
    )


def _follow(evaluation: Evaluation, need: Need, steps: dict[str, Step], system: System) -> None:
    source = evaluation.base if need.base else evaluation
    address = source.chosen(need)
    key = f"base:{address}" if need.base and source is not evaluation else address
    if key in steps:
        return
    found = source.registry.instances(source.facts.blends).get(address)
    if found is None or (need.optional and not source.get(address).known):
        return
    spec, subject = found
    for inner in spec.needs.values():
        filled = fill(inner, spec.per, subject)
        if need.base:
            filled = replace(filled, base=True)
        _follow(evaluation, filled, steps, system)
    steps[key] = _result_step(source, key, address, spec, subject, system)


def _result_step(
    source: Evaluation, key: str, address: str, spec: ResultSpec, subject: str, system: System
) -> Step:
    title = address.split(".", 1)[1].replace("_", " ").replace(".", " ")
    if key.startswith("base:"):
        title += ", car as found"
    formula = spec.formula or _first_line(spec.function)
    return Step(
        title, key, formula, _lines(source, spec, subject, system, key.startswith("base:")),
        shown(source.get(address), spec.kind, system), str(spec.source), spec.formula_name,
    )  # fmt: skip


def _check_step(evaluation: Evaluation, spec: CheckSpec, finding: Finding, system: System) -> Step:
    if finding.margin is None:
        result = f"unmeasured: {plain_list(finding.missing)}"
    elif finding.kind == "match":
        result = "yes" if finding.margin.median > 0 else "no"
    else:
        m = finding.margin
        result = f"margin {show(spec.kind, m.median, m.low, m.high, system=system)}"
        if finding.gap_wanted:
            wanted = show(spec.kind, finding.gap_wanted, system=system)
            result += f" beside the gap wanted of {wanted}"
    return Step(
        f"{spec.title}, {finding.place}", spec.id, spec.formula or _first_line(spec.function),
        _lines(evaluation, spec, finding.subject, system), result, str(spec.source),
        f"{spec.function.__module__}.{spec.function.__qualname__}",
    )  # fmt: skip


def _lines(
    source: Evaluation, spec: ResultSpec | CheckSpec, subject: str, system: System,
    as_found: bool = False,
) -> tuple[Line, ...]:  # fmt: skip
    found = []
    for name, need in spec.needs.items():
        filled = fill(need, spec.per, subject)
        where = source.base if filled.base else source
        address = where.chosen(filled)
        outcome = where.get(address)
        kind, known = _kind_and_known(where, address)
        text = shown(outcome, kind, system) if outcome.known else "not stated"
        prefix = "base:" if filled.base or as_found else ""
        found.append(Line(name, prefix + address, text, known))
    return tuple(found)


def _kind_and_known(source: Evaluation, address: str) -> tuple[str, str]:
    named = source.registry.instances(source.facts.blends).get(address)
    if named is not None:
        return named[0].kind, "worked out"
    declared = declaration(address)
    fact = source.facts.fact(address)
    known = fact.how.words if isinstance(fact, Fact) and fact.how is not None else ""
    if declared is None:
        return "text", known
    try:
        return quantity_kind(declared), known
    except KeyError:
        return "text", known


def shown(outcome: Outcome, kind: str, system: System) -> str:
    """An outcome in words: a number with its doubt, a word, or what an object holds."""
    value = outcome.value
    if not outcome.known:
        return f"not known: {plain_list(tuple(sorted(outcome.missing)))}"
    if isinstance(value, DrawnCurve):
        return f"a curve of {len(value.x)} points"
    if kind in ("object", "text") or isinstance(value, str | bool | tuple):
        return _object_text(value)
    array = np.asarray(value, dtype=np.float64)
    if array.ndim == 2:
        median = np.nanmedian(array, axis=1)
        low, high = float(np.nanmin(median)), float(np.nanmax(median))
        unit, label = shown_unit(kind_named(kind), max(abs(low), abs(high)), system)
        said = f"{unit.from_si(low):.3g} to {unit.from_si(high):.3g} {label}"
        return f"{said.strip()} along its curve"
    if array.ndim == 0:
        return show(kind, float(array), system=system)
    if not np.isfinite(array).any():
        return "not solved"
    low, median, high = np.nanquantile(array, (0.025, 0.5, 0.975))
    return show(kind, float(median), float(low), float(high), system=system)


def _object_text(value: Any) -> str:
    if value is None:
        return "none"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if is_dataclass(value) and not isinstance(value, type):
        named = {f.name.replace("_", " "): getattr(value, f.name) for f in fields(value)}
        return _fields_text(named)
    text = str(value)
    return text if len(text) < 80 else text[:77] + "…"


def _fields_text(held: dict[str, Any]) -> str:
    """What an object holds: its values where all are plain, else their names."""
    if all(v is None or isinstance(v, str | bool | int | float) for v in held.values()):
        told = (f"{n} {v}" for n, v in held.items() if v is not None and not isinstance(v, bool))
        return ", ".join(told)
    return TOGETHER + ", ".join(held)


def _first_line(function: Any) -> str:
    return (function.__doc__ or "").strip().split("\n")[0]
