"""Edits of one fact in the folder's files: merged with what others changed, or refused.

A form carries the mark of what it saw at the key. Where the key says the same still, the edit goes
into the file as it is now, whatever else changed in it; where it says something else, nothing is
written and both are shown. A file that the build could not be read with is put back as it was.
"""

from __future__ import annotations

import hashlib
import os
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import tomlkit
from tomlkit.exceptions import TOMLKitError

from drybuild.build import BuildFaults, State, read_build
from drybuild.build.declared import Declared, inner_model
from drybuild.build.editing import (
    EditRefused,
    FileChanged,
    edit_file,
    laid_beside,
    one_at_a_time,
    set_fact,
)
from drybuild.build.folder import BUILD_SECTIONS
from drybuild.build.lists import is_list
from drybuild.build.state import read_setting
from drybuild.examine.lookup import takes
from drybuild.examine.naming import OWNERS_WORD, plain_name
from drybuild.examine.noting import IN_HAND, declared_at
from drybuild.examine.opened import OpenBuild, open_build
from drybuild.web.desk import Desk
from drybuild.web.errors import EditClash

TRIES = 4
"""How often an edit begins again when somebody else wrote the same file in the same moment."""


@dataclass(frozen=True)
class FactAt:
    """Where a fact is stated, and what stands there.

    path: keys of the file; raw: the value as TOML has it, None when nothing is stated; text: the
    same as it is written; said: what stands behind it; mark: what a form remembers of it.
    """

    address: str
    declared: Declared
    file: str
    path: tuple[str, ...]
    raw: Any
    text: str
    said: str = ""

    @property
    def mark(self) -> str:
        told = "\0".join((self.file, *self.path, self.text))
        return hashlib.sha256(told.encode()).hexdigest()[:24]


def fact_at(opened: OpenBuild, address: str, state: State | None = None) -> FactAt | None:
    """Where the files state a fact, or would; None when nothing of that name is declared.

    state: of which car the part is meant that lies at a place; left out: of the present one.
    """
    declared = declared_at(opened, address)
    if declared is None:
        return None
    found = _keys(opened, address, declared, state)
    if found is None:
        return None
    file, path = found
    raw, text, said = _stands(opened.build.files.get(file, ""), path)
    return FactAt(address, declared, file, path, raw, text, said)


def _keys(
    opened: OpenBuild, address: str, declared: Declared, state: State | None
) -> tuple[str, tuple[str, ...]] | None:
    build = opened.build
    if address.startswith(IN_HAND):
        part = address.split(".")[1]
        return (build.part_files[part], ("part", part, *declared.path))
    fitted = (state or opened.present.state).fitted
    if declared.owner in fitted:
        here = fitted[declared.owner]
        return (build.part_files[here], ("part", here, *declared.path)) if here else None
    stated = build.stated.get(declared.address)
    if stated is not None:
        return stated.file, (*stated.owner.split("."), declared.path[-1])
    table = declared.owner.split(".")[0]
    file = "build.toml" if table in (*BUILD_SECTIONS, "blend") else "car.toml"
    return file, tuple(declared.address.split("."))


def _stands(text: str, path: tuple[str, ...]) -> tuple[Any, str, str]:
    try:
        item: Any = tomlkit.parse(text)
        for key in path:
            item = item[key]
    except (TOMLKitError, KeyError, TypeError):
        return None, "", ""
    raw = item.unwrap() if hasattr(item, "unwrap") else item
    said = item.trivia.comment.lstrip("# ").strip() if hasattr(item, "trivia") else ""
    return raw, item.as_string() if hasattr(item, "as_string") else str(item), said


def noted_at(opened: OpenBuild, found: FactAt) -> str:
    """The address under which a reading of it is written: of a part that is not on the car, by the
    part's id. Empty for a curve, a table or a list, which no reading states, and for a wish.
    """
    if found.path[0] in OWNERS_WORD:
        return ""
    table = inner_model(found.declared.field.annotation) is not None or is_list(found.declared)
    if table or takes(found.declared).startswith("a curve"):
        return ""
    if found.path[0] != "part" or found.address.startswith(IN_HAND):
        return found.address
    here = opened.present.state.fitted.get(found.declared.owner) == found.path[1]
    return found.address if here else ".".join(found.path)


def write_fact(
    desk: Desk, address: str, raw: Any, *, seen: str, state: str = "now", comment: str = ""
) -> FactAt:
    """Set a fact, or with ``raw`` None take it out. Returns what stands there then.

    Raises EditClash when the key says another thing than was seen, ChangeRefused when the address
    does not take the value, BuildFaults when the build would not read with it.
    """
    with one_at_a_time:
        opened = desk.opened()
        for _ in range(TRIES):
            found = fact_at(opened, address, _state(desk, state))
            if found is None:
                raise EditRefused(f"nothing can be stated at {address}: no part is fitted there")
            if found.mark != seen:
                wanted = "nothing" if raw is None else _inline_text(raw)
                raise EditClash(plain_name(address), found.text or "nothing", wanted)
            if raw is not None:
                read_setting(found.declared.address, raw)
            try:
                _write(opened, found, raw, comment)
            except FileChanged:
                opened = open_build(desk.folder)  # somebody wrote the file meanwhile
                continue
            after = fact_at(open_build(desk.folder), address, _state(desk, state))
            assert after is not None  # it was found a moment ago
            return after
        raise EditRefused(f"{address}: its file is being written by others: send it once more")


def _state(desk: Desk, name: str) -> State | None:
    return None if name == "now" else desk.state(name)


def _write(opened: OpenBuild, found: FactAt, raw: Any, comment: str) -> None:
    if raw is not None:
        checked(
            opened, found.file,
            lambda: set_fact(opened.build, found.file, found.path, raw, comment=comment),
        )  # fmt: skip
        return

    def take_out(document: Any) -> None:
        table = document
        for step in found.path[:-1]:
            table = table[step]
        table.remove(found.path[-1])

    checked(opened, found.file, lambda: edit_file(opened.build, found.file, take_out))


def checked(opened: OpenBuild, file: str, write: Callable[[], object]) -> None:
    """Write a file, and put it back as it was when the build does not read with it."""
    path = opened.build.root / file
    with one_at_a_time:
        before = path.read_bytes() if path.exists() else None
        write()
        written = path.read_bytes()
        try:
            read_build(opened.build.root)
        except BuildFaults:
            if path.read_bytes() == written:
                _put_back(opened.build.root, path, before)
            raise


def _put_back(root: Path, path: Path, before: bytes | None) -> None:
    if before is None:
        path.unlink()
        return
    os.replace(laid_beside(root, path, before), path)


def _inline_text(raw: Any) -> str:
    return tomlkit.item(raw).as_string() if not isinstance(raw, dict) else _table_text(raw)


def _table_text(raw: dict[str, Any]) -> str:
    return "{ " + ", ".join(f"{k} = {_inline_text(v)}" for k, v in raw.items()) + " }"
