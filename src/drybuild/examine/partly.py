"""Part of an examination, for a picture that answers while a slider moves."""

from __future__ import annotations

import numpy as np

from drybuild.build import State
from drybuild.examine.examination import DRAWS, SEED, Examination, evaluate, refined
from drybuild.findings import Registry
from drybuild.findings.finding import assess, margins
from drybuild.findings.needs import subjects


def examine_corner(
    state: State, registry: Registry, corner: str, *, draws: int = DRAWS, seed: int = SEED
) -> Examination:
    """The checks of wheel and suspension at one corner and its axle, and nothing else.

    Of the same draws as the whole examination, so that a finding has one figure on every page. It
    has no uses: what the car may do is the whole examination's to say.
    """
    evaluation = evaluate(state, registry, draws, seed)
    here = (corner, corner.partition(".")[0])
    raw = []
    with np.errstate(all="ignore"):
        for spec in registry.checks.values():
            if spec.room in ("corners", "ride"):
                for subject in subjects(spec.per, evaluation.facts.blends):
                    found = evaluation.check(spec, subject) if subject in here else None
                    if found is not None:
                        raw.append(found)
    rows = margins(raw, draws)
    chances = refined(state, raw, rows, registry, seed, sparing=False)
    findings = tuple(assess(raw, rows, chances))
    return Examination(state, seed, draws, findings, (), rows, evaluation)
