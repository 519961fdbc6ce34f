"""Two parts for one place in sentences: what differs in them, and what moves in the car."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass

from drybuild.build import Change, State
from drybuild.build.declared import HEAD_FIELDS, declared_addresses
from drybuild.build.kinds import part_kinds, places, room_of
from drybuild.build.state import instances_of
from drybuild.examine import Examination
from drybuild.examine.catalogue.moved import moves
from drybuild.examine.lookup import Present
from drybuild.examine.opened import OpenBuild
from drybuild.findings import AXLES
from drybuild.show.sentences import Joint, joint_of, use_reason
from drybuild.show.tyre_grows import grows_text
from drybuild.show.what_fits import MovedLine, moved_lines
from drybuild.values import System

NOT_SAID = ("not stated", "nothing fitted there")


BOLTED = ("ride", "brakes")
"""Rooms whose parts are made for one axle: its eyes, pins and mountings are in no file."""


@dataclass(frozen=True, slots=True)
class Said:
    """A figure or word of two parts: of the one that is tried, and of the other."""

    name: str
    here: str
    there: str


@dataclass(frozen=True)
class Comparison:
    """What is said of another part at a place.

    facts: what the papers of the two say differently; moved: axle, empty for the car, and what
    moves there; uses: those that it stops or frees; joint: of the car before and after.
    """

    place: str
    facts: tuple[Said, ...]
    moved: tuple[tuple[str, tuple[MovedLine, ...]], ...]
    uses: tuple[str, ...]
    joint: tuple[Joint, Joint]


def fitted_at(state: State, place: str) -> str:
    """The part at a place or group, when it is one; else nothing."""
    found = {state.fitted.get(instance) for instance in instances_of(place)}
    return (next(iter(found)) or "") if len(found) == 1 else ""


def is_bolted(place: str) -> bool:
    """Whether what goes to a place of an axle is made for that axle."""
    root, _, axle = place.partition(".")
    return axle in AXLES and room_of().get(root) in BOLTED


def meant_for(states: Iterable[State], place: str, part: str) -> str:
    """The other axle, where a part is made for that one: it is or was to be there and never here,
    or it is nowhere and its name says so. Empty where it is not."""
    if not is_bolted(place):
        return ""
    axle, known = place.partition(".")[2], ""
    other = next(a for a in AXLES if a != axle)
    on: set[str] = set()
    for state in states:
        on |= {at.split(".")[1] for at, name in state.fitted.items() if name == part and "." in at}
        known = state.build.parts[part].name or part
    if on:
        return other if on == {other} else ""
    words = re.findall(r"[a-z]+", known.lower())
    return other if other in words and axle not in words else ""


def with_part(state: State, place: str, part: str) -> tuple[Change, ...]:
    """The Changes that put a part at a place; none where it is there. Raises ChangeRefused."""
    change = Change("fit", place, part)
    state.after([change])
    return () if fitted_at(state, place) == part else (change,)


def compared(
    opened: OpenBuild, place: str, first: State, second: State,
    before: Examination, after: Examination, system: System,
) -> Comparison:  # fmt: skip
    """Sentences on ``second`` against ``first``, which differ in the part at ``place`` alone."""
    axles = [axle for axle in AXLES if place.endswith(f".{axle}")] or list(AXLES)
    return Comparison(
        place, tuple(_facts(opened, place, first, second, system)),
        _moved({axle: _lines(before, after, axle, system) for axle in axles}),
        tuple(_uses(before, after)), (joint_of(before), joint_of(after)),
    )  # fmt: skip


def _lines(
    before: Examination, after: Examination, axle: str, system: System
) -> tuple[MovedLine, ...]:
    grows = grows_text(before, after, axle, system)
    lines = moved_lines(moves(before, after, axle), system)
    return (*lines, MovedLine(grows)) if grows else lines


def _moved(
    by_axle: dict[str, tuple[MovedLine, ...]],
) -> tuple[tuple[str, tuple[MovedLine, ...]], ...]:
    """What moves at each axle; what is the same at all that were looked at is of the car."""
    first, *others = by_axle.values()
    car = tuple(line for line in first if all(line in lines for lines in others))
    own = {a: tuple(line for line in ls if line not in car) for a, ls in by_axle.items()}
    return tuple((axle, lines) for axle, lines in {"": car, **own}.items() if lines)


def _facts(
    opened: OpenBuild, place: str, first: State, second: State, system: System
) -> list[Said]:
    """What the two parts' own papers say differently."""
    owner = instances_of(place)[0]
    one, other = Present(opened, system), Present(opened, system)
    said = []
    for address, declared in declared_addresses().items():
        plain = len(declared.path) == 1 and declared.path[0] in HEAD_FIELDS
        if declared.owner != owner or plain:
            continue
        size = max(one.size(address, first), other.size(address, second))
        was, now = one.at(address, first, size=size), other.at(address, second, size=size)
        curves = was.startswith("a curve") and now.startswith("a curve")
        if was == now or curves or set(NOT_SAID) >= {was, now}:
            continue
        said.append(Said(declared.plain, _or_unsaid(now), _or_unsaid(was)))
    return said


def _or_unsaid(words: str) -> str:
    return "not stated" if words in NOT_SAID else words


def _uses(before: Examination, after: Examination) -> list[str]:
    said = []
    for use in after.uses:
        was = before.use(use.use)
        if was.allowed and not use.allowed:
            said.append(f"{use.use} is stopped with it: {use_reason(use)}")
        elif use.allowed and not was.allowed:
            said.append(f"nothing recorded stops {use.use} with it")
    return said


def kinds_by_place() -> dict[str, str]:
    """Kind of part → what it is, in the first line of its model."""
    return {
        kind: (model.__doc__ or kind).strip().split("\n")[0].rstrip(".")
        for kind, model in sorted(part_kinds().items())
    }


def rooms_of_kinds() -> dict[str, list[str]]:
    """Room → the kinds of parts that go to its places, each kind once, in the rooms' order."""
    found: dict[str, list[str]] = {}
    met: set[str] = set()
    for place in places().values():
        if place.kind not in met:
            met.add(place.kind)
            found.setdefault(room_of()[place.root], []).append(place.kind)
    found.setdefault("", []).extend(sorted(set(part_kinds()) - met))
    return {room: sorted(kinds) for room, kinds in found.items() if kinds}
