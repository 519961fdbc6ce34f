"""What was written into the folder's files by command, and taking it back: what was read off a part
in hand, and jobs that ``fix`` planned. What is in the journal is taken back there."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from typing import Any

import tomlkit

from drybuild.build import Build, BuildFaults, read_build
from drybuild.build.editing import (
    EditRefused,
    edit_file,
    one_at_a_time,
    remove_job,
    set_fact,
)
from drybuild.build.lines import key_lines, line_of
from drybuild.examine.opened import OpenBuild
from drybuild.examine.usual import BY_FIX
from drybuild.examine.written import written_text

NOTHING = "nothing"
LONGEST = 120
"""Letters of what stood before that are kept behind the new figure."""

_READ = re.compile(
    r"# read by (?P<who>[^#]+?), (?P<day>\d{4}-\d\d-\d\d)(?:; before: (?P<was>.+))?\s*$"
)


class NotFiled(Exception):
    """It cannot be taken back so; the text says why, and what would do."""


@dataclass(frozen=True, slots=True)
class Filed:
    """Something in a file. name: as one types it to take it back; line: from 1; said: in words;
    was: what stood there before, as TOML, ``nothing``, or empty where that was not kept."""

    name: str
    file: str
    line: int
    said: str
    was: str = ""


def read_words(build: Build, file: str, path: tuple[str, ...], who: str, day: str) -> str:
    """What stands behind a figure that is read: by whom, when, and what stood there before."""
    try:
        item = _at(build, file, path)
        was = item.as_string() if hasattr(item, "as_string") else tomlkit.item(item).as_string()
    except KeyError:
        was = NOTHING
    kept = f"; before: {was}" if "\n" not in was and len(was) <= LONGEST else ""
    return f"read by {who or 'nobody named'}, {day or date.today().isoformat()}{kept}"


def filed(opened: OpenBuild) -> tuple[Filed, ...]:
    """All of it, the files in their order."""
    return (*_facts(opened.build), *_jobs(opened))


def take_out(opened: OpenBuild, name: str, *, who: str) -> str:
    """Take one of them back; returns what stands there now, in words. Raises NotFiled."""
    one = next((f for f in filed(opened) if f.name == name), None)
    if one is None:
        raise NotFiled(f"nothing of the name {name!r} was written into a file by note or fix")
    with one_at_a_time:
        path = opened.build.root / one.file
        before = path.read_bytes()
        try:
            said = _job_out(opened, one) if not name.startswith("part.") else _fact_back(
                opened.build, one, who
            )  # fmt: skip
            read_build(opened.build.root)
        except EditRefused as error:
            raise NotFiled(str(error)) from None
        except BuildFaults as error:
            path.write_bytes(before)
            raise NotFiled(f"something else names it: {error.faults[0]}") from None
    return said


def _facts(build: Build) -> Iterator[Filed]:
    for file in dict.fromkeys(build.part_files.values()):
        text = build.files.get(file, "")
        paths: dict[int, str] = {}
        for path, number in key_lines(text).items():
            paths.setdefault(number, path)
        for number, line in enumerate(text.split("\n"), start=1):
            found = _READ.search(line)
            if found is not None and paths.get(number, "").startswith("part."):
                stands = written_text(_at(build, file, tuple(paths[number].split("."))))
                said = f"{stands}, {found['who']}, {found['day']}"
                yield Filed(paths[number], file, number, said, (found["was"] or "").strip())


def _at(build: Build, file: str, path: tuple[str, ...]) -> Any:
    """What stands at a key of a file. Raises KeyError."""
    item: Any = tomlkit.parse(build.files[file])
    for key in path:
        item = item[key]
    return item


def _jobs(opened: OpenBuild) -> Iterator[Filed]:
    build = opened.build
    text = build.files.get("build.toml", "")
    lines = text.split("\n")
    for number, job in enumerate(build.jobs):
        line = line_of(text, ("job", str(number), "id")) or 1
        if lines[line - 1].rstrip().endswith(f"# {BY_FIX}"):
            done = ", done already" if job.id in opened.present.done else ""
            yield Filed(job.id, "build.toml", line, f"job: {job.title}{done}")


def _job_out(opened: OpenBuild, one: Filed) -> str:
    if one.name in opened.present.done:
        raise NotFiled(f"job {one.name!r} is written down as done: take that back first")
    remove_job(opened.build, one.name)
    return "no job any more; parts that came with it stay in parts/"


def _fact_back(build: Build, one: Filed, who: str) -> str:
    path = tuple(one.name.split("."))
    if not one.was:
        raise NotFiled(
            f"what stood there before was not kept: change it in {one.file}, line {one.line}"
        )
    if one.was == NOTHING:
        edit_file(build, one.file, lambda document: _remove(document, path))
        return "nothing is stated, as before"
    raw = tomlkit.parse(f"x = {one.was}").unwrap()["x"]
    set_fact(build, one.file, path, raw, comment=f"put back by {who}, {date.today().isoformat()}")
    return f"{one.was}, as before"


def _remove(document: Any, path: tuple[str, ...]) -> None:
    table = document
    for step in path[:-1]:
        table = table[step]
    table.remove(path[-1])
