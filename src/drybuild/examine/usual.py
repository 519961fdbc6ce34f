"""Usual cures: parts that are commonly fitted where a finding stops a use.

Which they are is data, ``usual.toml``. A cure is offered where nobody has planned another part yet
and where measuring would not do. Added, its part lies in ``parts/`` with what is usual guessed wide
and the rest unsaid; whether it cures is said by the next examination, never here.
"""

from __future__ import annotations

import tomllib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from functools import cache
from importlib.resources import files
from types import MappingProxyType
from typing import Any

from drybuild.build import Build, Change, State, read_build
from drybuild.build.declared import declaration
from drybuild.build.drawn import stated
from drybuild.build.editing import add_job, add_part, one_at_a_time
from drybuild.build.kinds import places
from drybuild.build.state import instances_of
from drybuild.examine.examination import Examination
from drybuild.findings import AXLES, SIDES, Finding, Verdict
from drybuild.findings.finding import BEST_ESTIMATE
from drybuild.values import Value

ADDED = "parts/added.toml"
GUESS = "a guess, wide: usual of such parts; yours says it"
KEPT = "as of the part before it, until yours says otherwise"
NO_RODS = 0.001
"""rad, about 0.06 deg; an axle whose wheels can be set by less than this has nothing to set."""
UNSAID = "not known yet"


@dataclass(frozen=True, slots=True)
class Usual:
    """A usual cure. part: what its part is called until one is chosen; facts: what is usual of it;
    words: what is so of it; keeps: facts taken over from the part that is there; unsaid: those that
    only the chosen one tells; wanted: a result, and what that says in words; lacks: what the
    shortfall itself says of the part, in words; amount: a fact, the least that is tried of it, the
    most, and the step; beam: what is usual instead at an axle without links."""

    name: str
    title: str
    checks: tuple[str, ...]
    place: str
    axles: tuple[str, ...]
    part: str
    facts: Mapping[str, Any]
    words: Mapping[str, Any]
    keeps: tuple[str, ...]
    unsaid: tuple[str, ...]
    wanted: tuple[str, str]
    lacks: str
    say: str
    amount: tuple[str, ...] = ()
    beam: Usual | None = None

    @property
    def kind(self) -> str:
        """The kind of its part."""
        return places()[self.place].kind


@dataclass(frozen=True)
class Offer:
    """A usual cure for findings of a car. parts: place → id of the part that goes there; before:
    place → id of the part that is there."""

    usual: Usual
    findings: tuple[Finding, ...]
    parts: Mapping[str, str]
    before: Mapping[str, str]

    @property
    def say(self) -> str:
        """What to think of with it, of the places where it goes."""
        return "; ".join(dict.fromkeys(filter(None, (self.at(p).say for p in self.parts))))

    def at(self, place: str) -> Usual:
        """What is usual at a place: shims at a beam, arms where there are any."""
        beam, root = self.usual.beam, place.partition(".")[0]
        return beam if beam is not None and root == beam.place else self.usual

    def called(self, place: str) -> str:
        """What its part at a place is called until one is chosen."""
        return f"{place.partition('.')[2]} {self.at(place).part}".strip()

    @property
    def changes(self) -> tuple[Change, ...]:
        """What it does to the car, once its parts are in the folder."""
        return tuple(Change("fit", place, part) for place, part in self.parts.items())

    @property
    def asked(self) -> tuple[str, ...]:
        """Addresses that the chosen part is to be asked: what is unsaid first, then the guesses."""
        return tuple(
            f"part.{part}.{fact}"
            for place, part in self.parts.items()
            for fact in (*self.usual.unsaid, *self.at(place).facts)
        )


@cache
def usual_cures() -> Mapping[str, Usual]:
    """Every usual cure by its name."""
    text = files("drybuild.examine").joinpath("usual.toml").read_text(encoding="utf-8")
    return MappingProxyType({name: _usual(name, t) for name, t in tomllib.loads(text).items()})


def _usual(name: str, table: Mapping[str, Any]) -> Usual:
    wanted = table.get("wanted", {})
    found = Usual(
        name, table["title"], tuple(table["checks"]), table["place"],
        tuple(table.get("axles", AXLES)), table["name"], MappingProxyType(table.get("facts", {})),
        MappingProxyType(table.get("words", {})), tuple(table.get("keeps", ())),
        tuple(table.get("unsaid", ())), (wanted.get("result", ""), wanted.get("words", "")),
        table.get("lacks", ""), table.get("say", ""), tuple(table.get("amount", ())),
    )  # fmt: skip
    beam = table.get("on_a_beam")
    if beam is None:
        return found
    facts = MappingProxyType(beam["facts"])
    shims = replace(found, place=beam["place"], part=beam["name"], facts=facts, say=beam["say"])
    return replace(found, beam=shims)


def offers(examination: Examination) -> tuple[Offer, ...]:
    """The usual cures of what stops this car, in the order in which they are written down.

    What waits only for a measurement is to be measured, not cured; what stops nothing is offered
    a cure where it is likelier short than not.
    """
    asking = [f for f in examination.findings if _asks(f)]
    found = (offer_of(usual, asking, examination.state) for usual in usual_cures().values())
    return tuple(offer for offer in found if offer is not None)


def _asks(finding: Finding) -> bool:
    if finding.stopping:
        return not finding.waits_for
    open_still = finding.armed and finding.verdict in (Verdict.SHORT, Verdict.UNSURE)
    return open_still and (finding.chance or 0.0) < BEST_ESTIMATE


def beside(found: Iterable[Offer], after: Examination) -> tuple[Offer, ...]:
    """Those that are for something which is still open after the build's own fixes."""
    left = {(f.check, f.subject) for f in after.findings if _asks(f)}
    return tuple(o for o in found if any((f.check, f.subject) in left for f in o.findings))


def offer_of(usual: Usual, findings: Iterable[Finding], state: State) -> Offer | None:
    """The cure for those of the findings that it is for; None where it is for none of them."""
    parts: dict[str, str] = {}
    mine = []
    for finding in findings:
        targets = targets_of(usual, finding.subject, state) if finding.check in usual.checks else ()
        open_ones = [t for t in targets if not any(map(state.place_changed, instances_of(t)))]
        if open_ones:
            mine.append(finding)
            parts |= {target: _id(usual, target, state.build) for target in open_ones}
    before = {t: part for t in parts if (part := state.fitted.get(instances_of(t)[0]))}
    return Offer(usual, tuple(mine), dict(sorted(parts.items())), before) if mine else None


def _without_links(state: State, axle: str) -> bool:
    """Whether an axle has no track rods or links that set its wheels."""
    value = said_at(state, f"axle.{axle}.toe_range")
    return isinstance(value, Value) and not value.same_as and value.interval[1] < NO_RODS


def _driven(state: State, axle: str) -> bool:
    """Whether an axle is known to be driven: without links it is a live one."""
    return said_at(state, "car.drive") in (axle, "all")


def said_at(state: State, address: str) -> Any:
    declared = declaration(address)
    found = stated(state, declared) if declared is not None else None
    return found.value if found is not None else None


def targets_of(usual: Usual, subject: str, state: State) -> tuple[str, ...]:
    """Where it goes for a finding: the axle at which that is, or all of its axles."""
    if places()[usual.place].per == "car":
        return (usual.place,)
    axle = subject.partition(".")[0]
    at = ((_place(usual, a, state), a) for a in usual.axles if axle in (a, "car"))
    return tuple(f"{place}.{a}" for place, a in at if place)


def _place(usual: Usual, axle: str, state: State) -> str:
    """Its place at an axle; none at a live axle, where nothing sets camber or toe."""
    if usual.beam is None or not _without_links(state, axle):
        return usual.place
    return "" if _driven(state, axle) else usual.beam.place


def stem_of(usual: Usual, target: str) -> str:
    """How the id of its part at a place begins."""
    axle = target.partition(".")[2]
    return "_".join(word for word in ("my", usual.name.replace("-", "_"), axle) if word)


def _id(usual: Usual, target: str, build: Build) -> str:
    """The part's id: one that lies there from an earlier try is taken again."""
    root, stem = target.partition(".")[0], stem_of(usual, target)
    number, found = 2, stem
    while found in build.parts and getattr(build.parts[found], "kind", "") != places()[root].kind:
        found, number = f"{stem}_{number}", number + 1
    return found


def add_parts(build: Build, offer: Offer) -> Build:
    """Write its parts that are not in the folder yet; returns the build read with them.

    Raises EditRefused where somebody else writes the file in that moment.
    """
    with one_at_a_time:
        for place, part in offer.parts.items():
            if part not in build.parts:
                _add(build, offer, place, part)
                build = read_build(build.root)
    return build


def _add(build: Build, offer: Offer, place: str, part: str) -> None:
    usual = offer.at(place)
    kept = _kept(build, usual, offer.before.get(place, ""))
    comments = {
        **dict.fromkeys(usual.facts, GUESS), **dict.fromkeys(kept, KEPT), **_unsaid(usual, place)
    }  # fmt: skip
    table = part_table(build, offer, place)
    add_part(build, ADDED, part, table, known="assumed", comments=comments)


def part_table(build: Build, offer: Offer, place: str) -> dict[str, Any]:
    """Its part at a place as it is written down: the guesses, and what it takes over."""
    usual = offer.at(place)
    facts = {fact: {"is": text, "by": "assumed"} for fact, text in usual.facts.items()}
    kept = _kept(build, usual, offer.before.get(place, ""))
    return {"kind": usual.kind, "name": offer.called(place), **usual.words, **kept, **facts}


BY_FIX = "planned by fix"
"""Stands behind the id of a job that ``fix`` planned: none of another kind is taken out by name."""


def plan(build: Build, offer: Offer) -> str:
    """Add the cure to the plan, as a job of build.toml; returns its id. Raises EditRefused."""
    with one_at_a_time:
        build = add_parts(build, offer)
        taken, number, name = {job.id for job in build.jobs}, 2, offer.usual.name
        while name in taken:
            name, number = f"{offer.usual.name}-{number}", number + 1
        add_job(build, name, offer.usual.title, offer.changes, comment=BY_FIX)
    return name


def _kept(build: Build, usual: Usual, before: str) -> dict[str, Any]:
    """The facts that the part takes over, as they are written of the one that is there."""
    if not usual.keeps or before not in build.part_files:
        return {}
    stated = tomllib.loads(build.files[build.part_files[before]])["part"][before]
    return {fact: stated[fact] for fact in usual.keeps if fact in stated}


def _unsaid(usual: Usual, place: str) -> dict[str, str]:
    """What is not known of the part, with what each fact means."""
    instance = instances_of(place)[0]
    found = {fact: declaration(f"{instance}.{fact}") for fact in usual.unsaid}
    return {fact: f"{UNSAID}: {d.doc}" for fact, d in found.items() if d is not None}


def wanted_at(offer: Offer) -> tuple[str, ...]:
    """Addresses of the result that says what the part has to be, one a place."""
    result = offer.usual.wanted[0]
    if not result:
        return ()
    axles = [place.partition(".")[2] for place in offer.parts]
    return tuple(result.format(corner=f"{axle}.{SIDES[0]}", axle=axle) for axle in axles)
