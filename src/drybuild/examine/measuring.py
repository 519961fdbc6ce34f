"""Measure next: which measurement would settle most of what is undecided, per minute.

Preposterior analysis: for each input that a stated tool can measure, possible readings are drawn
from what is known today with the tool's doubt; each reading re-weighs the draws; a finding counts
as settled by a reading when its re-weighed chance leaves the undecided band. Settling to *short*
counts. An input that nobody has stated stands in by its usual range, for this question alone.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import numpy.typing as npt
from scipy.special import ndtri

from drybuild.build.declared import Declared, declaration, is_word
from drybuild.build.drawn import quantity_kind
from drybuild.build.kinds import place_of
from drybuild.build.model import Measure
from drybuild.examine.examination import Examination, evaluate
from drybuild.examine.guesses import asked_by_name, guessed_facts
from drybuild.examine.naming import to_be_chosen, wanted, way_to_know
from drybuild.findings import SIDES, Consequence, Fact, Finding, Verdict
from drybuild.findings.finding import RECALLED, RESTS_ON_ASSUMED, margins
from drybuild.values import HowKnown, ValueFault, parse_value, written

EYE = "eye"
SHEET = "calibrator's sheet"
PAPERS = "document"

SAID_BY_THE_OWNER = frozenset({"blend", "goal", "site"})
"""Tables whose words say what is wanted; nothing on the car shows them."""

TURNS = (
    "at the car", "off the car; of a part that is not here yet, ask the seller", "to read off",
    "in papers, or to ask", "once it is back together", "once the part is chosen",
)  # fmt: skip
"""In which turn it is found out: what a gauge reads on the car comes before what waits for a part
in hand, and both before what nobody takes a tool for. What cannot be taken as the car stands comes
behind these, and what is of a part that nobody has chosen yet last: there is nothing to lay a gauge
on."""

NOT_STATED = "not stated"
"""What ``now`` says of a figure that nobody has given."""

LEAST = 0.1
"""Less than this share off a finding's doubt is not worth a word."""

READINGS = 24
"""Possible readings tried for each input."""

FloatArray = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Measurement:
    """A measurement worth taking.

    settles: expected number of undecided findings it settles, ``of`` all that are unsure or
    unmeasured, those that only want a rule read among them; findings: those it bears on, as
    (check, subject), what it likeliest settles first; both_sides: take it left and right, for cars
    are crooked, where neither is written down (``input`` is one of the two, ``minutes`` is for one
    side). note_as: the address under which ``note`` takes it: a
    part that is not on the car yet is read by its id. chosen: False of a part that is still to be
    chosen; not_now: why it cannot be taken as the car stands today. alone: of ``settles``, what it
    settles with nothing else measured; narrows: the largest share of its doubt that it is expected
    to take off any one finding; as_guessed: of ``settles``, what is enough then but for guesses.
    """

    input: str
    doc: str
    how: str
    tool: str
    minutes: int
    settles: float
    of: int
    findings: tuple[tuple[str, str], ...]
    both_sides: bool
    now: str
    note_as: str
    chosen: bool = True
    alone: float = 0.0
    narrows: float = 0.0
    as_guessed: float = 0.0
    not_now: str = ""

    @property
    def all_minutes(self) -> int:
        """Minutes for both sides, where it is taken on both."""
        return self.minutes * (2 if self.both_sides else 1)

    @property
    def turn(self) -> str:
        """One of TURNS."""
        if not self.chosen:
            return TURNS[-1]
        if self.not_now:
            return TURNS[-2]
        way = way_to_know(self.input.removeprefix("base:"))
        if way == "measure":
            return TURNS[1 if self.awaited or self._weighed else 0]
        return TURNS[2 if way == "read off" else 3]

    @property
    def awaited(self) -> bool:
        """Whether a gauge reads it, on a part that is not on the car and may not be bought yet."""
        gauged = way_to_know(self.input.removeprefix("base:")) == "measure"
        return gauged and self.note_as.startswith("part.")

    @property
    def _weighed(self) -> bool:
        """Whether it is the mass of a part, which nobody weighs on the car."""
        declared = declaration(self.input.removeprefix("base:"))
        return declared is not None and declared.owner in place_of() and declared.path == ("mass",)


def in_turn(measurements: Iterable[Measurement]) -> tuple[Measurement, ...]:
    """As they are taken: by TURNS, and in each what settles most for its minutes first."""
    return tuple(sorted(measurements, key=lambda m: TURNS.index(m.turn)))


def measure_next(
    examination: Examination, most: int = 12, *, named: bool = True
) -> tuple[Measurement, ...]:
    """Measurements ranked by findings settled per minute. Empty when nothing is undecided.

    named: behind the ``most`` best also what a finding that stops a use asks for by its name, for
    it says that it stands here.

    Only armed findings count: what nobody changes is as found and not asked about. Nor do those
    that are unsure only because a limit was recalled: they want the rule read, not the car.
    """
    open_findings = _open(examination)
    if not open_findings:
        return ()
    rows, columns, typical = _margins(examination, open_findings)
    assumed = {i: _assumed(f, examination) for i, f in open_findings if f.why == RESTS_ON_ASSUMED}
    guessed = {i: _assumed(f, examination) for i, f in open_findings
               if f.consequence is Consequence.INJURY}  # fmt: skip
    found: dict[str, Measurement] = {}
    asked = _asked(open_findings, examination) if named else ()
    for address in dict.fromkeys((*_candidates(open_findings, assumed, examination), *asked)):
        made = _weigh(
            address, examination, open_findings, rows, columns, typical, assumed, guessed
        )
        if made is not None and (made.settles > 0 or address in asked):
            name = made.input
            if name not in found or found[name].settles < made.settles:
                found[name] = made
    ranked = sorted(
        _both_sides_as_one(found.values(), examination),
        key=lambda m: (-m.settles / m.all_minutes, m.input),
    )
    named_at = {noted_at(address, examination) for address in asked}
    beside = [m for m in ranked[most:] if _sideless(m.note_as) in named_at]
    return (*ranked[:most], *beside)


def _asked(
    open_findings: list[tuple[int, Finding]], examination: Examination
) -> tuple[str, ...]:
    """What the findings that stop a use ask for by name: of one that nothing is calculated of,
    all that is missing."""
    names = (name for _, f in open_findings if f.stopping for name in asked_by_name(f))
    one = (address.split("|")[0] for address in names)
    return tuple(dict.fromkeys(_told_apart(address, examination) for address in one))


def noted_at(address: str, examination: Examination) -> str:
    """Where a reading of it is written down, either side alike; empty of what no model knows."""
    plain = address.removeprefix("base:")
    declared = declaration(plain)
    if declared is None:
        return ""
    return _sideless(note_as(declared, examination, as_found=plain != address))


def _sideless(address: str) -> str:
    return ".".join("side" if w in SIDES else w for w in address.split("."))


def _undecided(examination: Examination) -> list[tuple[int, Finding]]:
    return [
        (i, f)
        for i, f in enumerate(examination.findings)
        if f.armed and f.verdict in (Verdict.UNSURE, Verdict.UNMEASURED)
    ]


def _open(examination: Examination) -> list[tuple[int, Finding]]:
    return [(i, f) for i, f in _undecided(examination) if f.why != RECALLED]


def _both_sides_as_one(
    found: Iterable[Measurement], examination: Examination
) -> list[Measurement]:
    """Left and right of one measurement as one line, and so what is read of one part in hand.

    Where one side stands written down already, the other alone is asked for.
    """
    pairs: dict[str, Measurement] = {}
    for m in sorted(found, key=lambda m: m.input):
        name = _sideless(m.input)
        in_hand = m.note_as.startswith("part.")
        name = m.note_as if in_hand else name
        first = pairs.get(name)
        if first is None:
            owed = m.both_sides and not in_hand and not _measured(_other_side(m.input), examination)
            pairs[name] = replace(m, both_sides=owed)
            continue
        both = tuple(dict.fromkeys((*first.findings, *m.findings)))
        apart = len(both) == len(first.findings) + len(m.findings)
        add = sum if apart else max
        settles, alone = add((first.settles, m.settles)), add((first.alone, m.alone))
        narrows = max(first.narrows, m.narrows)
        as_guessed = add((first.as_guessed, m.as_guessed))
        sided = m.both_sides and not m.note_as.startswith("part.")
        pairs[name] = replace(
            first, settles=settles, findings=both, both_sides=sided, alone=alone, narrows=narrows,
            as_guessed=as_guessed,
        )
    return list(pairs.values())


def _other_side(address: str) -> str:
    """The same at the other side of the car."""
    left, right = SIDES
    swap = {left: right, right: left}
    return ".".join(swap.get(word, word) for word in address.split("."))


def _measured(address: str, examination: Examination) -> bool:
    """Whether it was measured where it is, and not guessed or copied off a box."""
    plain = address.removeprefix("base:")
    evaluation = examination.evaluation
    source = evaluation.base if plain != address else evaluation
    fact = source.facts.fact(plain)
    return isinstance(fact, Fact) and fact.how is not None and fact.how >= HowKnown.MEASURED


def _lacking(finding: Finding) -> tuple[str, ...]:
    """Each fact that is missing, of those of which any one would do all."""
    return tuple(one for missing in finding.missing for one in missing.split("|"))


def _part_of(finding: Finding) -> float:
    """Share of being worked out that each thing missing stands for."""
    return 1 / max(1, len(wanted(finding.missing)))


def _assumed(finding: Finding, examination: Examination) -> frozenset[str]:
    """The assumed facts that keep a finding open: it wants a better word on each of them."""
    guesses = finding.guesses or guessed_facts(finding, examination.evaluation)
    return frozenset(_told_apart(address, examination) for address in guesses)


def _told_apart(address: str, examination: Examination) -> str:
    """``base:`` is kept where another part was there as found: its figure is another figure."""
    plain = address.removeprefix("base:")
    declared = declaration(plain)
    if declared is None or not examination.state.place_changed(declared.owner):
        return plain
    return address


def _candidates(
    open_findings: list[tuple[int, Finding]],
    assumed: Mapping[int, frozenset[str]],
    examination: Examination,
) -> list[str]:
    found: dict[str, None] = {}
    for index, finding in open_findings:
        guesses = sorted(assumed.get(index, ()))
        for address in (*_lacking(finding), *(u.input for u in finding.unknowns), *guesses):
            found.setdefault(_told_apart(address, examination))
    ways = {a: _how_measured(declaration(a.removeprefix("base:"))) for a in found}
    return [a for a, way in ways.items() if way is not None and way.tool != PAPERS]


LOOK_UP_FIRST = Measure(
    PAPERS, 5, "its maker or seller says it; nothing reads it before it is on the car and runs"
)
"""How a figure is known that only shows while the engine runs, of a part that is not on the car."""


def way_for(declared: Declared, at: str, on_the_car: Collection[str | None]) -> Measure | None:
    """How a fact is measured where it is written down: of a part that is not on the car, nothing
    that wants it running. at: the address there; on_the_car: ids of parts."""
    away = at.startswith("part.") and at.split(".")[1] not in on_the_car
    if away and declared.measure is not None and declared.measure.under_way:
        return LOOK_UP_FIRST
    return _how_measured(declared)


def _how_measured(declared: Declared | None) -> Measure | None:
    """How a fact is measured; a word is read by eye, what no gauge tells out of papers."""
    if declared is None:
        return None
    if declared.measure is not None:
        return declared.measure
    if declared.owner.partition(".")[0] in SAID_BY_THE_OWNER:
        return None
    if is_word(declared) and way_to_know(declared.address) == "ask":
        return Measure(SHEET, 1, "ask whoever calibrates: their sheet comes back with it")
    if is_word(declared):
        return Measure(EYE, 1, "read it off the part or its papers")
    return Measure(PAPERS, 5, "look it up in its maker's papers, or ask who has them")


def _margins(
    examination: Examination, open_findings: list[tuple[int, Finding]]
) -> tuple[dict[int, FloatArray], Any, frozenset[str]]:
    """Margins of the undecided findings, with usual ranges standing in for what is missing."""
    typical = frozenset(
        a
        for _, f in open_findings
        for m in f.missing
        for a in m.replace("base:", "").split("|")
        if (d := declaration(a)) is not None and d.typical is not None
    )
    with_typical = evaluate(
        examination.state, examination.evaluation.registry, examination.draws, examination.seed,
        typical,
    )  # fmt: skip
    registry = examination.evaluation.registry
    rows: dict[int, FloatArray] = {}
    with np.errstate(all="ignore"):
        for index, finding in open_findings:
            if finding.verdict is Verdict.UNMEASURED:
                raw = with_typical.check(registry.checks[finding.check], finding.subject)
                alone = _part_of(finding) == 1.0  # with more missing, one reading works out nothing
                if alone and raw is not None and raw.slack is not None:
                    rows[index] = margins([raw], examination.draws)[0]
            else:
                rows[index] = examination.margins[index]
    return rows, with_typical.facts, typical


def _weigh(
    address: str,
    examination: Examination,
    open_findings: list[tuple[int, Finding]],
    rows: dict[int, FloatArray],
    facts: Any,
    typical: frozenset[str],
    assumed: Mapping[int, frozenset[str]],
    guessed: Mapping[int, frozenset[str]],
) -> Measurement | None:
    plain = address.removeprefix("base:")
    declared = declaration(plain)
    if declared is None:
        return None
    as_found = plain != address
    fact = (examination.evaluation.base.facts if as_found else facts).fact(plain)
    concerned = [
        (i, f) for i, f in open_findings if i not in assumed and _bears_on(address, f, examination)
    ]
    waiting = [(i, f) for i, f in open_findings if address in assumed.get(i, ())]
    column = fact.value if isinstance(fact, Fact) else None
    at = note_as(declared, examination, as_found=as_found)
    way = way_for(declared, at, examination.state.base_fitted.values())
    sigma = _tool_sigma(declared, column, way)
    # Each of the assumed facts that a finding waits for counts its part of settling it.
    shares = [(1 / len(assumed[i]), f) for i, f in waiting]
    alone, narrows = float(sum(share == 1 for share, _ in shares)), 0.0
    as_guessed = 0.0
    if sigma is None or not isinstance(column, np.ndarray):
        # No usual range is declared: all that can be said is what becomes computable.
        only = [f for _, f in concerned if _lacks(f, address, examination)]
        shares += [(_part_of(f), f) for f in only]
        alone += sum(_part_of(f) == 1 for f in only)
        now = "" if isinstance(fact, Fact) else NOT_STATED
        found = _measurement(address, declared, examination, shares, now)
        return replace(found, alone=alone) if found is not None else None
    if sigma < 0.9 * float(np.std(column)):
        weights = _reading_weights(column, sigma)
        for index, finding in concerned:
            left = len(guessed.get(index, frozenset()) - {address})
            share, part = _settled(finding, rows.get(index), weights, address, left)
            narrows = max(narrows, _narrowed(rows.get(index), weights))
            if share + part > 0 or _narrowed(rows.get(index), weights) >= LEAST:
                shares.append((share + part, finding))
            alone, as_guessed = alone + share, as_guessed + part
    shares = shares or [(0.0, f) for _, f in concerned]
    now = NOT_STATED if address in typical else ""
    found = _measurement(address, declared, examination, shares, now)
    if found is None:
        return None
    return replace(found, alone=alone, narrows=narrows, as_guessed=as_guessed)


def _bears_on(address: str, finding: Finding, examination: Examination) -> bool:
    if finding.missing:
        return _lacks(finding, address, examination)
    return address in {_told_apart(u.input, examination) for u in finding.unknowns}


def _lacks(finding: Finding, address: str, examination: Examination) -> bool:
    return address in {_told_apart(one, examination) for one in _lacking(finding)}


def _reading_weights(column: FloatArray, sigma: float) -> FloatArray:
    """Weights (READINGS, N) of the draws after each of several equally likely readings."""
    order = np.argsort(column, kind="stable")
    n = len(column)
    picks = order[((np.arange(READINGS) + 0.5) / READINGS * n).astype(int)]
    # Noise of the tool at matching, but shuffled, quantiles: readings = truth + error.
    levels = (np.arange(READINGS) + 0.5) / READINGS
    noise = ndtri(levels[(np.arange(READINGS) * 7 + 3) % READINGS]) * sigma
    readings = column[picks] + noise
    exponent = -0.5 * ((readings[:, None] - column[None, :]) / sigma) ** 2
    exponent -= exponent.max(axis=1, keepdims=True)
    weights = np.exp(exponent)
    return weights / weights.sum(axis=1, keepdims=True)  # type: ignore[no-any-return]


def _settled(
    finding: Finding, row: FloatArray | None, weights: FloatArray, address: str, left: int
) -> tuple[float, float]:
    """Share of possible readings after which the finding is no longer undecided, and of those after
    which it is enough but for its guesses.

    left: guesses that stay in a finding about injury. However much room is read, it is then unsure
    still, as ``verdict_of`` has it.
    """
    if row is None:
        return (_part_of(finding) if finding.missing else 0.0), 0.0
    likely = finding.consequence.wanted_chance
    chance = weights @ (row >= 0)
    short = float(np.mean(chance <= 1 - likely))
    enough = float(np.mean(chance >= likely))
    return (short, enough) if left else (short + enough, 0.0)


def _narrowed(row: FloatArray | None, weights: FloatArray) -> float:
    """Share of a margin's spread that a reading is expected to take off, 0 to 1."""
    if row is None or not np.isfinite(row).all() or np.std(row) <= 0:
        return 0.0
    centred = row - np.mean(row)
    left = np.sqrt(np.maximum(weights @ centred**2 - (weights @ centred) ** 2, 0.0))
    return float(max(0.0, 1.0 - np.mean(left) / np.std(row)))


def _tool_sigma(declared: Declared, column: Any, way: Measure | None) -> float | None:
    """Standard uncertainty of that way near the present value; None for words."""
    if not isinstance(column, np.ndarray) or declared.measure is None or way is None:
        return None
    kind = quantity_kind(declared)
    centre = float(np.median(column))
    try:
        value = parse_value({"is": written(kind, centre), "by": way.tool}, kind)
    except ValueFault:
        return None
    return float(value.half_width) / 2 or None


def _measurement(
    address: str,
    declared: Declared,
    examination: Examination,
    shares: list[tuple[float, Finding]],
    now: str,
) -> Measurement | None:
    at = note_as(declared, examination, as_found=address != declared.address)
    measure = way_for(declared, at, examination.state.base_fitted.values())
    if measure is None or not shares:
        return None
    findings = [f for _, f in sorted(shares, key=lambda one: -one[0])]
    settles = sum(share for share, _ in shares)
    sided = declared.address.split(".")
    both = "left" in sided or "right" in sided
    part = examination.state.build.parts.get(at.split(".")[1]) if at.startswith("part.") else None
    return Measurement(
        address, declared.doc, measure.how, measure.tool, measure.minutes,
        settles, len(_undecided(examination)),
        tuple((f.check, f.subject) for f in findings), both, now,
        at, chosen=part is None or not to_be_chosen(part.name),
    )  # fmt: skip


def note_as(declared: Declared, examination: Examination, *, as_found: bool) -> str:
    """``part.ID.FIELD`` for a part that is only planned or was taken off; else the address.

    as_found: of the part that was there as found and is another now or in the plan.
    """
    state, owner = examination.state, declared.owner
    part = (state.base_fitted if as_found else state.fitted).get(owner)
    here = examination.is_present or not state.place_changed(owner)
    if part is None or (here and not as_found):
        return declared.address
    return ".".join(("part", part, *declared.path))
