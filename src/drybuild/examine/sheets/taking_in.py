"""A sheet that came back: judged as a whole, then written, all of it or none.

The calibrator's sheet becomes a map among the parts and readings of the hardware; measuring sheets
become readings. Nothing is fitted, no goal is set, and no figure of the owner's is raised.
"""

from __future__ import annotations

import os
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any

import tomlkit

from drybuild.build import BuildFaults, read_build
from drybuild.build.editing import edit_file, laid_beside
from drybuild.build.errors import Fault
from drybuild.build.lines import line_of
from drybuild.build.migrate import FORMAT
from drybuild.examine.opened import OpenBuild
from drybuild.examine.sheets.calibrator import map_fields
from drybuild.examine.sheets.form import FormRefused, read_form
from drybuild.examine.sheets.judging import TAKEN_IN, Judged, judge, named_by


@dataclass(frozen=True, slots=True)
class TakenIn:
    """What was written. readings: address → entry's number; part: id of the map; file: its file;
    facts: of parts that are not on the car; remark: entry that names the sheet by its hash;
    who: filled it in."""

    sheet: str
    who: str
    readings: Mapping[str, int]
    part: str
    file: str
    facts: tuple[str, ...]
    remark: int


def take_in(opened: OpenBuild, text: str, *, name: str, who: str = "", at: str = "") -> TakenIn:
    """Take a filled-in sheet into the folder.

    who, at: where the sheet itself does not say; name: of the file, for the faults. Raises
    FormRefused with every fault; then nothing was written.
    """
    return _written(judge(opened, read_form(text, name=name), who=who, at=at))


def _written(judged: Judged) -> TakenIn:
    """Files first, then the journal; when anything is refused, all files are as they were."""
    build = judged.opened.build
    before = {
        name: (build.root / name).read_bytes() for name in build.files if name.endswith("toml")
    }
    new = build.root / "parts" / f"{judged.part}.toml"
    file, made_new = "", False
    try:
        if judged.map_values is not None:
            if judged.part_is_new:
                if new.exists():
                    raise FormRefused([_refusal(judged, f"parts/{new.name} is there already")])
                file, made_new = _new_part(judged, build.root, new), True
            else:
                file = _more_of_part(judged)
        facts = _facts(judged)
        read_build(build.root)
        return _into_journal(judged, file, facts)
    except BaseException as error:
        if made_new:
            new.unlink(missing_ok=True)
        for name, data in before.items():
            path = build.root / name
            if path.read_bytes() != data:
                path.write_bytes(data)
        if isinstance(error, BuildFaults):
            raise FormRefused(error.faults) from None
        raise


def _refusal(judged: Judged, found: str) -> Fault:
    return Fault(judged.form.name, line_of(judged.form.text, ("map", "part")), "map.part", found,
                 "an id that is free")  # fmt: skip


def _new_part(judged: Judged, root: Path, path: Path) -> str:
    """A file of its own for a map of its own."""
    document = tomlkit.document()
    named = _one_line(judged.form.name)
    document.add(tomlkit.comment(f"Taken in from the calibrator's sheet {named}."))
    document.add(
        tomlkit.comment("All of it is what the map's writer states, none of it is advice.")
    )
    document.add("format", FORMAT)
    document.add("known", "maker")
    document.add(tomlkit.nl())
    table = tomlkit.table()
    table.add("kind", "map")
    values = judged.map_values or {}
    for key in ("name", "maker", *map_fields()):
        if key in values:
            table.add(key, _plain(values[key]))
    parts = tomlkit.table(is_super_table=True)
    parts.add(judged.part, table)
    document.add("part", parts)
    path.parent.mkdir(exist_ok=True)
    os.replace(laid_beside(root, path, tomlkit.dumps(document).encode()), path)
    return f"parts/{path.name}"


def _more_of_part(judged: Judged) -> str:
    """Blanks of a map that is among the parts already."""
    file = judged.opened.build.part_files[judged.part]
    values = judged.map_values or {}

    def edit(document: Any) -> None:
        table = document["part"][judged.part]
        for key, raw in values.items():
            if key not in table:
                table[key] = _plain(raw)

    if values:
        edit_file(judged.opened.build, file, edit)
    return file


def _facts(judged: Judged) -> tuple[str, ...]:
    """Measured figures of parts that are not on the car, into the files of those parts."""
    read_by = f"read by {_one_line(judged.who)}, {judged.at or date.today()}"
    said = []
    for part, values in judged.facts.items():
        build = read_build(judged.opened.build.root)

        def edit(document: Any, part: str = part, values: dict[str, Any] = values) -> None:
            table = document["part"][part]
            for key, raw in values.items():
                table[key] = _plain(raw)
                table[key].comment(read_by)

        edit_file(build, build.part_files[part], edit)
        said += [f"{part}.{key}" for key in values]
    return tuple(said)


def _one_line(text: str) -> str:
    return " ".join("".join(s if s.isprintable() else " " for s in text).split())


def _plain(raw: Any) -> Any:
    if isinstance(raw, dict):
        made = tomlkit.inline_table()
        for key, value in raw.items():
            made.add(key, _plain(value))
        return made
    return raw


def _into_journal(judged: Judged, file: str, facts: tuple[str, ...]) -> TakenIn:
    entries: dict[str, int] = {}
    with judged.opened.journal.together() as journal:
        for address, raw in judged.readings.items():
            tool = str(raw.get("tool", raw.get("by", ""))) if isinstance(raw, dict) else ""
            entries[address] = journal.note(
                address, raw, who=judged.who, instrument=tool, at=judged.at
            ).id
        words = f"{TAKEN_IN}{judged.kind}, {judged.form.name}, {named_by(judged.form)}"
        if judged.map_values is not None:
            checksum = judged.form.data["map"]["checksum"]
            words += f"; map {judged.part}, checksum {checksum}; not fitted by this"
        more = str(judged.form.data.get("words", "")).strip()
        remark = journal.remark(
            _one_line(f"{words}; {more}" if more else words), who=judged.who, at=judged.at
        )
    return TakenIn(judged.kind, judged.who, entries, judged.part, file, facts, remark.id)
