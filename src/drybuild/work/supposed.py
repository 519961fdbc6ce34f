"""What a plan supposes: checks that stop a needed use only by what nobody knows yet.

Records are counted on because the plan's own cards make them. What is not measured is supposed in
the same way, but only where no plan is found without, and never where something computed falls
short. It releases nothing: home, cards and tags say of the car what they say without a plan.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable
from dataclasses import dataclass, field, replace

from drybuild.build.declared import declaration
from drybuild.build.part_named import called
from drybuild.examine import Examination, measure_next
from drybuild.examine.guesses import looked_up_first
from drybuild.examine.measuring import NOT_STATED, note_as
from drybuild.examine.uses import Hold
from drybuild.work.lessons import Lessons
from drybuild.work.model import Clause, Plan, Problem, Supposed, ToMeasure
from drybuild.work.papers import LookUp

MOST_TO_MEASURE = 6
"""Measurements that a plan names."""

MOST_LOOKED_AT = 40
"""Measurements that are ranked for it; some bear on nothing that the plan supposes."""

SUPPOSED = "what nobody knows yet was supposed to turn out well, and there is still no plan"
NOT_SUPPOSED = "not everything is known yet, and nothing was to be supposed"

Moment = tuple[int, str, frozenset[str]]
"""A quarter at which a plan counts on a use, the use, and the jobs that are done by then."""


@dataclass
class _Open:
    """One open check while it is gathered."""

    hold: Hold
    title: str
    before: int
    subjects: dict[str, None] = field(default_factory=dict)
    uses: dict[str, None] = field(default_factory=dict)
    chances: list[float] = field(default_factory=list)


def with_supposed(
    problem: Problem, plan: Plan, lessons: Lessons, counted: Iterable[Moment], draws: int
) -> Plan:
    """The plan with what it supposes at the moments at which it counts on a use, and what to
    measure for that; as it is where it supposes nothing."""
    found: dict[tuple[str, str], _Open] = {}
    last: frozenset[str] = frozenset()
    for quarter, use, done in sorted(counted, key=lambda moment: moment[0]):
        examination = lessons.of_asked(done, draws)
        for hold in examination.use(use).holds:
            if hold.waits_for:
                _gather(found, hold, use, quarter, examination)
                last |= done
    if not found:
        return plan
    supposed = tuple(_supposed(problem, one) for one in found.values())
    measure = to_measure(lessons, last, {one.check for one in supposed})
    return replace(plan, supposed=supposed, measure=measure)


def _gather(
    found: dict[tuple[str, str], _Open],
    hold: Hold,
    use: str,
    quarter: int,
    examination: Examination,
) -> None:
    finding = examination.finding(hold.check, hold.subject)
    key = (hold.check, hold.anywhere)
    one = found.setdefault(key, _Open(hold, finding.title, quarter))
    one.uses[hold.through or use] = None
    if hold.subject != "car":
        one.subjects[hold.subject] = None
    if finding.chance is not None:
        one.chances.append(finding.chance)


def _supposed(problem: Problem, one: _Open) -> Supposed:
    return Supposed(
        one.hold.check, one.title, tuple(sorted(one.subjects)), tuple(one.uses), one.hold.anywhere,
        _do(one.hold), one.hold.waits_for, min(one.chances, default=None),
        problem.at(one.before).isoformat(timespec="minutes"),
    )  # fmt: skip


def _do(hold: Hold) -> str:
    """What makes it known; what the finding says to do is its cure, should it turn out short."""
    guessed = hold.waits_for in ("a better word", "narrowing")
    return "measure or look up what is guessed" if guessed else hold.do


def to_measure(
    lessons: Lessons, done: frozenset[str], checks: Collection[str]
) -> tuple[ToMeasure, ...]:
    """Measurements that bear on these checks: what nobody has stated before what is known better,
    of either what settles most for its minutes first."""
    asked = frozenset(checks)
    ranked = sorted(
        measure_next(lessons.with_unknowns(done), most=MOST_LOOKED_AT),
        key=lambda m: not (m.chosen and m.now == NOT_STATED),
    )
    found = []
    for m in ranked:
        bears_on = len(asked & {check for check, _ in m.findings})
        if bears_on:
            part = _part_name(m.note_as, lessons)
            found.append(
                ToMeasure(
                    m.input, m.note_as, m.tool, m.how, m.all_minutes, m.both_sides, bears_on, part
                )
            )
    return tuple(found[:MOST_TO_MEASURE])


def to_look_up(
    lessons: Lessons, done: frozenset[str], clauses: Iterable[Clause]
) -> tuple[LookUp, ...]:
    """What papers tell of that which would be cured, where most of the doubt is one guess."""
    asked = {(c.check, c.subject) for c in clauses if not c.waits_for}
    if not asked:
        return ()
    examination = lessons.with_unknowns(done)
    found: dict[str, LookUp] = {}
    for finding in examination.findings:
        most = looked_up_first(finding) if (finding.check, finding.subject) in asked else None
        declared = declaration(most.input) if most is not None else None
        if most is not None and declared is not None:
            at = note_as(declared, examination, as_found=False)
            one = LookUp(finding.title, most.input, at, most.share, _part_name(at, lessons))
            found.setdefault(at, one)
    return tuple(found.values())


def _part_name(note_as: str, lessons: Lessons) -> str:
    """Name of the part in hand that a measurement is of; empty where it is of none, or unnamed."""
    if not note_as.startswith("part."):
        return ""
    part = lessons.start.build.parts.get(note_as.split(".")[1])
    return called(part) if part is not None else ""
