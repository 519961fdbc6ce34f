"""What ``measure``, ``workings``, ``fix`` and ``undo`` print."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from drybuild.build.declared import declaration
from drybuild.examine import Cure, Examination, Fix, Measurement, Step
from drybuild.examine.guesses import guesses_text
from drybuild.examine.lookup import takes
from drybuild.examine.measuring import EYE, SHEET, in_turn
from drybuild.examine.naming import car_name
from drybuild.findings import Finding, Verdict
from drybuild.findings.finding import RECALLED, RESTS_ON_ASSUMED
from drybuild.show.lines import percent, wrapped
from drybuild.show.sentences import (
    both,
    fix_text,
    grouped,
    headline,
    joint_of,
    margin_text,
    measurement_text,
    places,
    range_text,
    rest_text,
    settled_text,
    stopping,
    wanted_text,
)
from drybuild.show.steps import step_words
from drybuild.show.text import CAUTION, NOTHING_YET, nothing_planned, say_what
from drybuild.show.usual_words import TO_CHOOSE, to_choose
from drybuild.values import HowKnown, System

NEAREST = (
    "With the doubt that there is, no setting that build.toml offers makes it enough; this one "
    "brings it nearest, and makes nothing else worse"
)
FOR_THE_REST = "for the rest"
GUESSED = "A guess is in it; before any change"
CONTRADICT = "What is stated of the car and of the map does not go together; see first which holds"


def measure_text(
    measurements: tuple[Measurement, ...], examination: Examination, folder: str = "DIR"
) -> str:
    """The answer of ``drybuild measure``."""
    open_still = [
        f for f in examination.findings
        if f.armed and f.verdict in (Verdict.UNSURE, Verdict.UNMEASURED)
    ]  # fmt: skip
    if not measurements and nothing_planned(examination):
        said, *more = say_what(folder)
        return "\n".join([*wrapped(f"{NOTHING_YET[0].upper()}{NOTHING_YET[1:]}: {said}", 0), *more])
    if not measurements:
        said = "Nothing that a measurement would settle."
        if examination.state.name == "finished":
            said = (
                "Nothing of the finished car that a measurement would settle; what is wanted on "
                f"the way there stands in its plan: drybuild plan {folder}."
            )
        if open_still:
            said += (
                f" {len(open_still)} findings are undecided still: drybuild check {folder} --all "
                "says what each wants."
            )
        return "\n".join(wrapped(said, 0))
    lines = ["Measure next, in each turn what settles most for its minutes first"]
    turn, parts = "", examination.state.build.parts
    for number, m in enumerate(in_turn(measurements), 1):
        if m.turn != turn:
            turn = m.turn
            lines += ["", turn[0].upper() + turn[1:]]
        lines += wrapped(f"{number:>3}  {measurement_text(m, parts)}", 5)
        if m.not_now:
            lines += wrapped(f"     not now: {m.not_now}", 5)
        lines += wrapped(f"     {m.how}", 5)
        if m.doc:
            lines += wrapped(f"     it is: {m.doc}", 5)
        declared = declaration(m.input.removeprefix("base:"))
        if m.tool in (EYE, SHEET) and declared is not None:
            lines += wrapped(f"     write {takes(declared)}", 5)
        lines += wrapped(f"     {settled_text(m)}: {titles(m.findings, examination)}", 5)
        tool = "" if m.tool in (EYE, SHEET) else f' --with "{m.tool}"'
        lines.append(f"     then: drybuild note {folder} {m.note_as} READING{tool} --who NAME")
    if any(m.both_sides for m in measurements):
        lines += ["", "Both sides, each written down by itself: cars are crooked."]
    return "\n".join(lines)


def titles(keys: Iterable[tuple[str, str]], examination: Examination, most: int = 3) -> str:
    """Checks by their titles, with their places; what is left over is counted in findings."""
    where: dict[str, list[str]] = {}
    for check, subject in keys:
        where.setdefault(check, []).append(subject)
    said = []
    for check, subjects in where.items():
        place = places(subjects)
        title = examination.evaluation.registry.checks[check].title
        said.append(f"{title} ({place})" if place else title)
    more = sum(len(subjects) for subjects in list(where.values())[most:])
    return "; ".join(said[:most]) + (f"; {more} more" if more else "")


def workings_text(
    finding: Finding, steps: tuple[Step, ...], examination: Examination, system: System
) -> str:
    """The answer of ``drybuild workings``."""
    lines = [*wrapped(f"{headline(finding)}: {finding.verdict}", 2)]
    lines += wrapped(margin_text(finding, system), 2)
    for extra in (wanted_text(finding, system), finding.why, finding.pose):
        lines += wrapped(extra, 2) if extra else []
    lines.append("")
    numbers = {step.address: number for number, step in enumerate(steps, 1)}
    for number, step in enumerate(steps, 1):
        lines += _step_lines(number, step, numbers)
    if finding.unknowns:
        lines += ["", *wrapped(f"Biggest unknowns (share of the margin's doubt{both(finding)})", 2)]
        for u in finding.unknowns:
            named = car_name(u.input, examination.state.build.parts)
            lines.append(f"     {percent(u.share):>5}  {named}")
    if finding.outside_range:
        lines += ["", "Outside the range of a formula"]
        for note in finding.outside_range:
            lines += wrapped(f"     {range_text(note, examination, system)}", 7)
    if finding.safety:
        lines += ["", *wrapped(f"Care: {finding.safety}", 6)]
    return "\n".join(lines)


def workings_list(examination: Examination, folder: str) -> str:
    """What is not enough, each as one asks for its workings."""
    found = stopping(examination)
    lines = ["Not enough, heaviest first" if found else "All that was worked out is enough."]
    for finding in found:
        said = finding.said_short if finding.verdict is Verdict.SHORT else finding.title
        lines += wrapped(f"  {finding.check} {finding.subject}: {finding.verdict}: {said}", 6)
    lines.append(f"the numbers behind one: drybuild workings {folder} CHECK PLACE")
    lines.append(f"every check, in [brackets]: drybuild check {folder} --all")
    return "\n".join(lines)


def _step_lines(number: int, step: Step, numbers: dict[str, int]) -> list[str]:
    said = step_words(step, numbers)
    lines = wrapped(f"{number:>3}  {step.title}", 5)
    lines += wrapped(f"     {step.formula}", 7)
    for row in said.rows:
        if row.holds_many:
            lines += wrapped(f"       {row.name}: from step {row.step}", 11)
        else:
            known = f"step {row.step}" if row.step else row.known
            lines += wrapped(f"       {row.name} = {row.text}  ({known})", 11)
    for words, names in said.told:
        lines += wrapped(f"       {words}: {', '.join(names)}", 11)
    lines += wrapped(f"     → {step.result}", 7)
    lines += wrapped(f"     source: {step.source}", 7)
    return lines


@dataclass(frozen=True, slots=True)
class FixRow:
    """A fix as it is offered: key, by which it is asked for again; words, what comes of it; rest,
    what is to be known where it leaves the finding open."""

    key: str
    words: str
    then: str
    also: str
    rest: str


def fix_rows(
    fixes: tuple[Fix, ...], examination: Examination, system: System
) -> tuple[FixRow, ...]:
    """Fixes in words, in their order."""
    return tuple(
        FixRow(
            fix_text(fix), fix_text(fix, system), _after_text(fix.after, system),
            titles(fix.gained, examination) if fix.gained else "",
            "" if fix.after.verdict is Verdict.ENOUGH else rest_text(fix.after),
        )
        for fix in fixes
    )  # fmt: skip


NO_SETTING = (
    "No setting that you said you are willing to change cures what is open: what may be changed is "
    "said in build.toml under [[adjuster]] (docs/folder.md)."
)
NO_FIX = (
    "No setting that you said you are willing to change makes it enough without making another "
    "worse; a usual cure that has its own name stands below, where there is one. What may be "
    "changed is said in build.toml under [[adjuster]] (docs/folder.md)."
)


def fix_answer(
    finding: Finding,
    fixes: tuple[Fix, ...],
    examination: Examination,
    system: System,
    folder: str = "DIR",
    near: Fix | None = None,
) -> str:
    """The answer of ``drybuild fix``; near: what comes nearest, where no fix makes it enough."""
    lines = wrapped(f"{headline(finding)}: {margin_text(finding, system)}", 2)
    if finding.verdict is Verdict.ENOUGH:
        return "\n".join([*lines, "Nothing to mend."])
    lines.append("")
    if near is not None:
        lines += wrapped(NEAREST, 0)
    elif not fixes:
        choose = to_choose(examination, system, frozenset({finding.check}))
        first = "" if choose else known_first(finding)
        lines += [*wrapped(first, 2), ""] if first else []
        if finding.do:
            lines += wrapped(f"What would help: {finding.do}", 2)
        lines += wrapped(NO_FIX, 0)
        lines += _chosen_still(choose)
    else:
        lines.append("Any one of these makes it enough, and nothing else worse")
    offered = fixes if near is None else (near,)
    for number, row in enumerate(fix_rows(offered, examination, system), 1):
        lines += wrapped(f"{number:>3}  {row.words}", 5)
        lines += wrapped(f"     then {row.then}", 5)
        if row.also:
            lines += wrapped(f"     also makes enough: {row.also}", 5)
        if row.rest:
            lines += wrapped(f"     {FOR_THE_REST}: {row.rest}", 5)
    if offered:
        name = f"{finding.check} {finding.subject}"
        lines += ["", *wrapped(f"To plan one: drybuild fix {folder} {name} --keep NUMBER", 2)]
    if finding.safety:
        lines += ["", *wrapped(f"Care: {finding.safety}", 6)]
    return "\n".join(lines)


def _chosen_still(said: tuple[str, ...]) -> list[str]:
    """What parts that are planned and still to be chosen have to be."""
    lines = [line for one in said for line in wrapped(f"     {one}", 7)]
    return ["", TO_CHOOSE, *lines] if lines else []


def known_first(finding: Finding) -> str:
    """What is to be found out before any change: guesses that leave it open, or which of two stated
    figures holds; empty where there is neither, and where it is short whatever the guess."""
    rest = guesses_text(finding) if finding.guesses else rest_text(finding)
    guessed = finding.lowest_known is HowKnown.ASSUMED
    if rest and guessed and finding.verdict is Verdict.UNSURE:
        return f"{GUESSED}: {rest}"
    unlike = finding.system == "calibration" and finding.verdict is Verdict.SHORT
    return f"{CONTRADICT}: {rest}" if rest and unlike and not guessed else ""


def cure_text(cure: Cure, system: System, folder: str = "DIR") -> str:
    """The answer of ``drybuild fix`` for the whole car."""
    lines = wrapped("Taken one after the other, each the smallest that build.toml offers", 0)
    lines = [*lines, ""] if cure.fixes else wrapped(NO_SETTING, 0)
    for number, fix in enumerate(cure.fixes, 1):
        lines += wrapped(f"{number:>3}  {fix_text(fix, system)}", 5)
        lines += wrapped(f"     for {headline(fix.before)}", 5)
        lines += wrapped(f"     then {_after_text(fix.after, system)}", 5)
    recalled = [f for f in cure.left if f.why == RECALLED]
    guessed = [f for f in cure.left if f.why == RESTS_ON_ASSUMED and f.verdict is Verdict.UNSURE]
    left = [f for f in cure.left if f not in recalled and f not in guessed]
    if left:
        lines += ["", "Left as it is" if cure.fixes else "Open"]
        lines += _one_each(left)
    lines += _chosen_still(to_choose(cure.after, system))
    if guessed:
        rest = "1 finding rests" if len(guessed) == 1 else f"{len(guessed)} findings rest"
        said = f"{rest} on figures that are only assumed, where someone can be "
        said += f"hurt: measure before mending. How: drybuild measure {folder}"
        lines += ["", *wrapped(said, 0)]
    if recalled:
        lines += ["", "Limits recalled, not read: read each clause, then name it under rules_read"]
        lines += _one_each(recalled)
    unmeasured = [f for f in cure.after.findings if f.armed and f.margin is None]
    if unmeasured:
        lines += ["", f"Still to be measured (how: drybuild measure {folder})"]
        lines += _one_each(unmeasured)
    before, after = joint_of(cure.before).chance, joint_of(cure.after).chance
    with_them = "the fix" if len(cure.fixes) == 1 else f"the {len(cure.fixes)} fixes"
    said = f"all of it enough at once: {before} as planned"
    lines += ["", *wrapped(said + (f", {after} with {with_them}" if cure.fixes else ""), 2)]
    stopped = [u.use for u in cure.after.uses if not u.allowed]
    if stopped:
        lines += wrapped(f"stopped still: {', '.join(stopped)}", 2)
    cares = dict.fromkeys(fix.before.safety for fix in cure.fixes if fix.before.safety)
    for care in cares:
        lines += ["", *wrapped(f"Care: {care}", 6)]
    lines += ["", *wrapped(CAUTION, 0)]
    return "\n".join(lines)


def _after_text(finding: Finding, system: System) -> str:
    said = margin_text(finding, system)
    return f"{finding.title}: {said}" if finding.kind == "match" else said


def _one_each(findings: Iterable[Finding]) -> list[str]:
    lines = []
    for group in grouped(findings):
        f = group.finding
        why = f": {f.why}" if f.why and f.why != RECALLED else ""
        lines += wrapped(f"     {headline(f, group.subjects)}{why}", 7)
    return lines
