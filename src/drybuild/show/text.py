"""What ``check`` prints: plain text, few words, the rest folded until asked for."""

from __future__ import annotations

import re
from collections.abc import Iterable

from drybuild.examine import Examination, Measurement, Owed
from drybuild.examine.measuring import in_turn
from drybuild.examine.naming import WAYS, car_name, way_to_know
from drybuild.examine.uses import do_of
from drybuild.findings import Finding, Verdict
from drybuild.findings.finding import RECALLED
from drybuild.show.lines import percent, wrapped
from drybuild.show.sentences import (
    Group,
    apart_text,
    free_text,
    group_text,
    grouped,
    headline,
    hold_texts,
    joint_of,
    joint_words,
    margin_text,
    measurement_text,
    outside_text,
    range_text,
    settled_text,
    told_first,
    use_reason,
    wanted_text,
)
from drybuild.values import System

CAUTION = (
    "No result here says that the car may be driven or that anybody may be under it. What a hand "
    "check has not recorded is not known. The maker's data, local rules and licensed people decide."
)
OF_100 = (
    "“97 in 100” counts cars: of 100 that fit every number here and its doubt, so many have the "
    "room that is wanted."
)
OF_100_SAID = re.compile(r"enough \d+ in 100")
"""How such a chance stands in a line."""

RULE_IDS = (
    "In brackets behind a rule stand its set and its name, as car.toml takes them under rules_read."
)
NOTHING_YET = "nothing changed yet"
SAY_WHAT = "say what you want to change"
"""What comes first where nothing is planned and nothing is open."""

NAMED = 3
"""Unsure findings that are named before the rest is counted."""

COMMANDS = ("try: ", "then: ", "how: ", "which: ")
ORDER = (Verdict.SHORT, Verdict.UNMEASURED, Verdict.UNSURE, Verdict.ENOUGH)


def check_text(
    examination: Examination,
    now: Examination,
    measurements: tuple[Measurement, ...],
    *,
    system: System,
    folder: str = "DIR",
    everything: bool = False,
    notes: Iterable[str] = (),
) -> str:
    """The answer of ``drybuild check``. folder: as the reader named it, for the commands shown."""
    lines = [*wrapped(title_text(examination), 2), ""]
    lines += _uses(examination, now)
    lines += ["", "First", *_first(examination, measurements, system, folder, everything)]
    lines += ["", *wrapped(counts_text(examination), 2)]
    lines += [] if everything else unsure_lines(examination, system)
    rest = [*_stops(examination), *_owed(examination)] if everything else (
        _owed_in_short(examination)
    )
    last = _everything(examination, system) if everything else []
    if any(OF_100_SAID.search(" ".join(some)) for some in (lines, rest, last)):
        lines += wrapped(OF_100, 2)
    lines += rest
    for note in notes:
        lines += wrapped(f"note: {note}", 6)
    if everything:
        lines += ["", *last, *_brackets(examination, folder)]
    else:
        state = "" if examination.state.name == "finished" else f" --state {examination.state.name}"
        lines += wrapped(
            f"more: drybuild check {folder}{state} --all for every reason and finding; "
            f"drybuild workings {folder} CHECK PLACE for the numbers behind one",
            6,
        )
    lines += ["", *wrapped(CAUTION, 0)]
    return "\n".join(lines)


def counts_text(examination: Examination) -> str:
    """How many findings say what: those that the changes concern, and beside them the others."""
    armed = [f for f in examination.findings if f.armed]
    chosen = armed or list(examination.findings)
    said = " · ".join(f"{sum(f.verdict is v for f in chosen)} {v}" for v in Verdict)
    rest = len(examination.findings) - len(armed)
    if not armed:
        return f"{said}, all of the car as found: they stop nothing"
    return said + (f", and {rest} of what no change touches: they stop nothing" if rest else "")


def unsure_lines(examination: Examination, system: System) -> list[str]:
    """Of the car as it is driven: what is unsure and matters for a use, though it stops none."""
    chosen = [
        f for f in examination.findings
        if f.armed and f.stops and not f.stopping and f.verdict is Verdict.UNSURE
    ]  # fmt: skip
    if not examination.is_present or not chosen:
        return []
    found = alike(sorted(chosen, key=lambda f: f.weight), examination, system)
    lines = []
    for group in found[:NAMED]:
        f = group.finding
        said = f"{headline(f, group.subjects)}: {margin_text(f, system)}"
        said = "; ".join(filter(None, (said, wanted_text(f, system))))
        lines += wrapped(f"  unsure, for {', '.join(f.stops)}: {said}", 4)
    more = len(found) - NAMED
    return [*lines, *([f"  and {more} more unsure: --all"] if more > 0 else [])]


def state_words(name: str) -> str:
    """A state's name as the end of *what it may do …*."""
    if name == "now":
        return "today"
    return "when finished" if name == "finished" else name.replace(":", " ", 1)


def unchanged(examination: Examination) -> bool:
    """Whether nothing of the car that was asked about is changed."""
    state = examination.state
    return not state.changes and not any(state.place_changed(p) for p in state.fitted)


def nothing_planned(examination: Examination) -> bool:
    """Whether nothing is changed yet, and nothing is said of what is to be."""
    return unchanged(examination) and not examination.state.build.jobs


def title_text(examination: Examination) -> str:
    """The build and what of it changed, in one line."""
    state = examination.state
    name = state.build.head.name
    changed = [p for p in state.fitted if state.place_changed(p)]
    parts = len({state.fitted[p] for p in changed} - {None})
    if unchanged(examination):
        return f"{name} · as it stands today: {NOTHING_YET}"
    if state.name == "now":
        return f"{name} · as it stands today: {_count(parts, 'part')} changed"
    what = "finished as planned" if state.name == "finished" else state_words(state.name)
    return (
        f"{name} · {what}: {_count(parts, 'part')} changed at {_count(len(changed), 'place')}"
        " · not yet checked by hand"
    )


def _count(n: int, word: str) -> str:
    return f"{n} {word}" if n == 1 else f"{n} {word}s"


def _uses(examination: Examination, now: Examination) -> list[str]:
    if nothing_planned(examination) and not examination.is_present:
        return ["What it may do today", f"  {today_text(now)}"]
    lines = [f"What it may do {state_words(examination.state.name)}"]
    apart = apart_text(examination)
    lines += wrapped(f"  {apart}", 4) if apart else []
    # of a car that is apart, what is stopped stands before what is not
    told = sorted(examination.uses, key=lambda use: bool(apart) and use.allowed)
    for use in told:
        said = free_text(use) if use.allowed else f"stopped   {use_reason(use)}"
        lines += wrapped(f"  {use.use:<11} {said}", 24)
    if not examination.is_present:
        lines += wrapped(f"  {'today':<11} {today_text(now)}", 14)
    if any(f.armed for f in examination.findings):
        said = ": ".join(filter(None, joint_words(joint_of(examination))))
        lines += wrapped(f"  all of it enough at once: {said}", 4)
    return lines


def today_text(now: Examination) -> str:
    """The present uses in one line."""
    stopped = [u for u in now.uses if not u.allowed]
    allowed = [f"{u.use} ({u.only})" if u.only else u.use for u in now.uses if u.allowed]
    outside = [f"{u.use}: {outside_text(u)}" for u in now.uses if u.allowed and u.outside]
    no = "no change" if outside else "nothing"
    if not stopped:
        return "; ".join([f"{no} recorded stops any use", *outside])
    held = f"stopped: {', '.join(u.use for u in stopped)} ({use_reason(stopped[0])})"
    if not allowed:
        return held
    free, apart = [f"{no} recorded stops {', '.join(allowed)}", *outside], apart_text(now)
    return "; ".join([apart, held, *free] if apart else [*free, held])


def _first(
    examination: Examination, measurements: tuple[Measurement, ...], system: System, folder: str,
    listed: bool,
) -> list[str]:
    """Three things: what stops you, what to measure, what stops you next."""
    items = first_items(examination, measurements, system, folder, listed=listed)
    lines = []
    for number, (label, words) in enumerate(items, 1):
        lines += wrapped(f"  {number}  {label:<17} {words[0]}", 23)
        for more in words[1:]:
            whole = more.startswith(COMMANDS)  # to be copied as they stand
            lines += [" " * 23 + more] if whole else wrapped(" " * 23 + more, 23)
    return lines


def first_items(
    examination: Examination, measurements: tuple[Measurement, ...], system: System, folder: str,
    *, listed: bool,
) -> list[tuple[str, list[str]]]:
    """The things to do first, at most three: a label, and lines of words.

    listed: the hand checks that are owed stand one by one below.
    """
    heavy = grouped(told_first(examination))
    items: list[tuple[str, list[str]]] = []
    if heavy:
        items.append(_stop_item(heavy[0], examination, system, folder))
    if measurements:
        first = in_turn(measurements)[0]
        asks = WAYS[way_to_know(first.input)][1].partition(" the ")[0]
        items.append((asks, measure_words(first, examination)))
    if len(heavy) > 1:
        stopped = set(heavy[0].finding.stops)
        other = next((g for g in heavy[1:] if not stopped & set(g.finding.stops)), heavy[1])
        items.append(_stop_item(other, examination, system, folder))
    if examination.is_present and len(items) < 3:
        items += _record_items(examination, folder)[: 3 - len(items)]
    if not items:
        owed = any(u.records_owed for u in examination.uses)
        if nothing_planned(examination):
            items.append(("next", say_what(folder)))
        elif owed:
            said = "make and write down the hand checks"
            look = f"which: drybuild check {folder} --all"
            items.append(("next", [f"{said} below"] if listed else [said, look]))
        elif examination.is_present and examination.state.build.jobs:
            said = "nothing asks for anything today; the car as planned:"
            items.append(("next", [said, f"then: drybuild check {folder}"]))
        else:
            items.append(("next", ["nothing asks for anything"]))
    return items


def measure_words(m: Measurement, examination: Examination) -> list[str]:
    """What to measure, how, and what comes of it."""
    how = f"{m.how}; not here yet: ask the seller" if m.awaited else m.how
    return [measurement_text(m, examination.state.build.parts), how, settled_text(m)]


def say_what(folder: str) -> list[str]:
    """What comes next where nothing is changed yet, with the commands that do it."""
    return [
        f"{SAY_WHAT}, on the page Parts or as a [[job]] in build.toml",
        f"how: drybuild serve {folder}",
        "or begin a folder with it:",
        'try: drybuild new ANOTHER-FOLDER --first "wheels and tyres, lower it"',
    ]


def _stop_item(
    group: Group, examination: Examination, system: System, folder: str
) -> tuple[str, list[str]]:
    f = group.finding
    said = [f"{headline(f, group.subjects)}: {group_text(group, system)}"]
    said += [extra for extra in (wanted_text(f, system), f.why) if extra]
    if f.pose:
        said.append(f"when: {f.pose}")
    if f.beyond:
        said.append(f"do: {do_of(f)}")
    elif f.verdict is Verdict.UNMEASURED:
        said.append(f"how: drybuild measure {folder}")
    elif f.why == RECALLED or f.waits_for == "a better word":
        said.append(f"do: {do_of(f)}")
        if f.why != RECALLED:
            said.append(f"how: drybuild measure {folder}")
    else:
        if f.do:
            said.append(f"do: {do_of(f)}")
        state = "" if examination.state.name == "finished" else f" --state {examination.state.name}"
        said.append(f"try: drybuild fix {folder} {f.check} {f.subject}{state}")
    if f.safety:
        said.append(f"care: {f.safety}")
    return f"stops {f.stops[0]}" if f.stops and f.stopping else "look at", said


def _record_items(examination: Examination, folder: str) -> list[tuple[str, list[str]]]:
    """What the present car waits for beside its findings: open work, hand checks not recorded."""
    found: dict[str, tuple[str, list[str]]] = {}
    for use in examination.uses:
        owed = {o.record: o for o in use.records_owed}
        for hold in use.holds:
            if hold.through or hold.kind == "check" or hold.check in found:
                continue
            said = [hold.why, f"do: {hold.do}"]
            if hold.check in owed:
                said.append(f"then: {_verify_command(owed[hold.check], folder)}")
            if hold.safety:
                said.append(f"care: {hold.safety}")
            found[hold.check] = (f"stops {use.use}", said)
    return list(found.values())


def _verify_command(owed: Owed, folder: str) -> str:
    asked = {"value": "--value READING", "tool": "--tool TOOL", "name": "--who NAME"}
    said = [asked[e] for e in owed.evidence if e in asked]
    if "--who NAME" not in said:
        said.append("--who NAME")
    if owed.second_person:
        said.append("--second NAME")
    return f"drybuild did {folder} --verify {owed.record} {' '.join(said)}"


def records_owed(examination: Examination) -> list[Owed]:
    """Each record owed, once, in the order of the uses that wait for it."""
    return list({o.record: o for u in examination.uses for o in u.records_owed}.values())


def _owed_in_short(examination: Examination) -> list[str]:
    owed = records_owed(examination)
    if not owed:
        return []
    two = sum(o.second_person for o in owed)
    people = f", {two} of them by two people" if two else ""
    return wrapped(
        f"{_count(len(owed), 'hand check')} not recorded yet{people}: only they, written down, "
        "release what they concern (--all lists them)",
        6,
    )


def _owed(examination: Examination) -> list[str]:
    owed = records_owed(examination)
    if not owed:
        return []
    lines = ["", "Not recorded yet (only a hand check, written down, releases these)"]
    for o in owed:
        second = ", second person" if o.second_person else ""
        lines += wrapped(f"  {o.title}: {', '.join(o.evidence)}{second}  [{o.record}]", 4)
    return lines


def _stops(examination: Examination) -> list[str]:
    """Every reason of every stopped use, with what to do."""
    lines = []
    for use in examination.uses:
        direct = [h for h in use.holds if not h.through and h.kind != "record"]
        if not direct:
            continue
        lines += ["", f"What stops {use.use}"]
        recalled = [h for h in direct if h.why.endswith(RECALLED)]
        for why, do in hold_texts(h for h in direct if h not in recalled):
            lines += wrapped(f"  {why}" + (f"; do: {do}" if do else ""), 4)
        if recalled:
            named = [why.removesuffix(f": {RECALLED}") for why, _ in hold_texts(recalled)]
            lines += wrapped(
                f"  limits recalled, not read, of: {'; '.join(named)}; do: {recalled[0].do}", 4
            )
    return lines


def _brackets(examination: Examination, folder: str) -> list[str]:
    """What the names in brackets are for."""
    if not examination.findings:
        return []
    check = next((f for f in examination.findings if f.stopping), examination.findings[0]).check
    said = f"in [ ]: a check or a record, as commands take it: drybuild workings {folder} {check}"
    owed = records_owed(examination)
    if owed:
        said += f"; drybuild did {folder} --verify {owed[0].record} …"
    rules = f" {RULE_IDS}" if any(f.rules for f in examination.findings) else ""
    return ["", *wrapped(f"{said}.{rules}", 2)]


def _everything(examination: Examination, system: System) -> list[str]:
    lines = []
    for verdict in ORDER:
        mine = (f for f in examination.findings if f.verdict is verdict)
        chosen = sorted(mine, key=lambda f: f.weight)
        if not chosen:
            continue
        lines.append(f"{verdict} ({as_counted(chosen)})")
        for group in alike(chosen, examination, system):
            lines += _finding_lines(group, examination, system)
        lines.append("")
    return lines[:-1]


def as_counted(findings: list[Finding]) -> str:
    """How many, as ``counts_text`` counts: what no change touches apart, for it stops nothing."""
    armed = sum(f.armed for f in findings)
    rest = len(findings) - armed
    if not armed and rest:
        return f"{rest}, as found"
    return f"{armed}, and {rest} as found" if rest else f"{armed}"


def alike(findings: list[Finding], examination: Examination, system: System) -> list[Group]:
    """Findings of one check that would read the same but for their place, together."""
    found: dict[tuple[str, ...], list[Finding]] = {}
    for f in findings:
        key = (f.check, str(f.armed), headline(f, ("car",)), margin_text(f, system))
        found.setdefault(key, []).append(f)
    return [Group(same[0], tuple(f.subject for f in same)) for same in found.values()]


def _finding_lines(group: Group, examination: Examination, system: System) -> list[str]:
    f = group.finding
    armed = "" if f.armed else "; as found, stops nothing"
    stops = f"; stops {', '.join(f.stops)}" if f.stopping and f.stops else ""
    lines = wrapped(
        f"  {headline(f, group.subjects)}: {margin_text(f, system)}{stops}{armed}  [{f.check}]", 4
    )
    if f.verdict is not Verdict.ENOUGH and wanted_text(f, system):
        lines += wrapped(f"      {wanted_text(f, system)}", 6)
    ranges = (range_text(note, examination, system) for note in f.outside_range)
    for note in (*f.rules, f.why, *ranges):
        if note:
            lines += wrapped(f"      {note}", 6)
    if f.verdict in (Verdict.UNSURE, Verdict.SHORT) and f.unknowns and f.why != RECALLED:
        parts = examination.state.build.parts
        top = ", ".join(f"{car_name(u.input, parts)} {percent(u.share)}" for u in f.unknowns[:3])
        lines += wrapped(f"      doubt from {top}", 6)
    if f.settles_by and f.why != RECALLED:
        lines += wrapped(f"      settled by {f.settles_by}", 6)
    return lines
