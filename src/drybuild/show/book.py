"""The build book as content: one set of words for the paper (typst) and for the page (HTML)."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from drybuild.build.part_named import for_the_shop
from drybuild.examine.book import Book, BuiltPart, Limit
from drybuild.examine.book.identity import CALLED, place_words
from drybuild.examine.book.records import Made, Worked
from drybuild.examine.book.rules import NEVER_ASSESSED, RuleRead, RulesRead
from drybuild.examine.naming import car_name, plain_name, to_be_chosen
from drybuild.examine.written import evidence_text
from drybuild.findings import Verdict
from drybuild.show import book_words as words
from drybuild.show.cards_words import clock, day_text, fingerprint_text
from drybuild.show.lines import numbers_text, percent
from drybuild.show.record import done_text, joint_name, task_words
from drybuild.show.sentences import (
    Group,
    chance_text,
    hold_texts,
    joint_of,
    joint_text,
    places,
    range_text,
    use_reason,
)
from drybuild.show.text import CAUTION, alike
from drybuild.values import System
from drybuild.work.titles import task_titles

__all__ = ["contents"]

MOST_HOLDS = 6
NOT_SAID_WHICH = "not said which part it is, of which maker"


def contents(book: Book, system: System = "metric") -> dict[str, Any]:
    """What paper and page set, as plain data. Nothing of it is worked out here."""
    imprint, build = book.imprint, book.examination.state.build
    names, titles = build.part_names, task_titles(build)
    return {
        "title": f"{_called(book) or imprint.build}: build book",
        "imprint": {
            "head": _called(book) or imprint.build,
            "build": imprint.build, "scenario": imprint.scenario, "state": imprint.state,
            "revision": imprint.revision,
            "printed": f"{day_text(imprint.made)} {clock(imprint.made)}",
            "fingerprint": fingerprint_text(imprint.fingerprint),
            "whole": imprint.fingerprint, "files": imprint.files, "journal": imprint.journal,
            "tool": f"drybuild {imprint.tool}",
        },
        "says": {
            "is": words.WHAT_IT_IS, "built": words.AS_BUILT, "fingerprint": words.FINGERPRINT,
            "found": words.HOW_FOUND, "aid": words.READING_AID, "papers": words.PAPERS_WORDS,
            "chances": words.CHANCES, "open": words.NOT_BUILT, "caution": CAUTION,
            "on-cards": words.ON_CARDS, "void": words.VOID,
            "torques": words.TORQUES,
        },
        "identity": _identity(book, system),
        "photographs": [
            {"file": p.file, "shows": p.shows, "when": _taken_when(p.taken, p.by)}
            for p in book.photographs
        ],
        "on-cards": [
            {"when": k.taken, "who": k.by, "shows": k.shows, "task": task_words(k.task, titles),
             "file": k.file, "hash": fingerprint_text(k.digest)}
            for k in book.on_cards
        ],
        "changed": [_part(p) for p in book.parts if p.changed],
        "unchanged": [_part(p) for p in book.parts if not p.changed],
        "codes": _codes(book),
        "uses": _uses(book),
        "limits": _limits(book, system),
        "readings": [
            {
                "number": f"R{r.number}", "name": r.name, "value": words.reading_text(r, system),
                "instrument": r.instrument, "calibrated": r.calibrated or "no date known",
                "who": r.who, "when": r.when, "standing": r.standing,
                "from": f"journal, entry {r.entry}" if r.entry else r.file,
            }
            for r in book.readings
        ],
        "notes": list(book.notes),
        "rules": [_rules(one) for one in book.rules],
        "not-assessed": _not_assessed(book),
        "documents": _documents(book),
        "deeds": [
            {"entry": numbers_text(d.entries), "when": d.when, "who": _who(d),
             **_done(d, titles, names)}
            for d in book.deeds
        ],
        "made": [
            {"entry": m.entry, "title": m.title, "when": m.when, "who": m.who,
             "evidence": evidence_text(m.evidence)}
            for m in _in_order(book) if not m.void
        ],
        "void": [
            {"entry": m.entry, "title": m.title, "when": m.when, "who": m.who,
             "evidence": evidence_text(m.evidence),
             "since": words.void_text(m, book.deeds, titles)}
            for m in _in_order(book) if m.void
        ],
        "owed": [
            {"title": o.title, "wanted": ", ".join(o.evidence)
             + (", second person" if o.second_person else ""),
             "places": _after(o.places)}
            for o in book.owed
        ],
        "torques": [
            {"joint": joint_name(t.joint), "figure": t.figure, "tool": t.tool, "when": t.at[:10],
             "who": t.who, "second": t.second,
             "source": "; ".join(s for s in (t.document, t.condition, t.fastener) if s)}
            for t in sorted(book.torques, key=lambda t: (t.at[:10], t.id))
        ],
        "fills": [
            {"where": f.where.replace("_", " "), "quantity": f.quantity, "product": f.product,
             "when": f.at[:10], "who": f.who}
            for f in sorted(book.fills, key=lambda f: (f.at[:10], f.id))
        ],
        "signatures": _signatures(book),
        "chances": _chances(book, system),
        "joint": _joint(book),
        "draws": book.examination.draws, "seed": book.examination.seed,
        "open": _open(book, names),
    }  # fmt: skip


def _called(book: Book) -> str:
    """What the owner says which car it is; empty where nobody said."""
    return next((str(f.value) for f in book.identity if f.title == CALLED), "")


def _in_order(book: Book) -> list[Made]:
    return sorted(book.made, key=lambda m: (m.when, m.entry))


def _who(one: Worked) -> str:
    """Who did it, and who wrote it down where that was somebody else."""
    wrote = "" if one.wrote in one.people else f"written by {one.wrote}"
    return ", ".join([" and ".join(one.people), *([wrote] if wrote else [])])


def _done(
    one: Worked, titles: Mapping[str, str], names: Mapping[str, str]
) -> dict[str, Any]:
    """A job with what it made of the car; of another task its card's title says it all."""
    made = [done_text(c, titles, names) for c in one.changes]
    if one.task.startswith("job:"):
        title = one.title or task_words(one.task, titles)
        return {"job": title if made else "", "what": made or [title]}
    return {"job": "", "what": [task_words(one.task, titles)] if one.task else made}


def _taken_when(taken: str, by: str) -> str:
    return ", ".join(s for s in (taken, f"by {by}" if by else "") if s)


def _identity(book: Book, system: System) -> dict[str, Any]:
    body = book.body_work
    return {
        "facts": [
            {"title": f.title, "value": words.as_shown(f.value, system) or words.NOT_STATED,
             "by": " ".join(s for s in (f.by, f.when) if s), "missing": not f.value,
             "assumed": f.assumed}
            for f in book.identity
        ],
        "papers": list(book.papers_of_car),
        "body": ["nothing was, so it is stated"] if body == () else list(body or ()),
        "body-stated": body is not None,
    }  # fmt: skip


def _part(one: BuiltPart) -> dict[str, Any]:
    part = one.part
    return {
        "title": one.title, "where": place_words(one.places), "name": _part_name(one),
        "standard": part.standard, "serial": part.serial or words.NOT_STATED,
        "approvals": ", ".join(part.approvals) or words.ABSENT,
        "fitted": _fitted(one),
    }  # fmt: skip


def _fitted(one: BuiltPart) -> str:
    """When and by whom; a part whose unit lies on the bench is on that, and not on the car."""
    said = f"{one.fitted} by {one.by}" if one.fitted else "as found"
    return f"{said}; with the {one.off}, which are off the car" if one.off else said


def _part_name(one: BuiltPart) -> str:
    """By the figures that the book's limits are worked out from, with its size, and what its name
    says otherwise; of one that is only of a kind to be chosen, that nobody said which it is."""
    said = for_the_shop(one.id, one.part).in_full
    return f"{said}: {NOT_SAID_WHICH}" if to_be_chosen(one.part.name or "") else said


def _codes(book: Book) -> list[dict[str, str]]:
    """Date codes of the tyres that are on it, each with its week and year."""
    found = []
    for one in book.parts:
        for place, code in one.codes:
            said = f"{code}: week {int(code[:2])} of 20{code[2:]}" if code else "not read"
            found.append({"where": place.partition(".")[2].replace(".", " "), "code": said})
    order = ("front left", "front right", "rear left", "rear right")
    return sorted(found, key=lambda c: order.index(c["where"]) if c["where"] in order else 9)


def _uses(book: Book) -> list[dict[str, Any]]:
    found = []
    for use in book.examination.uses:
        holds = hold_texts(h for h in use.holds if not h.through)
        found.append({
            "use": use.use, "stopped": not use.allowed,
            "free": words.NO_CHANGE if use.outside else words.NOTHING_RECORDED,
            "outside": len(use.outside),
            "why": [why for why, _ in holds[:MOST_HOLDS]] or (
                [use_reason(use)] if use.holds else []),
            "more": max(0, len(holds) - MOST_HOLDS),
        })  # fmt: skip
    return found


def _limits(book: Book, system: System) -> list[dict[str, Any]]:
    """What is not enough first, then the rest by system; what reads alike stands together."""
    by_finding = {(one.finding.check, one.finding.subject): one for one in book.limits}
    groups = [
        part for group in alike([one.finding for one in book.limits], book.examination, system)
        for part in _of_one_limit(group, by_finding, system)
    ]  # fmt: skip
    first = [g for g in groups if g.finding.verdict is not Verdict.ENOUGH]
    first.sort(key=lambda g: g.finding.weight)
    chosen = [("not enough, too close to call, or not known", first)]
    for room in book.examination.evaluation.registry.rooms:
        of_room = [g for g in groups if g.finding.system == room.name and g not in first]
        chosen.append((f"enough: {room.title}", of_room))
    return [
        {"title": title, "rows": [_limit(g, by_finding, system) for g in rows]}
        for title, rows in chosen if rows
    ]  # fmt: skip


def _of_one_limit(
    group: Group, by_finding: dict[tuple[str, str], Limit], system: System
) -> list[Group]:
    """A group apart where one room comes of several limits."""
    found: dict[tuple[str, ...], list[str]] = {}
    for subject in group.subjects:
        one = by_finding[group.finding.check, subject]
        found.setdefault(tuple(words.sides_texts(one, system)), []).append(subject)
    return [
        Group(by_finding[group.finding.check, same[0]].finding, tuple(same))
        for same in found.values()
    ]


def _limit(
    group: Group, by_finding: dict[tuple[str, str], Limit], system: System
) -> dict[str, Any]:
    f = group.finding
    members = [by_finding[f.check, subject] for subject in group.subjects]
    numbers = {n for one in members for n in one.readings}
    inputs = [
        f"{plain_name(line.address, seen_from=f.subject)} {line.text}, {line.known}"
        for line in members[0].inputs
    ]  # fmt: skip
    return {
        "title": f.title, "where": places(group.subjects), "pose": f.pose,
        "sides": words.sides_texts(members[0], system), "inputs": inputs,
        "found": words.found_text(f, system), "of": words.room_of(members[0]),
        "worst": words.worst_text(f, system),
        "verdict": str(f.verdict), "why": f.why, "readings": numbers_text(numbers, "R"),
        "source": str(f.source), "check": f.check,
    }  # fmt: skip


def _rules(one: RulesRead) -> dict[str, Any]:
    rules = one.rules
    valid = " to ".join(str(d) for d in (rules.valid_from, rules.valid_until) if d)
    return {
        "title": rules.title, "jurisdiction": rules.jurisdiction, "edition": rules.edition,
        "authority": rules.authority, "governs": rules.governs, "valid": valid,
        "invented": rules.invented, "rows": [_rule(r) for r in one.read], "others": one.others,
        "not-assessed": list(rules.not_assessed),
    }  # fmt: skip


def _rule(one: RuleRead) -> dict[str, Any]:
    rule = one.rule
    how = {"read": "read", "memory": "from memory", "invented": "invented"}[rule.how]
    return {
        "says": rule.says,
        "source": rule.source if rule.clause else f"{rule.source}; no clause is named",
        "how": "read by the owner" if one.read_by_owner else how, "found": _rule_found(one),
        "where": places(f.subject for f in one.findings), "outside": one.outside,
        "as-found": sorted({use for f in one.findings if not f.armed for use in f.stops}),
    }  # fmt: skip


def _rule_found(one: RuleRead) -> str:
    if not one.findings:
        return "not held against this car: what it speaks of is not known of it"
    if any(f.margin is None for f in one.findings):
        return "unmeasured"
    stand = "best estimate outside" if one.outside else "best estimate inside"
    return stand if any(f.armed for f in one.findings) else f"{stand}, as found"


def _not_assessed(book: Book) -> dict[str, Any]:
    return {
        "never": list(NEVER_ASSESSED), "unmeasured": list(book.not_assessed),
        "sets": [
            {"title": one.rules.title, "items": list(one.rules.not_assessed)} for one in book.rules
        ],
    }  # fmt: skip


def _documents(book: Book) -> list[dict[str, Any]]:
    groups: dict[str, list[dict[str, Any]]] = {}
    for one in book.documents:
        rows = groups.setdefault(one.group, [])
        if one.standard:
            continue
        rows.append({
            **_part(one.part), "documents": list(one.documents) or [words.ABSENT],
            "absent": one.absent,
        })  # fmt: skip
    standard: dict[str, int] = {}
    for one in book.documents:
        standard[one.group] = standard.get(one.group, 0) + one.standard
    return [
        {"title": title, "rows": rows, "standard": standard[title]}
        for title, rows in groups.items()
    ]


def _signatures(book: Book) -> list[dict[str, Any]]:
    head = book.head
    signed: list[tuple[str, str, str, str, tuple[str, ...]]] = [
        ("the owner declares", head.owner, words.OWNER_DECLARES, "", ()),
        ("the workshop did", head.workshop, words.WORKSHOP_DID, "work done", head.workshop_scope),
        ("the engineer inspected", head.engineer, words.ENGINEER_INSPECTED,
         "scope of the inspection", head.engineer_scope),
    ]  # fmt: skip
    found = []
    for who, name, says, title, scope in signed:
        cells: list[list[Any]] = [[f"name: {name}" if name else "name", 1.4]]
        if title:
            cells.append(["licence, and number of the report", 1.0])
        cells += [["day", 0.6], ["signature", 1.4]]
        found.append({
            "who": who, "name": name, "says": says, "scope-title": title, "scope": list(scope),
            "cells": cells,
        })  # fmt: skip
    return found


def _chances(book: Book, system: System) -> dict[str, Any]:
    """Each finding that is not enough in every draw; the others by name alone."""
    rows: list[dict[str, str]] = []
    always: dict[str, list[str]] = {}
    for group in alike([one.finding for one in book.limits], book.examination, system):
        f, where = group.finding, places(group.subjects)
        if f.chance is None or f.kind == "match":
            continue
        if f.chance >= 1:
            always.setdefault(f.title, []).extend(group.subjects)
            continue
        parts = book.examination.state.build.parts
        top = ", ".join(
            f"{car_name(u.input, parts)} {percent(min(u.share, 1))}" for u in f.unknowns[:3]
        )
        notes = [range_text(n, book.examination, system) for n in f.outside_range]
        rows.append({
            "title": f.title, "where": where, "chance": chance_text(f.chance), "doubt": top,
            "notes": "; ".join(notes),
        })  # fmt: skip
    said = {title: places(where) for title, where in always.items()}
    return {
        "rows": rows,
        "always": [f"{title}, {where}" if where else title for title, where in said.items()],
    }


def _joint(book: Book) -> list[dict[str, str]]:
    whole = [{"what": "all of it at once", "chance": joint_of(book.examination).chance}]
    return whole + [
        {"what": f"all that bears on: {use.use}", "chance": joint_text(use.joint_chance)}
        for use in book.examination.uses if use.joint_chance is not None
    ]  # fmt: skip


def _after(changed: Iterable[str]) -> str:
    """Where that was changed for which a check is owed."""
    said = places(p.partition(".")[2] for p in changed if "." in p)
    return f"after work at {said}" if said else ""


def _open(book: Book, names: Mapping[str, str]) -> list[dict[str, Any]]:
    """What is planned; with the day that a job is booked for, where any is."""
    dated = any(j.session for j in book.still_open)
    return [
        {"title": j.title or j.id,
         "session": _day_of(book, j.session) or ("not booked" if dated else ""),
         "what": [f"{plain_name(p)}: {names.get(part, part)}" for p, part in j.fit.items()]}
        for j in book.still_open
    ]  # fmt: skip


def _day_of(book: Book, session: str) -> str:
    """The day of a work session; its id where it has none."""
    days = {s.id: s.date for s in book.examination.state.build.sessions}
    return str(days.get(session) or session)
