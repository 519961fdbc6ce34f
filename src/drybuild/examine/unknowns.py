"""Biggest unknowns: which inputs cause most of a finding's doubt.

Each draw column's effect on the margin is estimated from the same draws, by projection on Hermite
polynomials of its normal scores: own effects for every finding, total effects (with what inputs
do in pairs) for the undecided ones; what neither explains is kept as the remainder.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
from scipy.special import ndtr, ndtri

from drybuild.build.declared import declaration
from drybuild.findings import Evaluation, Finding, Missing, Unknown, Verdict
from drybuild.values import Draws, HowKnown, shares, shares_many

SHOWN = 8
"""Unknowns kept per finding."""

ENOUGH_DRAWS = 2048
"""Draws used for the own effects of every finding; undecided ones use all."""

STRONGEST = 4
"""Inputs of an undecided finding that are looked at in pairs."""

LEAST = 0.01
"""Shares below this are not worth a line."""

ColumnKey = tuple[str, int]


def with_unknowns(
    findings: list[Finding], rows: npt.NDArray[np.float64], evaluation: Evaluation
) -> list[Finding]:
    """The findings with their biggest unknowns filled in."""
    columns = _columns(findings, evaluation)
    keys = tuple(sorted({key for used in columns.values() for key in used}))
    if not keys:
        return findings
    at = {key: index for index, key in enumerate(keys)}
    reach = {address: [at[key] for key in used] for address, used in columns.items()}
    mask = np.zeros((len(findings), len(keys)), dtype=bool)
    for index, finding in enumerate(findings):
        facts = finding.facts & reach.keys()
        mask[index, [k for address in facts for k in reach[address]]] = True
    measured = np.array([f.margin is not None and f.kind != "match" for f in findings])
    solved = np.isfinite(rows).sum(axis=1) > 1
    spread = np.zeros(len(rows))
    with np.errstate(invalid="ignore"):  # a draw without bound spoils its row: no shares are said
        spread[measured & solved] = np.nanstd(rows[measured & solved], axis=1)
    chosen = np.flatnonzero(measured & (spread > 0) & mask.any(axis=1))
    if not len(chosen):
        return findings
    draws: Draws = evaluation.facts.draws  # type: ignore[attr-defined]
    # A share is said in whole percent, for which half of the draws are plenty.
    n = min(rows.shape[1], ENOUGH_DRAWS)
    scores = draws.hermites(keys, n)
    effect = shares_many(rows[chosen, :n], scores, mask[chosen])
    found = list(findings)
    known_by = _known_by(reach, len(keys))
    best = np.argsort(-effect, axis=1)[:, :SHOWN].tolist()
    own = np.take_along_axis(effect, np.array(best), axis=1).tolist()
    rests = np.maximum(0.0, 1.0 - effect.sum(axis=1)).tolist()
    for place, index in enumerate(chosen.tolist()):
        order, share, rest = best[place], own[place], rests[place]
        if findings[index].verdict is Verdict.UNSURE:
            # Undecided: what inputs do together counts as well (total effects).
            normal = np.stack([draws.normal(*keys[k]) for k in order])
            full = shares(rows[index], normal, strongest=STRONGEST)
            share, rest = full.total.tolist(), full.remainder
        facts = findings[index].facts
        # A reading has a column for its tool and one for itself: said once, as what was read.
        of: dict[str, float] = {}
        for k, s in zip(order, share, strict=True):
            if s >= LEAST and mask[index, k]:
                name = next(a for a in known_by[k] if a in facts)
                of[name] = of.get(name, 0.0) + s
        told = sorted(
            (Unknown(name, s, _how(name, evaluation)) for name, s in of.items()),
            key=lambda u: -u.share,
        )
        finding = found[index].but(unknowns=tuple(told), remainder=rest)
        found[index] = finding.but(settles_by=_settles_by(finding, spread[index]))
    return found


def _settles_by(finding: Finding, spread: float) -> str:
    """Whether measuring what can be measured would settle an unsure finding, or only a change.

    Normal approximation: with a share s of the variance removed by measuring, the margin's centre
    may move by √s of its spread and √(1 − s) remains; the more likely outcome is said.
    """
    if finding.verdict is not Verdict.UNSURE or finding.margin is None or finding.settles_by:
        return finding.settles_by
    share = min(sum(u.share for u in finding.unknowns if _can_be_measured(u.input)), 0.98)
    if share <= 0:
        return "a change"
    centre, level = finding.margin.median, ndtri(finding.consequence.wanted_chance)
    moves, left = spread * share**0.5, spread * (1 - share) ** 0.5
    chance = ndtr((centre - level * left) / moves) + ndtr((-centre - level * left) / moves)
    return "measuring" if chance >= 0.5 else "a change"


def _can_be_measured(address: str) -> bool:
    declared = declaration(address.removeprefix("base:"))
    return declared is not None and declared.measure is not None


def _how(address: str, evaluation: Evaluation) -> HowKnown | None:
    plain = address.removeprefix("base:")
    fact = (evaluation.base if plain != address else evaluation).facts.fact(plain)
    return None if isinstance(fact, Missing) else fact.how


def _columns(findings: list[Finding], evaluation: Evaluation) -> dict[str, tuple[ColumnKey, ...]]:
    """Draw columns behind each fact that any finding rests on; facts without doubt left out."""
    found = {}
    for address in {a for f in findings for a in f.facts}:
        plain = address.removeprefix("base:")
        source = evaluation.base if address != plain else evaluation
        fact = source.facts.fact(plain)
        if not isinstance(fact, Missing) and fact.columns:
            found[address] = fact.columns
    return found


def _known_by(reach: dict[str, list[int]], columns: int) -> list[list[str]]:
    """For each draw column its addresses, the one it is best known by first."""
    found: list[list[str]] = [[] for _ in range(columns)]
    for address in sorted(reach, key=lambda a: (a.startswith("base:"), a)):
        for column in reach[address]:
            found[column].append(address)
    return found
