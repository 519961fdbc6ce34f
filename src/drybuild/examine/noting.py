"""Writes a reading down: of the car into the journal, of a part in hand into the part's own file.

The command line and the app's pages take a reading by these functions, so that both refuse the same
and write the same.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, get_args

import numpy as np
import numpy.typing as npt

from drybuild.build import Change, ChangeRefused
from drybuild.build.declared import HEAD_FIELDS, Declared, declaration, field_kind, is_word
from drybuild.build.drawn import DrawnFacts
from drybuild.build.editing import set_fact
from drybuild.build.errors import nearest
from drybuild.build.kinds import places
from drybuild.build.state import addresses_of, read_setting
from drybuild.examine.filed import read_words
from drybuild.examine.lookup import Entry, Present, beside, where_words
from drybuild.examine.naming import plain_name
from drybuild.examine.opened import OpenBuild, open_build
from drybuild.findings import Fact
from drybuild.journal import not_as_found
from drybuild.values import KINDS, Draws, System, ValueFault, parse_value, shown_unit
from drybuild.values.methods import methods_for
from drybuild.values.units import listed, unit_of

FloatArray = npt.NDArray[np.float64]

IN_HAND = "part."
"""Begins the address of a part that is not on the car yet."""

EYE, STAMP = "eye", "stamp"

MOST_UNITS = 6
HANDY = (0.5, 10_000.0)
"""A figure that somebody writes down in a unit lies between these; a gap in kilometres does not."""


class NoteRefused(Exception):
    """The reading cannot be written down as asked; nothing was written.

    look: words by which one may look up what there is, or empty.
    """

    def __init__(self, said: str, look: str = "") -> None:
        super().__init__(said)
        self.look = look


class WhichPlace(NoteRefused):
    """The address is of several places, and none was chosen. named: the address of each."""

    def __init__(self, address: str, named: tuple[str, ...]) -> None:
        super().__init__(f"{plain_name(address)} is of {listed_places(named)}: say which.")
        self.named = named


@dataclass(frozen=True, slots=True)
class Said:
    """A reading as somebody says it. texts: one, or the repeated readings of one thing.

    at: the date it was taken on, yyyy-mm-dd; empty: now.
    """

    texts: Sequence[str]
    who: str
    tool: str = ""
    instrument: str = ""
    at: str = ""


@dataclass(frozen=True, slots=True)
class Noted:
    """A reading that was written. entry: its number in the journal, or 0 when it is in ``file``.

    before, after: what stood at the address and what stands there now, in words.
    """

    address: str
    entry: int
    file: str
    before: str
    after: str


def note(
    opened: OpenBuild, address: str, said: Said, where: Sequence[str] = ()
) -> tuple[Noted, ...]:
    """Write a reading. where: of an address of several places, those that it was taken at.

    Each of several is written, all of them or none; without a place none is.
    Raises NoteRefused, ChangeRefused, EntryRefused, EditRefused.
    """
    if address.startswith(IN_HAND):
        return (_note_part(opened, address, said),)
    return _note_car(opened, taken_at(opened, address, where), said)


def taken_at(opened: OpenBuild, address: str, where: Sequence[str] = ()) -> tuple[str, ...]:
    """The addresses that a reading is of: ``where`` is some of those that the address names.

    Raises WhichPlace where several are named and none is chosen.
    """
    named = addresses_of(opened.build, address)
    chosen = tuple(one for one in named if one in where)
    if len(named) > 1 and not chosen:
        raise WhichPlace(address, named)
    return chosen or named


def each_place(opened: OpenBuild, address: str) -> list[tuple[str, str]]:
    """Of an address of several places, each and its place in words; of one place, none."""
    if address.startswith(IN_HAND):
        return []
    try:
        found = addresses_of(opened.build, address)
    except ChangeRefused:
        return []
    return [(one, where_words(one) or plain_name(one)) for one in found] if found[1:] else []


def listed_places(addresses: Sequence[str]) -> str:
    """Places in words: front left, front right, rear left and rear right."""
    *first, last = (where_words(one) or plain_name(one) for one in addresses)
    return f"{', '.join(first)} and {last}" if first else last


def planned_beside(opened: OpenBuild, noted: Sequence[Noted]) -> str:
    """The planned part of which these readings are not, when there is one; else nothing."""
    return beside(opened, [one.address for one in noted if one.entry])


def declared_at(opened: OpenBuild, address: str) -> Declared | None:
    """What is declared at an address, that of a part in hand as well."""
    if not address.startswith(IN_HAND):
        return declaration(address) or _first_declared(opened, address)
    _, part_id, *path = address.split(".")
    return declaration(_where(opened, part_id, path)) if part_id in opened.build.parts else None


def _first_declared(opened: OpenBuild, address: str) -> Declared | None:
    try:
        return declaration(addresses_of(opened.build, address)[0])
    except ChangeRefused:
        return None


def present_words(opened: OpenBuild, address: str) -> str:
    """What stands at an address now and how it is known, in words."""
    declared = declared_at(opened, address)
    if declared is None:
        return "not stated"
    present = Present(opened, opened.build.head.units)
    if address.startswith(IN_HAND):
        return present.said(Entry(address, declared, part=address.split(".")[1]))
    return present.said(Entry(address, declared))


def _note_car(opened: OpenBuild, addresses: tuple[str, ...], said: Said) -> tuple[Noted, ...]:
    raws: dict[str, Any] = {}
    for one in addresses:
        _check_holds(opened, one, said.at)
        declared = declaration(one)
        raw = as_written(declared, said)
        # Of a word the journal keeps the word: what was read of the car is measured.
        raws[one] = raw["is"] if declared is not None and is_word(declared) else raw
        read_setting(one, raws[one])
    state, present = opened.present.state, Present(opened, opened.build.head.units)
    before = {one: present.at(one, state) for one in addresses}
    entries = {}
    with opened.journal.together() as journal:
        for one in addresses:
            entries[one] = journal.note(
                one, raws[one], who=said.who, instrument=said.instrument or said.tool, at=said.at
            )
    now = open_build(opened.build.root)
    present = Present(now, now.build.head.units)
    return tuple(
        Noted(one, entries[one].id, "", before[one], present.at(one, now.present.state))
        for one in addresses
    )


def as_written(declared: Declared | None, said: Said) -> Any:
    """The reading as a file would state it: with its tool, where one was named."""
    raw: Any = said.texts[0] if len(said.texts) == 1 else list(said.texts)
    if declared is not None and is_word(declared):
        whole = str(raw).isascii() and str(raw).isdigit()
        return {"is": int(raw) if whole else raw, "by": said.tool or "eye"}
    tool = tool_meant(declared, said.tool)
    if not tool:
        return raw
    entry = {"is": raw, "by": tool}
    return {**entry, "tool": said.instrument} if said.instrument else entry


def tool_meant(declared: Declared | None, tool: str) -> str:
    """How a figure is known: one that stands on the part, read by eye, is as stamped, no guess."""
    stamped = declared is not None and declared.stamped
    return STAMP if stamped and tool in ("", EYE) else tool


def _check_holds(opened: OpenBuild, address: str, at: str) -> None:
    """Refuse a reading that could not hold: of an empty place, or as found when it is too late."""
    declared, fitted = declaration(address), opened.present.state.fitted
    if declared is not None and declared.owner in fitted and fitted[declared.owner] is None:
        word = ".".join(declared.path)
        raise NoteRefused(
            f"nothing is fitted at {declared.owner}: note a part in hand as part.ID.{word}"
        )
    made = (change for deed in opened.journal.deeds(at) for change in deed.changes)
    change = not_as_found(made, address)
    if change is not None:
        now = f"{address}_now"
        instead = f", note {now}" if declaration(now) is not None else ""
        raise NoteRefused(
            f"{plain_name(address)} is the figure as found, and it was changed since ({change}): "
            f"for a reading taken before that give --at DATE{instead}"
        )


def _note_part(opened: OpenBuild, address: str, said: Said) -> Noted:
    """A reading of a part that is not on the car yet: written into the part's own file."""
    _, part_id, *path = address.split(".")
    part = opened.build.parts.get(part_id)
    if part is None:
        hint = nearest(part_id, tuple(opened.build.parts))
        raise NoteRefused(f"no part {part_id!r} in parts/. {hint}".strip())
    if not any(path):
        known = ", ".join(sorted(set(type(part).model_fields) - HEAD_FIELDS))
        raise NoteRefused(f"{address}: name the fact as well, one of: {known}.", part_id)
    where = _where(opened, part_id, path)
    declared = declaration(where)
    if declared is None:
        hint = nearest(path[-1], tuple(type(part).model_fields))
        raise NoteRefused(f"{part_id} has no {'.'.join(path)!r}. {hint}".strip(), part_id)
    raw = as_written(declared, said)
    try:
        read_setting(where, raw)
    except ChangeRefused as error:
        raise NoteRefused(str(error).replace(where, address, 1)) from None
    before = present_words(opened, address)
    file = opened.build.part_files[part_id]
    keys = ("part", part_id, *path)
    set_fact(
        opened.build, file, keys, raw,
        comment=read_words(opened.build, file, keys, said.who, said.at),
    )  # fmt: skip
    return Noted(address, 0, file, before, present_words(open_build(opened.build.root), address))


def _where(opened: OpenBuild, part_id: str, path: Sequence[str]) -> str:
    """The address of a part's fact, as if it were fitted to the first place where it can go."""
    kind = getattr(opened.build.parts[part_id], "kind", "")
    place = next(p for p in places().values() if p.kind == kind)
    return ".".join((place.instances[0], *path))


def units_to_choose(opened: OpenBuild, declared: Declared, size: float = 0.0) -> tuple[str, ...]:
    """Units that are offered for a fact, the one it is shown in first; none where it has none.

    size: of the quantity, SI, 0 where it is not known; then its usual range says. A unit that
    nobody uses for a quantity of that size is not offered; typed, each of them is read.
    """
    kind = field_kind(declared.field)
    if kind is None or KINDS[kind].dimensionless:
        return ()
    size = size or _usual_size(declared, kind, opened.build.head.units)
    first: tuple[System, ...] = (opened.build.head.units, "metric", "us")
    shown = (shown_unit(KINDS[kind], size, system)[1] for system in first)
    plain = (re.sub(r"\s*\(.*?\)| or .*", "", unit).strip() for unit in _listed(kind))
    fit = [u for u in plain if _reads(u, kind) and _handy(u, kind, size)]
    usual, *others = dict.fromkeys((*shown, *fit))
    kept = sorted(others, key=lambda u: (fit.index(u) if u in fit else len(fit)))
    return (usual, *kept)[:MOST_UNITS]


def _usual_size(declared: Declared, kind: str, system: System) -> float:
    """The larger end of the usual range, SI; where none is declared, some of the usual unit."""
    if declared.typical is None:
        return shown_unit(KINDS[kind], 0.0, system)[0].to_si(10.0)
    value = parse_value(declared.typical, kind)
    return abs(value.centre) + value.half_width


def _handy(unit: str, kind: str, size: float) -> bool:
    least, most = HANDY
    return least <= abs(unit_of(unit, kind).from_si(size)) < most


def _listed(kind: str) -> list[str]:
    return re.split(r", (?![^(]*\))", listed(KINDS[kind]))


def _reads(unit: str, kind: str) -> bool:
    try:
        unit_of(unit, kind)
    except ValueFault:
        return False
    return True


def words_to_choose(declared: Declared) -> tuple[str, ...]:
    """The words that a fact takes, where it takes only some; yes and no for what is so or not."""
    waiting: list[Any] = [declared.field.annotation]
    while waiting:
        one = waiting.pop()
        words = tuple(word for word in get_args(one) if isinstance(word, str))
        if words:
            return words
        if one is bool:
            return ("yes", "no")
        waiting += get_args(one)
    return ()


def tools_to_choose(declared: Declared) -> tuple[str, ...]:
    """Ways in which a fact may be measured, the one that its model names first."""
    first = (declared.measure.tool,) if declared.measure is not None else ()
    kind = field_kind(declared.field)
    if kind is None:
        return tuple(dict.fromkeys((*first, "eye", "maker", "document")))
    stamp = (STAMP,) if declared.stamped else ()
    ways = [way for way in methods_for(kind) if not (stamp and way == EYE)]
    return tuple(dict.fromkeys((*first, *stamp, *ways)))


def drawn_at(opened: OpenBuild, address: str) -> FloatArray | None:
    """The draws of a figure as it stands, (N,); None where none is stated or it is no figure."""
    declared = declared_at(opened, address)
    if declared is None:
        return None
    state, where = opened.present.state, declared.address
    if address.startswith(IN_HAND):
        owner = declared.owner
        state = opened.build.base_state.after([Change("fit", owner, address.split(".")[1])])
    fact = DrawnFacts(state, Draws()).fact(where)
    value = fact.value if isinstance(fact, Fact) else None
    if isinstance(value, str | bool) or not isinstance(value, float | int | np.ndarray):
        return None
    return np.atleast_1d(np.asarray(value, dtype=np.float64))
