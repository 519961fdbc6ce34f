"""What-if changes beside the real build: each draft is a small file of its own until it is kept.

A draft is a list of Changes on the finished car. Kept, it becomes a job of the build; dropped, its
file is gone. Nothing else of the folder knows of it.
"""

from __future__ import annotations

import os
import re
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import Any, cast

import tomlkit

from drybuild.build import BuildFaults, Change
from drybuild.build.editing import EditRefused, laid_beside, one_at_a_time
from drybuild.build.errors import Fault
from drybuild.build.reading import read_tables
from drybuild.build.state import instances_of

FOLDER = "drafts"
NAME = re.compile(r"[a-z0-9][a-z0-9-]{0,39}")
KINDS = ("fit", "remove", "set")
MOST = 200
"""Drafts in a folder, and Changes in a draft."""


class DraftRefused(EditRefused):
    """The draft cannot be made or kept as asked; nothing was written."""


@dataclass(frozen=True, slots=True)
class Draft:
    """Changes that are tried. name: short, lower case; title: in words."""

    name: str
    title: str
    changes: tuple[Change, ...]


def drafts(folder: Path) -> tuple[Draft, ...]:
    """The drafts of a build folder by name. Raises BuildFaults for one that cannot be read."""
    if (folder / FOLDER).is_symlink():
        return ()
    faults: list[Fault] = []
    found = [_read(path, faults) for path in sorted(_own(folder).glob("*.toml"))[:MOST]]
    if faults:
        raise BuildFaults(faults)
    return tuple(draft for draft in found if draft is not None)


def draft(folder: Path, name: str) -> Draft | None:
    """One draft by name, or None."""
    return next((d for d in drafts(folder) if d.name == name), None)


def write(folder: Path, made: Draft) -> Path:
    """Write a draft, in one step. Raises DraftRefused for a name that is none."""
    if not NAME.fullmatch(made.name):
        raise DraftRefused(
            f"{made.name!r}: a draft's name has lower-case letters, digits and dashes, up to 40"
        )
    if len(made.changes) > MOST:
        raise DraftRefused(f"at most {MOST} changes in one draft")
    document = tomlkit.document()
    document.add("format", tomlkit.item(1))
    document.add("title", tomlkit.item(made.title))
    rows = tomlkit.aot()
    for change in made.changes:
        row = tomlkit.table()
        row.add("kind", change.kind)
        row.add("target", change.target)
        if change.value is not None:
            row.add("value", change.value)
        rows.append(row)
    document.add("change", rows)
    path = _own(folder) / f"{made.name}.toml"
    path.parent.mkdir(exist_ok=True)
    os.replace(laid_beside(folder, path, tomlkit.dumps(document).encode()), path)
    return path


def begin(folder: Path, words: str, changes: tuple[Change, ...], *, like: str = "") -> str:
    """Write a new draft under a name like these words; returns the name. Raises DraftRefused.

    like: what its name is like, where that is shorter than the words.

    Two who begin one at the same moment under the same words get two.
    """
    with one_at_a_time:
        if len(list(_own(folder).glob("*.toml"))) >= MOST:
            raise DraftRefused(f"there are {MOST} drafts: keep or drop some of them first")
        name = free_name(folder, like or words)
        write(folder, Draft(name, words, changes))
    return name


def put_in(folder: Path, name: str, changes: tuple[Change, ...]) -> None:
    """Put Changes into a draft, in place of those of the same places. Raises DraftRefused."""
    with one_at_a_time:
        there = _needed(folder, name)
        new = {i for c in changes if c.kind != "set" for i in instances_of(c.target)}
        targets = {c.target for c in changes if c.kind == "set"}
        kept = tuple(c for c in there.changes if not _covered(c, new, targets))
        write(folder, Draft(name, there.title, kept + changes))


def take_out(folder: Path, name: str, number: int, target: str) -> None:
    """Take one Change out of a draft, by its number from 0 and what it is of, which has to be what
    the draft has there still. Raises DraftRefused."""
    with one_at_a_time:
        there = _needed(folder, name)
        if number >= len(there.changes) or there.changes[number].target != target:
            raise DraftRefused(f"the draft {there.title!r} was changed meanwhile: look at it again")
        left = there.changes[:number] + there.changes[number + 1 :]
        write(folder, Draft(name, there.title, left))


def _needed(folder: Path, name: str) -> Draft:
    found = draft(folder, name)
    if found is None:
        raise DraftRefused(f"there is no draft {name!r} any more")
    return found


def _covered(change: Change, places: set[str], targets: set[str]) -> bool:
    if change.kind == "set":
        return change.target in targets
    return set(instances_of(change.target)) <= places


def drop(folder: Path, name: str) -> bool:
    """Take a draft's file away. Whether there was one."""
    if not NAME.fullmatch(name):
        return False
    path = _own(folder) / f"{name}.toml"
    if not path.is_file():
        return False
    path.unlink()
    return True


def _own(folder: Path) -> Path:
    """The drafts' place; a link there leads out of the folder, and is not followed."""
    place = folder / FOLDER
    if place.is_symlink():
        raise DraftRefused(f"{FOLDER} is a link out of the build's folder: it is not followed")
    return place


def free_name(folder: Path, wanted: str) -> str:
    """A name like the one wanted that no draft has yet."""
    plain = re.sub(r"[^a-z0-9]+", "-", wanted.lower()).strip("-")[:32] or "draft"
    taken = {d.name for d in drafts(folder)}
    number, name = 2, plain
    while name in taken:
        name, number = f"{plain}-{number}", number + 1
    return name


def _read(path: Path, faults: list[Fault]) -> Draft | None:
    named = f"{FOLDER}/{path.name}"
    found = read_tables(path, named, faults)
    if found is None:
        return None
    data, _ = found
    rows = data.get("change", [])
    changes = _changes(rows) if isinstance(rows, list) and len(rows) <= MOST else None
    if changes is None or not NAME.fullmatch(path.stem):
        faults.append(
            Fault(named, None, "change", "something else", "a list of kind, target and value")
        )
        return None
    return Draft(path.stem, str(data.get("title", path.stem)), changes)


def _changes(rows: Iterable[Any]) -> tuple[Change, ...] | None:
    made = []
    for row in rows:
        if not isinstance(row, dict) or row.get("kind") not in KINDS:
            return None
        if not isinstance(row.get("target"), str):
            return None
        made.append(Change(cast(Any, row["kind"]), row["target"], row.get("value")))
    return tuple(made)
