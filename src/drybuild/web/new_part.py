"""A new part as a form gives it: judged by the models of the folder, written into parts/*.toml."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from drybuild.build import Fault, editing
from drybuild.build.declared import (
    PRINTED_ONLY,
    Declared,
    declared_addresses,
    field_kind,
    inner_model,
    is_word,
)
from drybuild.build.editing import EditRefused, one_at_a_time
from drybuild.build.folder import parts_file
from drybuild.build.kinds import part_kinds, places
from drybuild.build.lists import is_list, list_typed
from drybuild.build.reading import check_model
from drybuild.examine.begun_alike import alike, guesses, written_of
from drybuild.examine.curve_points import Axes, CurveRefused, axes_of, through
from drybuild.examine.lookup import takes
from drybuild.examine.map_points import MapRefused, read_points, with_largest_flow
from drybuild.examine.noting import words_to_choose
from drybuild.examine.opened import OpenBuild, open_build
from drybuild.examine.usual import ADDED
from drybuild.values import KINDS, Value, ValueFault, parse_value
from drybuild.web.desk import Desk
from drybuild.web.edits import TRIES, checked

HEAD = (
    ("name", "what is written on the box"), ("maker", "who makes it"),
    ("price", "with its currency: 310 AUD"), ("serial", "serial or date code"),
    ("note", "anything worth keeping"),
)  # fmt: skip
SENSELESS: Mapping[str, frozenset[str]] = {"map": frozenset({"mass"})}
"""Kind → facts that every part has and this one cannot: nobody weighs a map."""
BARE = re.compile(r"[-+]?\d+([.,]\d+)?(\s*(±|\+/-|to)\s*\d+([.,]\d+)?)?")
"""A number, or one with its doubt, without a unit."""

NO_EFFICIENCY = "a guess: the map came without efficiency, 0.70 throughout"

SAID_FIRST = tuple(name for name, _ in HEAD)

ONE_POINT: Mapping[str, tuple[tuple[str, str, str], ...]] = {
    "pump": (("curve", "Flow", "as its box says: 255 L/h at 3 bar"),),
    "injectors": (("dead_time", "Dead time", "as its sheet says: 1.0 ms at 14 V"),),
    "alternator": (("output", "Output, hot", "as its sheet says: 90 A at 6000 rpm of its shaft"),),
}
"""Kind → curves of which whoever sells the part names one point: what it is, and an example."""


@dataclass(frozen=True, slots=True)
class PointAsked:
    """One point of a curve that the form asks for. name: of the fact; words: what it is; axes: of
    the curve, with the units of its boxes."""

    name: str
    words: str
    example: str
    axes: Axes


def points_asked(kind: str) -> tuple[PointAsked, ...]:
    """The curves of a kind of which one point is asked for."""
    found = []
    for name, words, example in ONE_POINT.get(kind, ()):
        axes = axes_of(_curve_named(kind, name))
        assert axes is not None
        found.append(PointAsked(name, words, example, axes))
    return tuple(found)


def through_points(
    opened: OpenBuild, like: str, table: dict[str, Any], given: Mapping[str, str], by: str
) -> tuple[dict[str, str], list[Fault]]:
    """Lays curves of the part's table through the points that were typed; comments, and faults.

    The shape is that of the part as which it begins, or of the first of its kind that has one.
    """
    kind, faults = str(table["kind"]), list[Fault]()
    said: dict[str, str] = {}
    for name, words, example in ONE_POINT.get(kind, ()):
        at, value = (given.get(f"{name}.{axis}", "") for axis in "xy")
        if not at.strip() and not value.strip():
            continue
        shapes = {i: written for i in dict.fromkeys((like, *alike(opened, kind)))
                  if (written := written_of(opened, i).get(name)) is not None}  # fmt: skip
        shape = next(iter(shapes), "")
        try:
            table[name], laid = through(
                _curve_named(kind, name), shapes.get(shape), at, value, by=by, known="catalogue"
            )
        except CurveRefused as error:
            whole = "a point, such as " + example.partition(": ")[2]
            faults.append(Fault("the form", None, words.lower(), str(error), whole))
            continue
        said[name] = f"{laid}, as {opened.build.part_names.get(shape, shape)}"
    return said, faults


def _curve_named(kind: str, name: str) -> Declared:
    place = next(p for p in places().values() if p.kind == kind)
    return declared_addresses()[f"{place.instances[0]}.{name}"]


@dataclass(frozen=True, slots=True)
class Asked:
    """A fact that the form asks for. takes: what is usual of it, or an example; unit: in which a
    bare number is taken; choices: the words that it takes, where it takes only some."""

    name: str
    words: str
    doc: str
    takes: str
    unit: str
    choices: tuple[str, ...]


def asked_of(kind: str) -> tuple[Asked, ...]:
    """What is asked of a part of that kind: its facts, but for curves and tables."""
    return tuple(
        Asked(d.path[0], d.path[0].replace("_", " "), d.doc, _example(d), unit_of_box(d),
              () if is_list(d) else words_to_choose(d))
        for d in _declared(kind)
    )  # fmt: skip


def _example(declared: Declared) -> str:
    """What is usual of that very fact, in words; empty where nothing is."""
    if is_list(declared):
        return f"for instance {'; '.join(words_to_choose(declared)[:2]) or 'one; another'}"
    if field_kind(declared.field) is None:
        return "" if words_to_choose(declared) else takes(declared)
    return f"usual: {declared.typical}" if declared.typical else ""


def unit_of_box(declared: Declared) -> str:
    """The unit on the label of its box, in which a number without one is taken; empty for none.

    Of a share there is none: 0.85 and 85 % are both written, and 85 alone is refused.
    """
    kind = field_kind(declared.field)
    if kind is None or is_list(declared) or KINDS[kind].dimensionless:
        return ""
    return parse_value(declared.typical or KINDS[kind].example, kind).unit


def _in_the_box(declared: Declared, text: str) -> str:
    """What was typed, with the unit of its box where it names none: ``330 ± 1`` as ``… mm``."""
    return f"{text} {unit_of_box(declared)}".strip() if BARE.fullmatch(text) else text


def hows() -> tuple[str, ...]:
    """Ways in which the figures of a part may be known."""
    return ("maker", "catalogue", "document", "assumed")


def _declared(kind: str) -> list[Declared]:
    place = next((p for p in places().values() if p.kind == kind), None)
    if place is None:
        return []
    owner = place.instances[0]
    skipped = {"kind", "standard", "approvals", *SAID_FIRST, *PRINTED_ONLY}
    skipped |= SENSELESS.get(kind, frozenset())
    return [
        d for d in declared_addresses().values()
        if d.owner == owner and len(d.path) == 1 and d.path[0] not in skipped
        and inner_model(d.field.annotation) is None and not takes(d).startswith("a curve")
    ]  # fmt: skip


def table_of(kind: str, given: Mapping[str, str], by: str) -> dict[str, Any]:
    """The part as a file would write it. by: how its figures are known."""
    table: dict[str, Any] = {"kind": kind}
    for name in SAID_FIRST:
        if given.get(name, "").strip():
            table[name] = given[name].strip()
    for declared in _declared(kind):
        name = declared.path[0]
        text = given.get(name, "").strip().replace("−", "-")
        if not text:
            continue
        if is_list(declared):
            table[name] = list_typed(declared, text)
            continue
        word = is_word(declared)
        value = _word(text, words_to_choose(declared)) if word else _in_the_box(declared, text)
        table[name] = {"is": value, "by": by} if by else value
    return table


def _word(text: str, choices: Sequence[str]) -> Any:
    if tuple(choices) == ("yes", "no"):
        return text == "yes"
    return int(text) if text.isascii() and text.isdigit() else text


def faults_of(part: str, table: Mapping[str, Any]) -> tuple[Fault, ...]:
    """All that the models find amiss in it, together."""
    faults: list[Fault] = []
    data = {"format": 1, "known": "catalogue", "part": {part: dict(table)}}
    check_model(
        parts_file(), data, file="the form", text="", at=(), known="catalogue", faults=faults
    )
    return tuple(sorted(faults))


@dataclass(frozen=True, slots=True)
class Seller:
    """What whoever sells a turbocharger says of it. points: of its map, a row a point; flow: the
    largest that is named; words: wheel sizes and pressure ratio, as they are written; scale: the
    flow scale that was typed."""

    points: str = ""
    flow: str = ""
    words: str = ""
    scale: str = ""


def with_a_map(opened: OpenBuild, table: dict[str, Any], seller: Seller) -> dict[str, str]:
    """Gives a turbocharger of which only the largest flow is typed the map of the first of its
    kind that has one, to be made as large; a comment where it does."""
    if not seller.flow.strip() or seller.points.strip() or "map" in table:
        return {}
    for part, words in alike(opened, "turbo").items():
        taken = guesses(opened, part, {"kind": "turbo"})
        if "map" in taken:
            table["map"] = taken["map"]
            return {"map": f"a guess, as {words}: to be replaced"}
    return {}


def as_sold(table: dict[str, Any], seller: Seller) -> tuple[dict[str, str], list[Fault]]:
    """Adds what the seller says to a turbocharger's table; comments behind facts, and faults."""
    faults: list[Fault] = []
    said: dict[str, str] = {}
    if seller.words.strip():
        table["note"] = "; ".join(filter(None, [table.get("note"), seller.words.strip()]))
    if seller.points.strip():
        try:
            table["map"], efficient = read_points(seller.points)
        except MapRefused as error:
            wanted = "a row a point: speed rpm; flow g/s; pressure ratio; efficiency"
            return said, [Fault("the form", None, "map", str(error), wanted)]
        if not efficient and "efficiency_scale" not in table:
            table["efficiency_scale"] = {"is": "1 ± 0.12", "by": "assumed"}
            said["efficiency_scale"] = NO_EFFICIENCY
    flow = seller.flow.strip()
    if flow and seller.scale.strip():
        wanted = f"nothing beside the largest flow, {flow}, which sets it"
        return said, [Fault("the form", None, "flow scale", seller.scale.strip(), wanted)]
    if flow:
        try:
            largest = parse_value(f"{flow} g/s" if BARE.fullmatch(flow) else flow, "flow_mass")
        except ValueFault as error:
            return said, [Fault("the form", None, "largest flow", error.found, error.expected)]
        if "map" in table and not seller.points.strip():
            # whoever said the flow, the map that is made as large is another's
            table["map"] = with_largest_flow(table["map"], largest.centre)
            table["flow_scale"] = {"is": f"1 ± {_share(largest, flow):.2g}", "by": "assumed"}
            said["flow_scale"] = f"the map of another, made to end at {flow} as the seller says"
        words = f"largest flow {flow} g/s" if BARE.fullmatch(flow) else f"largest flow {flow}"
        table["note"] = "; ".join(filter(None, [table.get("note"), words]))
    return said, faults


OF_ANOTHER = 0.12
"""Doubt of the largest flow of a map that is another's, where none is typed: our choice."""


def _share(largest: Value, typed: str) -> float:
    """The doubt of a largest flow as a share of it: as it was typed, if it was."""
    stated = re.search(r"±|\+/-|\bto\b|%", typed)
    return largest.half_width / largest.centre if stated else OF_ANOTHER


def free_id(opened: OpenBuild, table: Mapping[str, Any]) -> str:
    """An id like the maker and name that no part has yet."""
    name, maker = str(table.get("name", "")), str(table.get("maker", ""))
    said = name if name.lower().startswith(maker.lower()) else f"{maker} {name}"
    plain = re.sub(r"[^a-z0-9]+", "_", said.lower()).strip("_")[:40] or str(table["kind"])
    number, found = 2, plain
    while found in opened.build.parts:
        found, number = f"{plain}_{number}", number + 1
    return found


def add_part(
    desk: Desk, table: Mapping[str, Any], comments: Mapping[str, str] | None = None
) -> str:
    """Write a part whose table is without fault; returns its id. Raises BuildFaults, EditRefused.

    It goes into the file that has most parts of its kind, after them, or into one of its own; never
    among the standard ones, which are on the car as found.
    """
    with one_at_a_time:
        opened = desk.opened()
        for _ in range(TRIES):
            part, file = free_id(opened, table), _file_for(opened, str(table["kind"]))
            try:
                _write(opened, file, part, table, comments or {})
            except EditRefused:
                opened = open_build(desk.folder)
                continue
            return part
        raise EditRefused(f"{file} is being written by others: send it once more")


def _file_for(opened: OpenBuild, kind: str) -> str:
    build = opened.build
    files = Counter(
        build.part_files[i] for i, part in build.parts.items()
        if getattr(part, "kind", "") == kind and not part.standard
    )  # fmt: skip
    return files.most_common(1)[0][0] if files else ADDED


def add_map(desk: Desk, part: str, points: str) -> None:
    """Write a map into a turbocharger without one. Raises MapRefused, BuildFaults, EditRefused."""
    made, efficient = read_points(points)
    with one_at_a_time:
        opened = desk.opened()
        build, file = opened.build, opened.build.part_files[part]
        if getattr(build.parts[part], "map", None) is not None:
            raise EditRefused(f"it has a map already: change it in {file}")
        facts: list[tuple[Sequence[str], Any, str]] = [(("part", part, "map"), made, "")]
        if not efficient:
            wide, why = {"is": "1 ± 0.12", "by": "assumed"}, NO_EFFICIENCY
            facts.append((("part", part, "efficiency_scale"), wide, why))
        checked(opened, file, lambda: editing.set_facts(build, file, facts))


def _write(
    opened: OpenBuild, file: str, part: str, table: Mapping[str, Any], comments: Mapping[str, str]
) -> None:
    checked(opened, file, lambda: editing.add_part(
        opened.build, file, part, table, comments=comments))  # fmt: skip


def known_kind(kind: str) -> bool:
    """Whether there is such a kind of part."""
    return kind in part_kinds()
