"""Findings: a check's outcome with its numbers, verdict and reasons, frozen."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any, Literal

import numpy as np
import numpy.typing as npt

from drybuild.findings.evaluate import RawFinding, beyond
from drybuild.findings.words import Consequence, Source, Verdict, stopped_with
from drybuild.values import HowKnown, quantiles

FloatArray = npt.NDArray[np.float64]

WaitsFor = Literal["", "measuring", "a better word", "narrowing", "reading the rule"]
"""What is not known yet, of a finding that stops a use for nothing else."""

RECALLED = "the limit is recalled, not read: read the rule itself"
BEST_ESTIMATE = 0.5
"""Below this chance the median, our best estimate, lies outside a limit of law."""

HEAVIEST = (Verdict.SHORT, Verdict.UNMEASURED, Verdict.UNSURE, Verdict.ENOUGH)
CONSEQUENCES = tuple(Consequence)

RESTS_ON_ASSUMED = "a guess is in it, and someone can be hurt"

DO_NOT_GO = "their figures do not go together; measuring what it rests on mends that"
"""Of draws that find no answer: they join figures that no one thing has."""


@dataclass(frozen=True, slots=True)
class Interval:
    """Median and 95 % interval, SI."""

    median: float
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class Unknown:
    """An input, the share of the margin's variance it causes (total effect), how it is known."""

    input: str
    share: float
    known: HowKnown | None = None


@dataclass(frozen=True)
class Finding:
    """What a check says of one place in one state. (check, subject) is unique.

    kind: kind of quantity of slack and margin (SI); chance: share of draws with margin ≥ 0.
    settles_by: ``measuring``, ``a change``, ``reading the rule`` or empty. remainder: share of the
    variance that no single unknown explains. touched: facts that armed it. guesses: of one that is
    open for guesses alone, the assumed facts, what its doubt comes from first.
    """

    check: str
    subject: str
    system: str
    title: str
    verdict: Verdict
    consequence: Consequence
    stops: tuple[str, ...]
    armed: bool
    kind: str
    slack: Interval | None
    margin: Interval | None
    gap_wanted: float | None
    chance: float | None
    source: Source
    pose: str
    when_short: str
    do: str
    safety: str
    missing: tuple[str, ...] = ()
    outside_range: tuple[str, ...] = ()
    lowest_known: HowKnown | None = None
    settles_by: str = ""
    unknowns: tuple[Unknown, ...] = ()
    remainder: float = 0.0
    touched: tuple[str, ...] = ()
    facts: frozenset[str] = frozenset()
    worst_at: Interval | None = None
    worst_kind: str = ""
    rules: tuple[str, ...] = ()
    why: str = ""
    guesses: tuple[str, ...] = ()

    @property
    def place(self) -> str:
        """The subject in words: ``rear left``, ``front``, a blend's id, or ``car``."""
        return self.subject.replace(".", " ")

    @property
    def said_short(self) -> str:
        """What is the matter where it is short. Things that are apart, if by less than is wanted,
        are not said to meet."""
        apart = self.slack is not None and self.slack.median > 0 and self.gap_wanted
        gap = self.check.endswith("_gap") and self.kind == "length"
        if apart and gap and self.when_short != self.title:
            return f"{self.title}, less than the gap that is wanted"
        return self.when_short

    @property
    def weight(self) -> tuple[int, int, float]:
        """Sort key: short before unmeasured before unsure, of each what hurts most, and then what
        is surest to be short."""
        chance = self.chance if self.chance is not None else 0.5
        return HEAVIEST.index(self.verdict), CONSEQUENCES.index(self.consequence), chance

    @property
    def stopping(self) -> bool:
        """Whether this finding stops a use in the state it was made for."""
        if not self.armed:
            return False
        if self.verdict in (Verdict.SHORT, Verdict.UNMEASURED):
            return True
        return self.verdict is Verdict.UNSURE and self.consequence.unsure_stops

    @property
    def beyond(self) -> tuple[str, ...]:
        """What of the missing nobody can measure, in words; empty where all of it can be."""
        return tuple(one for one in self.missing if beyond(one))

    @property
    def waits_for(self) -> WaitsFor:
        """What it stops a use for, where that is only something not known yet; else empty.

        ``measuring``: an input that nobody has measured; ``a better word``: enough as guessed, and
        someone can be hurt; ``narrowing``: guesses leave it open, the best of them says enough;
        ``reading the rule``: inside a limit that was recalled. What is short, or open with nothing
        guessed in it, is no such thing: only a change or the work itself cures it.
        """
        if not self.stopping or self.verdict is Verdict.SHORT:
            return ""
        if self.verdict is Verdict.UNMEASURED:
            # Stated figures that make an arithmetic error would be short as columns of draws.
            return "" if self.beyond else "measuring"
        if self.why in (RECALLED, RESTS_ON_ASSUMED):
            return "reading the rule" if self.why == RECALLED else "a better word"
        guessed = self.lowest_known is HowKnown.ASSUMED
        likely = self.chance is not None and self.chance >= BEST_ESTIMATE
        return "narrowing" if guessed and likely else ""

    @property
    def guessed_match(self) -> bool:
        """Whether two things do not match, and one of them is a guess that has no doubt to show."""
        guessed = self.lowest_known is HowKnown.ASSUMED
        return self.verdict is Verdict.SHORT and self.kind == "match" and guessed

    @property
    def stopped_uses(self) -> frozenset[str]:
        """All uses it stops, prerequisites followed."""
        return stopped_with(self.stops) if self.stopping else frozenset()

    def but(self, **changes: Any) -> Finding:
        """The same finding with some fields replaced.

        Copies the fields at once: dataclasses.replace would set each of thirty by hand, hundreds
        of times an examination.
        """
        made = object.__new__(Finding)
        made.__dict__.update(self.__dict__, **changes)
        return made


def margins(raw: list[RawFinding], n: int) -> FloatArray:
    """The margins of all measured findings, (F, N); a row of NaN where unmeasured.

    Draws that are not solved or not finite are NaN (or −inf), so that they count as short.
    """
    rows = np.full((len(raw), n), np.nan)
    for row, item in zip(rows, raw, strict=True):
        if item.slack is not None:
            np.subtract(item.slack, item.gap, out=row)
            row[row == np.inf] = np.nan  # a formula that ran away has found no room
    return rows


def assess(
    raw: list[RawFinding],
    rows: FloatArray,
    chances: FloatArray | None = None,
    weights: FloatArray | None = None,
) -> list[Finding]:
    """Findings from raw outcomes.

    rows: margins (F, N); chances: refined ones (F,), or NaN; weights (N,) of the draws, when
    records have re-weighed them (uniform when left out).
    """
    if weights is None:
        low, median, high = np.concatenate([
            [_ranked(ordered, q) for q in (0.025, 0.5, 0.975)]
            # NaN go last, so the low end stays visible
            for ordered in (np.sort(some, axis=1) for some in _some_rows(rows))
        ], axis=1)  # fmt: skip
        counted = np.mean(rows >= 0, axis=1)
    else:
        ends = np.stack([quantiles(row, (0.025, 0.5, 0.975), weights) for row in rows])
        low, median, high = ends.T
        counted = (rows >= 0) @ (weights / weights.sum())
    unsolved = np.isnan(rows).mean(axis=1)
    if chances is not None:
        counted = np.where(np.isnan(chances), counted, chances)
    return [
        _finding(item, Interval(float(m), float(lo), float(h)), float(c), float(u))
        for item, m, lo, h, c, u in zip(raw, median, low, high, counted, unsolved, strict=True)
    ]


def _some_rows(rows: FloatArray) -> Iterator[FloatArray]:
    """The rows, so many at a time that a copy of them weighs little; none at all once."""
    for start in range(0, max(len(rows), 1), 32):
        yield rows[start : start + 32]


def verdict_of(item: RawFinding, chance: float) -> tuple[Verdict, str]:
    """The verdict (DESIGN §6) and, where a rule overrode the plain chance, why."""
    consequence = item.spec.consequence
    wanted = consequence.wanted_chance
    if consequence is Consequence.LAW:
        return _law_verdict(item, chance)
    if chance <= 1 - wanted:
        return Verdict.SHORT, ""
    if chance < wanted:
        return Verdict.UNSURE, ""
    if consequence is Consequence.INJURY and item.outcome.lowest is HowKnown.ASSUMED:
        return Verdict.UNSURE, RESTS_ON_ASSUMED
    return Verdict.ENOUGH, ""


def _law_verdict(item: RawFinding, chance: float) -> tuple[Verdict, str]:
    """As written: best estimate outside is short, inside without 95 % is unsure."""
    if chance < BEST_ESTIMATE:
        return Verdict.SHORT, ""
    if chance < item.spec.consequence.wanted_chance:
        return Verdict.UNSURE, "inside, but an inspector's instrument may differ"
    if item.rule is not None and item.rule.memory:
        return Verdict.UNSURE, RECALLED
    return Verdict.ENOUGH, ""


def _finding(item: RawFinding, margin: Interval, chance: float, unsolved: float) -> Finding:
    spec, outcome = item.spec, item.outcome
    plain = Finding(
        check=spec.id, subject=item.subject, system=spec.room, title=spec.title,
        verdict=Verdict.UNMEASURED, consequence=spec.consequence, stops=spec.stops,
        armed=bool(outcome.touched), kind=spec.kind, slack=None, margin=None,
        gap_wanted=None, chance=None, source=spec.source, pose=spec.pose,
        when_short=item.when_short or spec.when_short, do=spec.do, safety=spec.safety,
        missing=tuple(sorted(outcome.missing)), outside_range=tuple(sorted(outcome.notes)),
        lowest_known=outcome.lowest, touched=tuple(sorted(outcome.touched)),
        facts=outcome.facts,
    )  # fmt: skip
    if item.slack is None:
        return plain
    gap = item.gap if isinstance(item.gap, float) else float(np.median(item.gap))
    verdict, why = verdict_of(item, chance)
    slack = Interval(margin.median + gap, margin.low + gap, margin.high + gap)
    if isinstance(item.gap, np.ndarray):
        q = np.nanquantile(item.slack, (0.5, 0.025, 0.975))
        slack = Interval(float(q[0]), float(q[1]), float(q[2]))
    worst = None
    if item.worst is not None:
        w = np.quantile(item.worst, (0.5, 0.025, 0.975), method="nearest")
        worst = Interval(float(w[0]), float(w[1]), float(w[2]))
    notes = plain.outside_range
    if unsolved > 0:
        share = 100.0 * unsolved
        said = f"{share:.0f}" if share >= 1.0 else f"{share:.1g}"
        notes += (f"{said} in 100 have no answer and count as short: {DO_NOT_GO}",)
    return plain.but(
        verdict=verdict, slack=slack, margin=margin, gap_wanted=gap, chance=chance, why=why,
        outside_range=notes, settles_by="reading the rule" if why == RECALLED else "",
        worst_at=worst, worst_kind=item.worst_kind,
        rules=item.rule.shown if item.rule is not None else (),
    )  # fmt: skip


def _ranked(ordered: FloatArray, q: float) -> FloatArray:
    n = ordered.shape[1]
    count = n - np.isnan(ordered).sum(axis=1)
    index = np.clip(np.round(q * (count - 1)).astype(int), 0, n - 1)
    return ordered[np.arange(len(ordered)), index]  # type: ignore[no-any-return]
