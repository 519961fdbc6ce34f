"""Runs every check on a state and gathers findings, uses and joint chances."""

from __future__ import annotations

import threading
from collections import deque
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt

from drybuild.build import State
from drybuild.build.drawn import DrawnFacts
from drybuild.examine.guesses import with_guesses
from drybuild.examine.unknowns import with_unknowns
from drybuild.examine.uses import UseState, use_states
from drybuild.findings import Consequence, Evaluation, Finding, RawFinding, Registry, Verdict
from drybuild.findings.finding import BEST_ESTIMATE, assess, margins
from drybuild.findings.needs import subjects
from drybuild.findings.words import stopped_with
from drybuild.values import Draws
from drybuild.values.memory import give_back

FloatArray = npt.NDArray[np.float64]

DRAWS = 4096
SEED = 2026

MORE = 4
"""How many times more draws a finding near its threshold gets, so that verdicts do not flicker."""


@dataclass(frozen=True)
class Examination:
    """Everything the checks say of one state, frozen.

    findings: in the order of the registry; uses: with what stops each; margins: (F, N) in SI, a
    row of NaN where unmeasured; evaluation: the results behind them, for workings.
    """

    state: State
    seed: int
    draws: int
    findings: tuple[Finding, ...]
    uses: tuple[UseState, ...]
    margins: FloatArray
    evaluation: Evaluation

    @property
    def is_present(self) -> bool:
        """Whether the state is the car as it stands, so that records owed stop uses."""
        return self.state.name == "now"

    def finding(self, check: str, subject: str) -> Finding:
        """The finding of a check at a subject. Raises KeyError."""
        for item in self.findings:
            if item.check == check and item.subject == subject:
                return item
        raise KeyError(f"no finding {check} {subject}")

    def use(self, name: str) -> UseState:
        """What is known of one use. Raises KeyError."""
        for item in self.uses:
            if item.use == name:
                return item
        raise KeyError(f"no use {name!r}")

    @cached_property
    def counts(self) -> dict[Verdict, int]:
        """How many findings say what."""
        return {v: sum(f.verdict is v for f in self.findings) for v in Verdict}

    @cached_property
    def joint_chance(self) -> float | None:
        """Share of draws in which every measured, armed finding is enough at once."""
        return joint(self.margins, [f.armed and f.margin is not None for f in self.findings])

    @cached_property
    def joint_by_system(self) -> dict[str, float]:
        """The same within each system."""
        found = {}
        for system in dict.fromkeys(f.system for f in self.findings):
            chosen = [f.system == system and f.margin is not None for f in self.findings]
            share = joint(self.margins, chosen)
            if share is not None:
                found[system] = share
        return found


def joint(rows: FloatArray, chosen: list[bool]) -> float | None:
    """Share of draws in which all chosen rows are ≥ 0; None when none is chosen."""
    mask = np.asarray(chosen, dtype=bool)
    if not mask.any():
        return None
    return float(np.mean(np.all(rows[mask] >= 0, axis=0)))


def examine_state(
    state: State,
    registry: Registry,
    *,
    draws: int = DRAWS,
    seed: int = SEED,
    refine: bool = True,
    unknowns: bool = True,
    sparing: bool = False,
    asked: frozenset[str] | None = None,
) -> Examination:
    """Run every check of the registry on a state.

    refine: rerun findings near a threshold with more draws; unknowns: work out which inputs cause
    the doubt (both are left out where a search runs many states). sparing: hold a third of the
    memory meanwhile, and take twice the time. asked: uses that matter; checks that bear on none of
    them are left out, and so are the other uses.
    """
    evaluation = evaluate(state, registry, draws, seed, sparing=sparing)
    raw = run_checks(evaluation, registry, sparing=sparing, asked=asked)
    rows = margins(raw, draws)
    if not unknowns:
        evaluation.forget()  # a state among many: what it says is read, and seldom the rest
    chances = refined(state, raw, rows, registry, seed, sparing) if refine else None
    findings = assess(raw, rows, chances)
    if unknowns:
        findings = with_guesses(with_unknowns(findings, rows, evaluation), evaluation)
    found = use_states(state, findings, rows, registry)
    if asked is not None:
        found = tuple(use for use in found if use.use in asked)
    return Examination(state, seed, draws, tuple(findings), found, rows, evaluation)


def evaluate(
    state: State,
    registry: Registry,
    draws: int,
    seed: int,
    typical: frozenset[str] = frozenset(),
    *,
    sparing: bool = False,
) -> Evaluation:
    """An evaluation of a state, with the car as found beside it; with ``sparing``, one of its own
    that is dropped with it."""
    columns = Draws(draws, seed)
    if sparing:
        base = Evaluation(registry, DrawnFacts(state.base, columns, typical), draws)
    else:
        base = _as_found(state, registry, columns, typical)
    return Evaluation(registry, DrawnFacts(state, columns, typical), draws, base)


def _as_found(
    state: State, registry: Registry, columns: Draws, typical: frozenset[str]
) -> Evaluation:
    """The car as found, which is the same beside every state of a build: kept for the next one."""
    with _KEEPING:
        for source, kept in _BASES:
            if (
                kept.registry is registry and _of_one_base(source.state, state)
                and (kept.n, source.draws.seed) == (columns.n, columns.seed)
                and source.typical == typical
            ):  # fmt: skip
                return kept
        source = DrawnFacts(state.base, columns, typical)
        made = Evaluation(registry, source, columns.n)
        if columns.n <= DRAWS and not typical:
            _BASES.append((source, made))
        return made


def _of_one_base(one: State, other: State) -> bool:
    return (
        one.build is other.build and one.base_fitted == other.base_fitted
        and one.base_readings == other.base_readings
    )  # fmt: skip


_KEEPING = threading.Lock()
_BASES: deque[tuple[DrawnFacts, Evaluation]] = deque(maxlen=2)
"""Cars as found, of the build examined last: with few draws and with all."""


def forget() -> None:
    """Drop what is kept for the next examination: columns of draws, and cars as found."""
    Draws.forget()
    with _KEEPING:
        _BASES.clear()


def run_checks(
    evaluation: Evaluation,
    registry: Registry,
    *,
    sparing: bool = False,
    asked: frozenset[str] | None = None,
) -> list[RawFinding]:
    """Every check at every subject, in the order of registration.

    sparing: drop the facts and results of a room with its checks; the next room makes anew what it
    asks for. asked: leave out checks that stop none of these uses, nor what they need.
    """
    found = []
    room = ""
    with np.errstate(all="ignore"):
        for spec in registry.checks.values():
            if asked is not None and not stopped_with(spec.stops) & asked:
                continue
            if sparing and spec.room != room:
                _lighten(evaluation)
            room = spec.room
            for subject in subjects(spec.per, evaluation.facts.blends):
                item = evaluation.check(spec, subject)
                if item is not None:
                    found.append(item)
    if sparing:
        _lighten(evaluation)
    return found


def _lighten(evaluation: Evaluation) -> None:
    """Drop what an evaluation and the car as found beside it hold, and hand the memory back."""
    for one in (evaluation, evaluation.base):
        one.forget()
        if isinstance(one.facts, DrawnFacts):
            one.facts.forget()
    give_back()


def refined(
    state: State,
    raw: list[RawFinding],
    rows: FloatArray,
    registry: Registry,
    seed: int,
    sparing: bool,
) -> FloatArray:
    """Chances of findings near a threshold, from more draws; NaN for the others."""
    n = rows.shape[1]
    chances = np.mean(rows >= 0, axis=1)
    found = np.full(len(raw), np.nan)
    near = []
    for index, item in enumerate(raw):
        wanted = item.spec.consequence.wanted_chance
        band = np.sqrt(wanted * (1 - wanted) / n)  # wide: these draws do better than chance ones
        law = item.spec.consequence is Consequence.LAW
        edges = np.array([wanted, BEST_ESTIMATE if law else 1 - wanted])
        if item.slack is not None and np.any(np.abs(chances[index] - edges) < band):
            near.append(index)
    if near:
        more = evaluate(state, registry, n * MORE, seed, sparing=sparing)
        with np.errstate(all="ignore"):
            for index in near:
                again = more.check(raw[index].spec, raw[index].subject)
                if again is not None and again.slack is not None:
                    found[index] = np.mean(margins([again], n * MORE)[0] >= 0)
                if sparing:
                    _lighten(more)
    return found
