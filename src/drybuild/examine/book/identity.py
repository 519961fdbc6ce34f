"""Which car it is, and what is on it: numbers, serials, approval marks, date codes."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from drybuild.build.declared import declaration
from drybuild.build.drawn import stated
from drybuild.build.fixings import in_own_words, of_the_other
from drybuild.build.kinds import place_of, places
from drybuild.build.model import Part
from drybuild.build.state import instances_of
from drybuild.examine.book.records import Worked, done
from drybuild.examine.held_by import all_held_by, held_by
from drybuild.examine.opened import OpenBuild
from drybuild.findings import SIDES
from drybuild.values import HowKnown, Value

WORDS = {
    "chassis_number": "chassis number", "plate": "registration plate",
    "engine_number": "engine number", "gearbox_number": "gearbox number",
    "odometer": "odometer", "colour": "colour",
}  # fmt: skip
CALLED = "what car it is"
OF_THE_PAPERS = {
    "jurisdiction": "registered in", "category": "category", "body": "body",
    "first_registered": "first registered", "original_tyres": "tyres on the placard",
    "seats": "seats by the papers",
}  # fmt: skip


LOOSE = {
    "wheels": ("wheel", "tyre"), "spring_units": ("spring", "damper", "bump_stop"),
    "discs": ("disc",), "arms": ("arm",), "bar_links": ("bar_link",),
    "anti_roll_bar": ("anti_roll_bar",),
}  # fmt: skip
"""What of an axle can be off → the parts that lie on the bench with it."""


@dataclass(frozen=True, slots=True)
class Fact:
    """One line of the car's identity. value: text or a Value; empty when nobody stated it.

    assumed: it is what is usual of such a car, and nobody said it of this one.
    """

    title: str
    value: str | Value
    by: str
    when: str = ""
    assumed: bool = False


@dataclass(frozen=True, slots=True)
class BuiltPart:
    """A part that is on the car. places: in the order of the car; codes: place → date code.

    changed: another one than in the car as found; fitted, by: from the journal, if it was it; off:
    what it is on, in words, where that is off the car.
    """

    id: str
    title: str
    places: tuple[str, ...]
    part: Part
    changed: bool
    fitted: str = ""
    by: str = ""
    codes: tuple[tuple[str, str], ...] = ()
    off: str = ""


def identity(opened: OpenBuild) -> tuple[Fact, ...]:
    """Numbers on the car and in its papers; a number that nobody read is said to be missing."""
    found = [_fact(opened, f"identity.{name}", title) for name, title in WORDS.items()]
    own = _fact(opened, "identity.called", CALLED)
    found += [own] if own.value else []
    for name, title in OF_THE_PAPERS.items():
        one = _fact(opened, f"registration.{name}", title)
        if one.value:
            found.append(one)
    return tuple(found)


def listed(opened: OpenBuild, name: str) -> tuple[str, ...] | None:
    """``papers`` or ``body_work`` of the identity; None where nobody said anything of it."""
    there = opened.build.stated.get(f"identity.{name}")
    return tuple(str(one) for one in there.value) if there is not None else None


def _fact(opened: OpenBuild, address: str, title: str) -> Fact:
    declared = declaration(address)
    there = stated(opened.present.state, declared) if declared is not None else None
    if there is None:
        return Fact(title, "", "")
    if address in opened.present.state.readings:
        last = [r for r in opened.journal.readings() if r.address == address][-1]
        return Fact(title, _said(there.value), f"read by {last.who}", last.at[:10])
    named = address.startswith("identity.") and not isinstance(there.value, Value)
    if there.known is HowKnown.ASSUMED and not named:  # nobody guesses a number that names the car
        return Fact(title, _said(there.value), f"assumed in {there.file}", assumed=True)
    read = there.known >= HowKnown.MEASURED
    return Fact(title, _said(there.value), "read off it" if read else f"as {there.file} states")


def _said(value: Any) -> str | Value:
    if isinstance(value, Value):
        return value
    if isinstance(value, tuple):
        return ", ".join(str(one) for one in value)
    if isinstance(value, date):
        return value.isoformat()
    return str(value)


def built_parts(opened: OpenBuild) -> tuple[BuiltPart, ...]:
    """Everything that is on the car now, changed parts first; nothing that is only planned."""
    state = opened.present.state
    groups: dict[tuple[str, str], list[str]] = {}
    for instance, part in state.fitted.items():
        if part is not None and not _has_none(opened, instance):
            groups.setdefault((part, place_of()[instance].root), []).append(instance)
    work = done(opened)
    found = [_built(opened, work, part, root, where) for (part, root), where in groups.items()]
    order = {root: n for n, root in enumerate(places())}
    root_of = {p.root: order[p.root] for p in places().values()}
    return tuple(
        sorted(found, key=lambda p: (not p.changed, root_of[place_of()[p.places[0]].root], p.id))
    )


def _has_none(opened: OpenBuild, instance: str) -> bool:
    """Whether a place is a stand-in's that this car has not: studs where bolts hold the wheel."""
    root, _, corner = instance.partition(".")
    changed = opened.present.state.place_changed(instance)
    return not changed and of_the_other(root, "", held_by(opened.present.state, corner))


def _built(
    opened: OpenBuild, work: Sequence[Worked], part: str, root: str, where: list[str]
) -> BuiltPart:
    state = opened.present.state
    changed = any(state.place_changed(one) for one in where)
    fixing = all_held_by(state)
    when, who = _fitted(work, part, where) if changed else ("", "")
    return BuiltPart(
        part, in_own_words(places()[root].title or root.replace("_", " "), fixing),
        tuple(sorted(where)),
        opened.build.parts[part], changed, when, who, _codes(opened, where),
        _off(opened, root, where),
    )  # fmt: skip


def _off(opened: OpenBuild, root: str, where: Sequence[str]) -> str:
    """What of the axle is off with it on or in it, where it is at one that is apart."""
    axles = {one.split(".")[1] for one in where if "." in one}
    for what, roots in LOOSE.items():
        if root in roots and {f"{what}_{axle}" for axle in axles} & {*opened.present.state.open}:
            return what.replace("_", " ")
    return ""


def _fitted(work: Sequence[Worked], part: str, where: list[str]) -> tuple[str, str]:
    """When the part was last fitted to one of these places, and by whom."""
    found = ("", "")
    for one in work:
        for change in one.changes:
            here = change.kind == "fit" and change.value == part
            if here and set(where) & set(instances_of(change.target)):
                found = (one.when, " and ".join(one.people))
    return found


def _codes(opened: OpenBuild, where: list[str]) -> tuple[tuple[str, str], ...]:
    """Date codes of tyres, by place; a place whose code nobody read has an empty one."""
    found = []
    for instance in sorted(where):
        declared = declaration(f"{instance}.date_code")
        if declared is None:
            return ()
        there = stated(opened.present.state, declared)
        found.append((instance, str(there.value) if there is not None else ""))
    return tuple(found)


def place_words(instances: tuple[str, ...]) -> str:
    """``front, both sides``; empty for a part of the whole car."""
    subjects = [i.partition(".")[2] for i in instances]
    if all(not s for s in subjects):
        return ""
    said: list[str] = []
    left = list(subjects)
    for axle in ("front", "rear"):
        pair = [f"{axle}.{side}" for side in SIDES]
        if set(pair) <= set(left):
            said.append(axle)
            left = [s for s in left if s not in pair]
    if said == ["front", "rear"] and not left:
        return "all four"
    return ", ".join([*said, *(s.replace(".", " ") for s in left)])
