"""Usual cures in words: what is offered, what its part has to be, what is to be asked of it."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from drybuild.build import Build
from drybuild.build.declared import declaration
from drybuild.build.model import Part
from drybuild.build.state import instances_of
from drybuild.examine import Examination
from drybuild.examine.amounts import Needed, needed, planned
from drybuild.examine.usual import Offer, wanted_at
from drybuild.findings import Finding, Verdict
from drybuild.findings.finding import BEST_ESTIMATE
from drybuild.show.lines import listed, wrapped
from drybuild.show.sentences import (
    chance_text,
    grouped,
    headline,
    margin_text,
    places,
    rest_text,
)
from drybuild.values import HowKnown, System, Value, show, show_number

TO_CHOOSE = "Planned, with a part still to be chosen"


@dataclass(frozen=True, slots=True)
class AskedOf:
    """A fact to be asked of the chosen part. at: where it is written down; guess: what is taken
    until then, empty where nothing is; stands: what its file says by a better word than a guess."""

    at: str
    part: str
    doc: str
    guess: str
    stands: str = ""


def offer_title(offer: Offer) -> str:
    """``adjustable camber, front and rear``."""
    where = places(place.partition(".")[2] or "car" for place in offer.parts)
    return f"{offer.usual.title}, {where}" if where else offer.usual.title


def wanted_of(offer: Offer, examination: Examination, system: System) -> tuple[str, ...]:
    """What the part has to be, as this car is planned: a figure with its doubt for each place."""
    said = [_lacks(offer, place, system) for place in offer.parts if offer.usual.lacks]
    for place, address in zip(offer.parts, wanted_at(offer), strict=False):
        outcome = examination.evaluation.get(address)
        found = examination.evaluation.registry.instances(examination.state.build.blends)
        if not outcome.known or outcome.value is None:
            continue
        column = np.asarray(outcome.value, dtype=np.float64)
        low, middle, high = np.nanquantile(column, (0.025, 0.5, 0.975))
        figure = show(found[address][0].kind, float(middle), float(low), float(high), system=system)
        where = place.partition(".")[2]
        said.append(f"{offer.usual.wanted[1]}, {where}: {figure}".replace(", :", ":"))
    return tuple(said)


def for_check(offer: Offer, check: str) -> Offer:
    """The cure as far as it is for one check, at the axles where that asks for it."""
    mine = tuple(f for f in offer.findings if f.check == check)
    parts = {p: part for p, part in offer.parts.items() if _asked_at(p, mine)}
    return replace(offer, findings=mine, parts=parts)


def _asked_at(place: str, findings: tuple[Finding, ...]) -> bool:
    axle = place.partition(".")[2]
    return any(f.subject.startswith(axle) or f.subject == "car" for f in findings)


def others_want(offer: Offer, check: str, examination: Examination, system: System) -> list[str]:
    """What its other findings want of the same part, each by itself."""
    if not offer.usual.lacks:
        return []
    titles = {f.check: f.title for f in offer.findings if f.check != check}
    return [
        f"{title} wants for itself {words}"
        for other, title in titles.items()
        for words in wanted_of(for_check(offer, other), examination, system)
    ]


def unsaid_of(offer: Offer) -> str:
    """What nobody knows before the parts are chosen, in words; empty where nothing is so."""
    where = instances_of(offer.usual.place)[0]
    known = (declaration(f"{where}.{fact}") for fact in offer.usual.unsaid)
    return listed(fact.plain for fact in known if fact is not None)


def _lacks(offer: Offer, place: str, system: System) -> str:
    """What is short at a place, at its worst, as what the part has to make up for."""
    axle = place.partition(".")[2]
    mine = [f for f in offer.findings if f.margin is not None and f.subject.startswith(axle)]
    worst = min(mine, key=lambda f: f.margin.median if f.margin is not None else 0.0)
    m = worst.margin
    assert m is not None  # only those with one are looked at
    figure = show(worst.kind, max(-m.median, 0.0), max(-m.high, 0.0), -m.low, system=system)
    return f"{offer.usual.lacks}, {axle}: {figure}".replace(", :", ":")


def asked_of(offer: Offer, build: Build) -> tuple[AskedOf, ...]:
    """What to read off the chosen parts, or to measure on them."""
    found = []
    for address in offer.asked:
        _, part, fact = address.split(".")
        place = next(place for place, one in offer.parts.items() if one == part)
        declared = declaration(f"{instances_of(place)[0]}.{fact}")
        known = build.parts.get(part)
        name = (known.name if known is not None else "") or part
        guess = str(offer.at(place).facts.get(fact, ""))
        doc = declared.doc if declared is not None else fact.replace("_", " ")
        stands = _said_of(known, fact, build, guessed=bool(guess))
        found.append(AskedOf(address, name, doc, "" if stands else guess, stands))
    return tuple(found)


def _said_of(part: Part | None, fact: str, build: Build, *, guessed: bool) -> str:
    """A fact as the part's file states it; empty where nobody did.

    guessed: one that was written as a guess stays one until a better word is there.
    """
    value = getattr(part, fact, None)
    if isinstance(value, Value):
        if guessed and value.how is HowKnown.ASSUMED:
            return ""
        return show(value.kind, value.median, *value.interval, system=build.head.units)
    return "" if value is None else str(value)


def turned(
    findings: tuple[Finding, ...], after: Examination, system: System
) -> tuple[tuple[str, str, str], ...]:
    """(what, before, after) of findings that a cure is for, its places together."""
    rows = []
    for group in grouped(findings):
        f = group.finding
        then = next((g for g in after.findings if (g.check, g.subject) == (f.check, f.subject)), f)
        head = headline(f.but(when_short=f.title), group.subjects)
        rows.append((head, _said(f, system), _said(then, system)))
    return tuple(rows)


def _said(finding: Finding, system: System) -> str:
    """The verdict, unless the room says it already, and the room."""
    room = margin_text(finding, system)
    begun = finding.verdict is Verdict.UNMEASURED or room.startswith(str(finding.verdict))
    return room if begun else f"{finding.verdict}: {room}"


def needed_text(one: Needed, system: System) -> str:
    """What a part has to be: ``range, front: 0.6 deg or more makes it enough``."""
    known = declaration(f"{instances_of(one.place)[0]}.{one.fact}")
    axle = one.place.partition(".")[2]
    what = (known.plain if known is not None else one.fact) + (f", {axle}" if axle else "")
    figure = show_number(one.kind, one.value, system)
    chance = chance_text(one.finding.chance)
    if one.enough:
        return f"{what}: {figure} or {'more' if one.more else 'less'} makes it enough ({chance})"
    rest = rest_text(one.finding)
    if (one.finding.chance or 0.0) < BEST_ESTIMATE:
        said = f"{what}: none makes it enough, at best {chance}"
        return f"{said}; first {rest}" if rest else said
    said = f"{what}: {figure} makes it as good as it gets, {chance}"
    return f"{said}; for the rest: {rest}" if rest else said


def to_choose(
    examination: Examination, system: System, checks: frozenset[str] = frozenset()
) -> tuple[str, ...]:
    """What planned parts that are still to be chosen have to be, for what they leave open of these
    checks; of all where none is named."""
    return tuple(
        f"{offer.usual.title}: {needed_text(one, system)}"
        for offer in planned(examination)
        if not checks or checks & {f.check for f in offer.findings}
        for one in needed(examination, offer)
    )


def has_to_be(offer: Offer, examination: Examination, system: System) -> tuple[str, ...]:
    """What its parts have to be so that it is enough; else what the shortfall says of them."""
    found = tuple(needed_text(one, system) for one in needed(examination, offer))
    return found or wanted_of(offer, examination, system)


def offers_text(
    offers: tuple[Offer, ...], examination: Examination, system: System, command: str
) -> str:
    """What ``fix`` adds of usual cures; command: the one that adds, without the name."""
    if not offers:
        return ""
    lines = ["Usual cures, not in this build yet"]
    for offer in offers:
        lines += wrapped(f"     {offer.usual.name:<11} {offer_title(offer)}", 17)
        for words in (*has_to_be(offer, examination, system), offer.say):
            lines += wrapped(f"{'':17}{words}", 17) if words else []
        if unsaid_of(offer):
            words = f"whether it cures is known once you know the part's {unsaid_of(offer)}"
            lines += wrapped(f"{'':17}{words}", 17)
    lines += wrapped(f"To plan one: {command} --add NAME. Whether it cures is worked out then.", 2)
    return "\n".join(lines)


def added_text(
    offer: Offer, job: str, after: Examination, system: System, folder: str
) -> str:  # fmt: skip
    """What was added to the plan, what became of the findings, and what to ask of the part."""
    lines = wrapped(f"Planned now: {offer_title(offer)}: job {job!r} in build.toml", 2)
    for what, before, then in turned(offer.findings, after, system):
        lines += wrapped(f"  {what}", 4)
        lines += wrapped(f"    was   {before}", 10)
        guess = "on the guess below " if offer.usual.facts else ""
        lines += wrapped(f"    now   {guess}{then}", 10)
    has = needed(after, offer)
    if has:
        lines += ["", "What the parts have to be, all else as it is known today"]
    for need in has:
        lines += wrapped(f"  {needed_text(need, system)}", 4)
    asked = asked_of(offer, after.state.build)
    if asked:
        lines += ["", "To read off the parts that you choose, or to measure on them"]
    for one in asked:
        guess = f"; until then {one.guess}, a guess" if one.guess else ""
        guess = f"; it is stated: {one.stands}" if one.stands else guess
        lines += wrapped(f"  {one.part}: {one.doc}{guess}", 4)
        lines.append(f"    drybuild note {folder} {one.at} READING --who NAME")
    return "\n".join(lines)
