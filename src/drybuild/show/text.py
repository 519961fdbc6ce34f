"""What the commands print: plain text, few words, the rest folded until asked for."""

from __future__ import annotations

from collections.abc import Iterable
from textwrap import fill

from drybuild.examine import Cure, Examination, Fix, Measurement, Step
from drybuild.findings import Finding, Verdict
from drybuild.show.sentences import (
    by_weight,
    first_of_each,
    fix_text,
    headline,
    joint_text,
    margin_text,
    measurement_text,
    stopping,
    use_reason,
)
from drybuild.values import System

WIDTH = 100
CAUTION = (
    "No result here says that the car may be driven or that anybody may be under it. What a hand "
    "check has not recorded is not known. The maker's data, local rules and licensed people decide."
)


def check_text(
    examination: Examination,
    now: Examination,
    measurements: tuple[Measurement, ...],
    *,
    system: System,
    everything: bool = False,
    notes: Iterable[str] = (),
) -> str:
    """The answer of ``drybuild check``."""
    lines = [_title(examination), ""]
    lines += _uses(examination, now)
    lines += ["", "First"]
    lines += _first(examination, measurements, system)
    counts = examination.counts
    lines += ["", " · ".join(f"{counts[v]} {v}" for v in Verdict)]
    owed = _owed(examination)
    if owed:
        lines += ["", *owed]
    for note in notes:
        lines.append(_wrap(f"note  {note}", 6))
    if everything:
        lines += ["", *_everything(examination, system)]
    else:
        lines.append(
            "more: --all for every finding, `drybuild workings` for the numbers behind one"
        )
    lines += ["", _wrap(CAUTION, 0)]
    return "\n".join(lines)


def _title(examination: Examination) -> str:
    state = examination.state
    name = state.build.head.name
    places = sum(1 for p in state.fitted if state.place_changed(p))
    parts = len({state.fitted[p] for p in state.fitted if state.place_changed(p)} - {None})
    if state.name == "now":
        return f"{name} · as it stands today: {_count(parts, 'part')} changed"
    what = "finished as planned" if state.name == "finished" else state.name
    return f"{name} · {what}: {_count(parts, 'part')} changed at {_count(places, 'place')}" + (
        " · not yet checked by hand"
    )


def _count(n: int, word: str) -> str:
    return f"{n} {word}" if n == 1 else f"{n} {word}s"


def _uses(examination: Examination, now: Examination) -> list[str]:
    when = "today" if examination.is_present else "when finished"
    lines = [f"What it may do {when}"]
    today = {u.use: u for u in now.uses}
    for use in examination.uses:
        reason = use_reason(use)
        said = "nothing recorded stops it" if use.allowed else f"stopped   {reason}"
        lines.append(_wrap(f"  {use.use:<11} {said}", 24))
    if not examination.is_present:
        allowed = [u.use for u in now.uses if u.allowed]
        stopped = [u.use for u in now.uses if not u.allowed]
        said = f"nothing recorded stops {', '.join(allowed)}" if allowed else "all uses are stopped"
        if stopped and allowed:
            first = use_reason(today[stopped[0]])
            said += f"; stopped: {', '.join(stopped)} ({first})"
        lines.append(_wrap(f"  today       {said}", 14))
    armed = sum(f.armed for f in examination.findings)
    if armed:
        unknown = sum(f.armed and f.verdict is Verdict.UNMEASURED for f in examination.findings)
        beside = f", {unknown} unmeasured beside it" if unknown else ""
        lines.append(
            f"  all of it enough at once: {joint_text(examination.joint_chance)}"
            f" (over {armed - unknown} checks{beside})"
        )
    return lines


def _first(
    examination: Examination, measurements: tuple[Measurement, ...], system: System
) -> list[str]:
    """Three things: what stops you, what to measure, what settles it."""
    heavy = first_of_each(stopping(examination))
    items: list[tuple[str, list[str]]] = []
    if heavy:
        items.append(_stop_item(*heavy[0], system))
    if measurements:
        m = measurements[0]
        items.append(("measure", [measurement_text(m), m.how]))
    if len(heavy) > 1:
        stopped = set(heavy[0][0].stops)
        other = next((pair for pair in heavy[1:] if set(pair[0].stops) != stopped), heavy[1])
        items.append(_stop_item(*other, system))
    if not items:
        owed = [o for u in examination.uses for o in u.records_owed]
        said = "record what the hand checks below show" if owed else "nothing to do before it moves"
        items.append(("next", [said]))
    lines = []
    for number, (label, words) in enumerate(items, 1):
        lines.append(_wrap(f"  {number}  {label:<18} {words[0]}", 24))
        lines += [_wrap(" " * 24 + more, 24) for more in words[1:] if more]
    return lines


def _stop_item(finding: Finding, also: str, system: System) -> tuple[str, list[str]]:
    label = f"stops {finding.stops[0]}" if finding.stops else "look at"
    pose = f" ({finding.pose})" if finding.pose else ""
    said = [f"{headline(finding)}{pose}: {margin_text(finding, system)}"]
    if also:
        said.append(also)
    if finding.do:
        said.append(f"do: {finding.do}")
    said.append(f"cures the build allows: drybuild fix DIR {finding.check} {finding.subject}")
    if finding.safety:
        said.append(f"care: {finding.safety}")
    return label, said


def _owed(examination: Examination) -> list[str]:
    seen = {o.record: o for u in examination.uses for o in u.records_owed}
    if not seen:
        return []
    lines = ["Not recorded yet (only a hand check, written down, releases these)"]
    for owed in seen.values():
        second = ", second person" if owed.second_person else ""
        lines.append(_wrap(f"  {owed.title}: {', '.join(owed.evidence)}{second}", 4))
    return lines


def _everything(examination: Examination, system: System) -> list[str]:
    lines = []
    for verdict in (Verdict.SHORT, Verdict.UNMEASURED, Verdict.UNSURE, Verdict.ENOUGH):
        chosen = sorted((f for f in examination.findings if f.verdict is verdict), key=by_weight)
        if not chosen:
            continue
        lines.append(f"{verdict} ({len(chosen)})")
        for f in chosen:
            armed = "" if f.armed else "  [as found: stops nothing]"
            lines.append(_wrap(f"  {f.check} {f.subject}{armed}", 4))
            lines.append(_wrap(f"      {headline(f)}: {margin_text(f, system)}", 6))
            for note in (*f.rules, f.why, *f.outside_range):
                if note:
                    lines.append(_wrap(f"      {note}", 6))
            if f.verdict in (Verdict.UNSURE, Verdict.SHORT) and f.unknowns:
                top = ", ".join(f"{u.input} {u.share:.0%}" for u in f.unknowns[:3])
                lines.append(_wrap(f"      doubt from {top}", 6))
                if f.settles_by:
                    lines.append(f"      settled by {f.settles_by}")
        lines.append("")
    return lines


def measure_text(measurements: tuple[Measurement, ...]) -> str:
    """The answer of ``drybuild measure``."""
    if not measurements:
        return "Nothing undecided that a measurement would settle."
    lines = ["Measure next, most settled per minute first", ""]
    for number, m in enumerate(measurements, 1):
        lines.append(_wrap(f"{number:>3}  {measurement_text(m)}", 5))
        lines.append(_wrap(f"     {m.doc}; {m.how}", 5))
        shown = ", ".join(f"{c} {s}" for c, s in m.findings[:3])
        more = f" and {len(m.findings) - 3} more" if len(m.findings) > 3 else ""
        lines.append(_wrap(f"     bears on {shown}{more}", 5))
        lines.append(f'     write it down: drybuild note DIR {m.input} "…" --with "{m.tool}"')
    lines += ["", "Measure both sides: cars are crooked."]
    return "\n".join(lines)


def workings_text(finding: Finding, steps: tuple[Step, ...], system: System) -> str:
    """The answer of ``drybuild workings``."""
    lines = [f"{headline(finding)}: {finding.verdict}", margin_text(finding, system), ""]
    for number, step in enumerate(steps, 1):
        lines.append(f"{number:>3}  {step.title}")
        lines.append(_wrap(f"     {step.formula}", 7))
        for line in step.inputs:
            known = f"  [{line.known}]" if line.known else ""
            lines.append(_wrap(f"       {line.name} = {line.text}{known}  ({line.address})", 11))
        lines.append(_wrap(f"     → {step.result}", 7))
        lines.append(_wrap(f"     source: {step.source}", 7))
    if finding.unknowns:
        lines += ["", "Biggest unknowns (share of the margin's doubt)"]
        lines += [f"     {u.share:>4.0%}  {u.input}" for u in finding.unknowns]
    if finding.outside_range:
        lines += [
            "",
            "Outside the range of a formula",
            *(f"     {n}" for n in finding.outside_range),
        ]
    if finding.safety:
        lines += ["", _wrap(f"Care: {finding.safety}", 6)]
    return "\n".join(lines)


def fix_answer(finding: Finding, fixes: tuple[Fix, ...], system: System) -> str:
    """The answer of ``drybuild fix``."""
    lines = [f"{headline(finding)}: {finding.verdict}; {margin_text(finding, system)}", ""]
    if finding.verdict is Verdict.ENOUGH:
        return lines[0]
    if not fixes:
        lines.append(
            _wrap(
                "No single or paired setting of the adjusters in build.toml makes it enough without "
                "making another finding worse. Declare more of what you are willing to change as "
                "[[adjuster]], or change the part.",
                0,
            )
        )
        if finding.do:
            lines.append(f"The check itself says: {finding.do}")
        return "\n".join(lines)
    lines.append("One of these makes it enough, and nothing else worse (examined again with each)")
    for number, fix in enumerate(fixes, 1):
        lines.append(_wrap(f"{number:>3}  {fix_text(fix)}", 5))
        lines.append(_wrap(f"     then {margin_text(fix.after, system)}", 5))
        if fix.gained:
            also = ", ".join(f"{c} {s}" for c, s in fix.gained[:4])
            lines.append(_wrap(f"     also makes enough: {also}", 5))
        for change in fix.changes:
            lines.append(f"     {change}")
    if finding.safety:
        lines += ["", _wrap(f"Care: {finding.safety}", 6)]
    return "\n".join(lines)


def cure_text(cure: Cure, system: System) -> str:
    """The answer of ``drybuild fix`` for the whole car."""
    lines = ["Taken one after the other, each the smallest that the build allows", ""]
    for number, fix in enumerate(cure.fixes, 1):
        lines.append(_wrap(f"{number:>3}  {fix_text(fix)}", 5))
        lines.append(_wrap(f"     for {headline(fix.before)}", 5))
        lines.append(_wrap(f"     then {margin_text(fix.after, system)}", 5))
    if not cure.fixes:
        lines.append("     none of the adjusters in build.toml cures anything that is open")
    if cure.left:
        lines += ["", "Left, for no declared adjuster cures it"]
        lines += _one_each(list(cure.left))
    open_ones = [f for f in cure.after.findings if f.armed and f.margin is None]
    if open_ones:
        lines += ["", "Still to be measured"]
        lines += _one_each(open_ones)
    before, after = joint_text(cure.before.joint_chance), joint_text(cure.after.joint_chance)
    count = _count(len(cure.fixes), "fix") if len(cure.fixes) == 1 else f"{len(cure.fixes)} fixes"
    lines += ["", f"all of it enough at once: {before} as planned, {after} with the {count}"]
    stopped = [u.use for u in cure.after.uses if not u.allowed]
    if stopped:
        lines.append(f"still stopped: {', '.join(stopped)}")
    lines += ["", _wrap(CAUTION, 0)]
    return "\n".join(lines)


def _one_each(findings: list[Finding]) -> list[str]:
    return [
        _wrap(f"     {headline(f)}{f' ({also})' if also else ''}{f': {f.why}' if f.why else ''}", 7)
        for f, also in first_of_each(findings)
    ]


def _wrap(text: str, indent: int) -> str:
    if len(text) <= WIDTH:
        return text
    return fill(
        text, WIDTH, subsequent_indent=" " * indent, drop_whitespace=True,
        break_long_words=False, break_on_hyphens=False, replace_whitespace=False,
    )  # fmt: skip
