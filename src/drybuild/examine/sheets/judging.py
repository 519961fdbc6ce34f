"""A sheet that came back, judged as a whole: whose it is, what it may say, what it may not.

No sheet is for other parts than it was written out for, none moves a ceiling, and no map is taken
in that asks for more than the owner's own figure.
"""

from __future__ import annotations

import hashlib
import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from drybuild.build import ChangeRefused, State, UnknownName
from drybuild.build.declared import declaration, is_word
from drybuild.build.errors import Fault, nearest
from drybuild.build.lines import line_of
from drybuild.build.state import read_setting
from drybuild.examine.opened import OpenBuild
from drybuild.examine.sheets.calibrator import (
    CEILINGS,
    LATER_CEILINGS,
    MEASURED,
    NEVER_ABOVE,
    hardware,
    known,
    map_fields,
)
from drybuild.examine.sheets.form import FORM, Form, FormRefused, value_text
from drybuild.journal import not_as_found
from drybuild.journal.entries import dated
from drybuild.journal.errors import EntryRefused
from drybuild.values import Value

ID = re.compile(r"[a-z0-9][a-z0-9_]{0,39}")
HEAD = {"form", "sheet", "build", "state", "revision", "fingerprint", "who", "at", "words"}
TABLES = {"calibrator": {"hardware", "ceilings", "map", "measured"}, "measuring": {"readings"}}
NOT_MEASURED = ("", None)
TEXTS = ("part", "name", "maker", "checksum", "stage")
TAKEN_IN = "sheet taken in: "
"""How the remark begins that names a sheet in the journal."""


@dataclass
class Judged:
    """What a sheet asks to be written.

    readings: address → raw, for the journal; facts: part id → key → raw, of parts that are not on
    the car; part: id of the map; map_values: of it, None where the sheet brings none.
    """

    form: Form
    opened: OpenBuild
    faults: list[Fault]
    kind: str = ""
    who: str = ""
    at: str = ""
    readings: dict[str, Any] = field(default_factory=dict)
    facts: dict[str, dict[str, Any]] = field(default_factory=dict)
    part: str = ""
    part_is_new: bool = True
    map_values: dict[str, Any] | None = None

    def fault(self, path: tuple[str, ...], found: str, expected: str, hint: str = "") -> None:
        line = line_of(self.form.text, path)
        self.faults.append(Fault(self.form.name, line, ".".join(path), found, expected, hint))


def judge(opened: OpenBuild, form: Form, *, who: str = "", at: str = "") -> Judged:
    """Everything that a sheet asks to be written. Raises FormRefused with every fault.

    who, at: where the sheet itself does not say.
    """
    judged = Judged(form, opened, [])
    _not_again(judged)
    judged.kind = _head(judged, form.data, who, at)
    if judged.kind == "calibrator":
        _calibrator(judged, form.data)
    elif judged.kind == "measuring":
        _measuring(judged)
    if judged.faults:
        raise FormRefused(judged.faults)
    return judged


def named_by(form: Form) -> str:
    """What names a sheet in the journal, to the letter of its text."""
    return f"hash {hashlib.sha256(form.text.encode()).hexdigest()[:16]}"


def _not_again(judged: Judged) -> None:
    """The very same sheet is taken in once. Raises FormRefused."""
    for remark in judged.opened.journal.remarks():
        if remark.words.startswith(TAKEN_IN) and named_by(judged.form) in remark.words:
            found = f"this very sheet is taken in already: entry {remark.id}"
            fault = Fault(judged.form.name, None, "", found, "one that is not in the record yet",
                          f"to take it in anew, take entry {remark.id} back first")  # fmt: skip
            raise FormRefused([fault])


def _head(judged: Judged, data: dict[str, Any], who: str, at: str) -> str:
    """What every sheet says at its head; returns its kind, or nothing when that is amiss."""
    if type(data.get("form")) is not int or data["form"] != FORM:
        judged.fault(("form",), repr(data.get("form"))[:60], f"form = {FORM}")
    kind = data.get("sheet")
    if not isinstance(kind, str) or kind not in TABLES:
        judged.fault(("sheet",), repr(kind)[:60], f"one of: {', '.join(TABLES)}")
        return ""
    allowed = HEAD | TABLES[kind]
    for key in data:
        if key not in allowed:
            judged.fault((key,), f"key {key!r}"[:80], f"one of: {', '.join(sorted(allowed))}",
                         nearest(key, tuple(allowed)))  # fmt: skip
    for key in HEAD - {"form"}:
        if key in data and not isinstance(data[key], str):
            judged.fault((key,), repr(data[key])[:60], 'text in "quotes"')
    build = judged.opened.build.head.name
    if data.get("build") != build:
        judged.fault(("build",), repr(data.get("build"))[:80], f"{build!r}: a sheet of this build")
    judged.who = _said_in(data, "who") or who.strip()
    if not judged.who:
        judged.fault(("who",), "nothing", "the name of who filled it in, here or with --who NAME")
    judged.at = _said_in(data, "at") or at.strip()
    if judged.at:
        try:
            judged.at = dated(judged.at)
        except EntryRefused as error:
            judged.fault(("at",), repr(judged.at)[:60], str(error).rpartition("expected ")[2])
            judged.at = ""
    return str(kind)


def _said_in(data: Mapping[str, Any], key: str) -> str:
    found = data.get(key, "")
    return found.strip() if isinstance(found, str) else ""


def _table(judged: Judged, name: str) -> dict[str, Any]:
    found = judged.form.data.get(name, {})
    if isinstance(found, dict):
        return found
    judged.fault((name,), repr(found)[:60], "a table")
    return {}


# Measuring


def _measuring(judged: Judged) -> None:
    for address, raw in _table(judged, "readings").items():
        if raw not in NOT_MEASURED:
            _reading(judged, ("readings", address), address, raw, judged.readings)
    if not judged.readings and not judged.faults:
        judged.fault(("readings",), "no reading", "at least one blank filled in")


def _reading(
    judged: Judged, path: tuple[str, ...], address: str, raw: Any, into: dict[str, Any]
) -> None:
    """A reading of the car as it stands, when its address takes it."""
    declared = declaration(address)
    if declared is None:
        judged.fault(path, f"{address!r}"[:80], "what the sheet asked for, unchanged")
        return
    fitted = judged.opened.present.state.fitted
    if declared.owner in fitted and fitted[declared.owner] is None:
        judged.fault(path, "a reading", f"a blank: nothing is fitted at {declared.owner}")
        return
    deeds = judged.opened.journal.deeds(judged.at) if judged.at else judged.opened.journal.deeds()
    gone = not_as_found((c for d in deeds for c in d.changes), address)
    if gone is not None:
        judged.fault(path, "a reading as found", f"a blank: it was changed since ({gone})")
        return
    tool = declared.measure.tool if declared.measure is not None else ""
    kept = _with_tool(raw, "" if is_word(declared) else tool)
    if is_word(declared) and isinstance(kept, dict):
        kept = kept.get("is")
    if _readable(judged, path, address, kept):
        into[address] = kept


def _with_tool(raw: Any, tool: str) -> Any:
    """The sheet names the tool; whoever took another says so beside the figure."""
    if isinstance(raw, dict) or not tool:
        return raw
    return {"is": raw, "by": tool}


def _readable(judged: Judged, path: tuple[str, ...], address: str, raw: Any) -> bool:
    try:
        read_setting(address, raw)
    except ChangeRefused as error:
        said = str(error).removeprefix(f"{address}: ")
        found, _, expected = said.partition(", expected ")
        judged.fault(path, found.removeprefix("found ")[:120], expected or said)
        return False
    return True


# The calibrator's


def _calibrator(judged: Judged, data: dict[str, Any]) -> None:
    state = _state_of(judged, data)
    if state is None:
        return
    _same_hardware(judged, state)
    _same_ceilings(judged, state)
    _map(judged, state)
    _measured(judged, state)


def _state_of(judged: Judged, data: dict[str, Any]) -> State | None:
    try:
        return judged.opened.state(str(data.get("state", "")))
    except UnknownName as error:
        judged.fault(("state",), repr(data.get("state"))[:60], str(error))
        return None


def _same_hardware(judged: Judged, state: State) -> None:
    """The parts must be those of the folder: a map for others is not for this car."""
    there = {one.place: one.part_id for one in hardware(state) if one.place != "map"}
    said = _table(judged, "hardware")
    for place, part in there.items():
        if said.get(place) != part:
            found = repr(said.get(place))[:60] if place in said else "nothing"
            judged.fault(
                ("hardware", place), found,
                f'"{part}", which is there {_when(state)}',
                "the sheet is for other parts: write it out anew",
            )  # fmt: skip
    for place in said:
        if place not in there:
            judged.fault(("hardware", place), repr(said[place])[:60], "only what was on the sheet")


def _when(state: State) -> str:
    return "now" if state.name == "now" else f"in the state {state.name!r}"


def _same_ceilings(judged: Judged, state: State) -> None:
    """A ceiling comes back as it went out: taking a sheet in is no way to move one."""
    said = _table(judged, "ceilings")
    for address in CEILINGS:
        wanted = value_text(known(state, address).value)
        if address in LATER_CEILINGS and address not in said:
            continue
        if said.get(address, "") != wanted:
            judged.fault(
                ("ceilings", address), repr(said.get(address, ""))[:60],
                f"{wanted!r}, as the folder states it: a sheet moves no ceiling",
            )  # fmt: skip
    for address in said:
        if address not in CEILINGS:
            judged.fault(("ceilings", address), f"{address!r}"[:80], "only what was on the sheet")


def _map(judged: Judged, state: State) -> None:
    said = _table(judged, "map")
    allowed = (*map_fields(), "part", "name", "maker")
    for key in said:
        if key not in allowed:
            judged.fault(
                ("map", key), f"key {key!r}"[:80], "a key of the sheet", nearest(key, allowed)
            )
    texts = {key: said[key] for key in TEXTS if key in said and _is_text(judged, said, key)}
    filled = {
        key: raw for key, raw in said.items()
        if key in map_fields() and raw not in NOT_MEASURED and (key not in TEXTS or key in texts)
    }  # fmt: skip
    if "checksum" not in filled and said.get("checksum", "") in NOT_MEASURED:
        judged.fault(("map", "checksum"), "nothing",
                     "the checksum of the file, as the flashing tool shows it")  # fmt: skip
    judged.map_values = {}
    for key, raw in filled.items():
        if _readable(judged, ("map", key), f"map.{key}", raw):
            judged.map_values[key] = raw
            _not_above(judged, state, key, raw)
    judged.part = texts.get("part", "").strip()
    if ID.fullmatch(judged.part):
        _against_what_is_there(judged, said)
    elif "part" in texts or "part" not in said:
        judged.fault(("map", "part"), repr(judged.part)[:60],
                     "an id in parts/: small letters, figures, _, at most 40")  # fmt: skip
    for key in ("name", "maker"):
        if texts.get(key, "").strip():
            judged.map_values[key] = " ".join(texts[key].split())


def _is_text(judged: Judged, said: Mapping[str, Any], key: str) -> bool:
    if not isinstance(said[key], str):
        judged.fault(("map", key), repr(said[key])[:60], 'text in "quotes"')
    return isinstance(said[key], str)


def _not_above(judged: Judged, state: State, key: str, raw: Any) -> None:
    """No map is taken in that asks for more than the owner's own figure."""
    value = read_setting(f"map.{key}", raw)
    for address in NEVER_ABOVE.get(key, ()):
        ceiling = known(state, address).value
        if not isinstance(ceiling, Value) or not isinstance(value, Value):
            continue
        if value.interval[1] > ceiling.centre * (1 + 1e-9) + 1e-9:
            judged.fault(
                ("map", key), value_text(value),
                f"at most {value_text(ceiling)}, as {address} states: taking a sheet in raises "
                "nothing on anybody's behalf",
                "if that is meant, the owner changes that figure by hand first",
            )  # fmt: skip
            return


def _against_what_is_there(judged: Judged, said: Mapping[str, Any]) -> None:
    """A part of that id must be the same file, and must not say otherwise."""
    there = judged.opened.build.parts.get(judged.part)
    judged.part_is_new = there is None
    for other_id, other in judged.opened.build.parts.items():
        same = getattr(other, "checksum", None) == said.get("checksum")
        if getattr(other, "kind", "") == "map" and same and other_id != judged.part:
            judged.fault(("map", "part"), repr(judged.part),
                         f"{other_id!r}, which is the map with that checksum")  # fmt: skip
    if there is None or judged.map_values is None:
        return
    if getattr(there, "kind", "") != "map":
        judged.fault(("map", "part"), repr(judged.part), "the id of a map, or one that is free")
        return
    stated = getattr(there, "checksum", None)
    if stated is not None and stated != said.get("checksum"):
        judged.fault(
            ("map", "part"), repr(judged.part),
            f"an id that is free: {judged.part} is the map with the checksum {stated}",
        )  # fmt: skip
        return
    for key in list(judged.map_values):
        was = getattr(there, key, None)
        if was is None:
            continue
        new = read_setting(f"map.{key}", judged.map_values[key])
        alike = (
            (was.centre, was.half_width) == (new.centre, new.half_width)
            if isinstance(was, Value) and isinstance(new, Value) else was == new
        )  # fmt: skip
        if not alike:
            judged.fault(
                ("map", key), value_text(new),
                f"{value_text(was)}, as {judged.part} states: one file does not say two things",
                "correct the part by hand where it was wrong",
            )  # fmt: skip
        else:
            del judged.map_values[key]


def _measured(judged: Judged, state: State) -> None:
    """Readings of the hardware: of what is on the car into the journal, else into the part."""
    said = {a: raw for a, raw in _table(judged, "measured").items() if raw not in NOT_MEASURED}
    if "injectors.static_flow" in said:
        for beside in ("injectors.rated_pressure", "injectors.test_density"):
            if beside not in said and known(state, beside).value is None:
                judged.fault(("measured", beside), "nothing",
                             "the pressure difference and the fluid that the flow was measured "
                             "with: it means nothing without them")  # fmt: skip
    now = judged.opened.present.state.fitted
    for address, raw in said.items():
        place, _, key = address.partition(".")
        if address not in MEASURED:
            judged.fault(("measured", address), f"{address!r}"[:80], "only what was on the sheet")
            continue
        part = state.fitted.get(place)
        if part is None:
            judged.fault(("measured", address), "a figure", f"a blank: no {place} is fitted")
        elif now.get(place) == part:
            _reading(judged, ("measured", address), address, raw, judged.readings)
        elif _readable(judged, ("measured", address), address, _with_tool(raw, _tool(address))):
            judged.facts.setdefault(part, {})[key] = _with_tool(raw, _tool(address))


def _tool(address: str) -> str:
    declared = declaration(address)
    return declared.measure.tool if declared is not None and declared.measure is not None else ""
