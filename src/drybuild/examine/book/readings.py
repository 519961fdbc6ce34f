"""Readings behind the book's figures: with what, when calibrated, by whom, when, how it stood."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from typing import Any

from drybuild.build.declared import Declared, declaration, field_kind
from drybuild.build.drawn import stated
from drybuild.build.folder import Instrument
from drybuild.build.model import Part
from drybuild.examine.naming import car_name
from drybuild.examine.opened import OpenBuild
from drybuild.findings import SIDES
from drybuild.journal import Reading
from drybuild.values import HowKnown, Value, method_named

NOT_RECORDED = "not recorded"


@dataclass(frozen=True, slots=True)
class Taken:
    """One measured figure. number: as the limits name it; value: SI and doubt, or None for a word.

    addresses: what it is the figure of: both sides, where one statement covers them. standing: how
    the car stood and what was in it; file: where it is stated, or ``journal``.
    """

    number: int
    addresses: tuple[str, ...]
    name: str
    raw: str
    value: Value | None
    instrument: str
    calibrated: str
    who: str
    when: str
    standing: str
    file: str
    entry: int = 0


def taken(opened: OpenBuild, facts: Iterable[str]) -> tuple[Taken, ...]:
    """Readings of the journal that hold, and measured figures of the files among ``facts``.

    facts: addresses, ``base:`` before those of the car as found, which are left out where a part
    was changed since: they are of another part.
    """
    from_journal = _standing(opened)
    wanted = {a for a in facts if not a.startswith("base:")}
    wanted |= {a.removeprefix("base:") for a in facts if _same_as_found(opened, a)}
    found: list[Taken] = []
    for address in sorted(wanted | set(from_journal), key=_order):
        declared = declaration(address)
        if declared is None:
            continue
        made = (
            _of_journal(opened, from_journal[address], declared)
            if address in from_journal
            else _of_file(opened, declared)
        )
        if made is not None:
            found.append(made)
    return tuple(_numbered(found, opened.build.parts))


def _numbered(found: list[Taken], parts: Mapping[str, Part]) -> list[Taken]:
    """Both sides of one statement under one number."""
    groups: dict[tuple[object, ...], list[Taken]] = {}
    for one in found:
        said = (one.raw, one.instrument, one.who, one.when, one.standing, one.file)
        key = (_both_sides(one.addresses[0]), *said, one.entry and one.when)
        groups.setdefault(key, []).append(one)
    made = []
    for number, same in enumerate(groups.values(), 1):
        addresses = tuple(a for one in same for a in one.addresses)
        name = same[0].name
        if len(same) > 1:
            name = f"{car_name(_both_sides(addresses[0]), parts)}, both sides"
        made.append(replace(same[0], number=number, addresses=addresses, name=name))
    return made


def _both_sides(address: str) -> str:
    return ".".join(step for step in address.split(".") if step not in SIDES)


def _order(address: str) -> tuple[str, ...]:
    return tuple(address.split("."))


def _same_as_found(opened: OpenBuild, address: str) -> bool:
    plain = address.removeprefix("base:")
    declared = declaration(plain)
    return declared is not None and not opened.present.state.place_changed(declared.owner)


def _standing(opened: OpenBuild) -> Mapping[str, Reading]:
    """The latest reading of each address that holds now."""
    gone = {s.reading.id for s in opened.present.stale}
    holds = opened.present.state.readings
    return {
        r.address: r for r in opened.journal.readings() if r.id not in gone and r.address in holds
    }


def _of_journal(opened: OpenBuild, reading: Reading, declared: Declared) -> Taken:
    value = opened.present.state.readings[reading.address]
    instrument = reading.instrument or _tool_of(reading.raw)
    known = _instrument(opened, instrument, _tool_of(reading.raw))
    return Taken(
        0, (reading.address,), car_name(reading.address, opened.build.parts),
        _raw_text(reading.raw),
        value if isinstance(value, Value) else None,
        _named(instrument, known), known.calibrated if known is not None else "",
        reading.who, reading.at[:10],
        _stood(opened, declared, instrument, _tool_of(reading.raw), known), "journal", reading.id,
    )  # fmt: skip


def _of_file(opened: OpenBuild, declared: Declared) -> Taken | None:
    """A figure that a file states as measured; None for any other."""
    there = stated(opened.present.state, declared)
    if there is None or not there.file or not isinstance(there.value, Value):
        return None
    value = there.value
    if value.same_as or value.how < HowKnown.MEASURED:
        return None
    known = _instrument(opened, value.tool or "", value.by or "")
    seen = f", {value.how.words}" if value.how is HowKnown.SEEN else ""
    return Taken(
        0, (declared.address,), car_name(declared.address, opened.build.parts), value.text, value,
        _named(value.tool or value.by or "", known),
        known.calibrated if known is not None else "", f"{NOT_RECORDED}{seen}", NOT_RECORDED,
        _stood(opened, declared, value.tool or "", value.by or "", known), there.file,
    )  # fmt: skip


def _tool_of(raw: Any) -> str:
    return str(raw.get("by", "")) if isinstance(raw, dict) else ""


def _raw_text(raw: Any) -> str:
    if isinstance(raw, dict):
        return str(raw.get("is", raw))
    if isinstance(raw, list):
        return ", ".join(_raw_text(one) for one in raw)
    return str(raw)


def _instrument(opened: OpenBuild, *names: str) -> Instrument | None:
    """The instrument that is named, else the only one of its sort."""
    kept = opened.build.instruments
    for name in names:
        for one in kept:
            if name and one.name.casefold() == name.casefold():
                return one
    for name in names:
        alike = [one for one in kept if name and one.is_a.casefold() == name.casefold()]
        if len(alike) == 1:
            return alike[0]
    return None


def _named(instrument: str, known: Instrument | None) -> str:
    if known is None:
        return instrument or NOT_RECORDED
    return f"{known.name}, no. {known.serial}" if known.serial else known.name


def _stood(
    opened: OpenBuild, declared: Declared, instrument: str, by: str, known: Instrument | None
) -> str:
    """Load and pose as stated beside the figure, else how it was taken.

    The declared way is said only where the declared tool was used.
    """
    table = declared.address.rpartition(".")[0]
    said = []
    for word in ("load", "pose"):
        beside = declaration(f"{table}.{word}")
        there = stated(opened.present.state, beside) if beside is not None else None
        if there is not None and isinstance(there.value, str):
            said.append(f"in it: {there.value}" if word == "load" else there.value)
    if said:
        return "; ".join(said)
    kind, way = field_kind(declared.field) or "", declared.measure
    named = [s for s in (instrument, by, known.is_a if known is not None else "") if s]
    used = {(method_named(s, kind) or s).casefold() for s in named}
    if way is not None and way.tool.casefold() in used:
        return f"as the sheet says: {way.how}"
    for source, words in _NOT_MEASURED.items():
        if source in used:
            return words
    return "how it was taken was not written down" if way is not None else declared.doc


_NOT_MEASURED = {
    "maker": "as its maker states it, not measured",
    "catalogue": "as a catalogue states it, not measured",
    "document": "as a document states it, not measured",
    "assumed": "assumed, not measured",
    "eye": "read off by eye",
}
"""What a figure is said to be known by, where no instrument was used."""
