"""Edits the folder's files in place: comments, order and blank lines are kept.

A file that was changed outside since it was read is refused, never overwritten; the new text is
read back before it replaces the old one, in one step.
"""

from __future__ import annotations

import os
import threading
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import Any

import tomlkit

from drybuild.build.build import Build
from drybuild.build.errors import BuildProblem
from drybuild.build.folder import Session
from drybuild.build.state import Change

one_at_a_time = threading.RLock()
"""Held while a file of a folder is read, changed and written, and while several are as one."""


class EditRefused(BuildProblem):
    """The file cannot be edited as asked; nothing was written."""


_CHANGED = "{} was changed since it was read: read the build again first"


def add_job(build: Build, job_id: str, title: str, changes: Sequence[Change]) -> Path:
    """Append a [[job]] with these fit, remove and set Changes to build.toml; returns the file."""
    if any(job.id == job_id for job in build.jobs):
        raise EditRefused(f"build.toml has a job {job_id!r} already")
    job = tomlkit.table()
    job.add("id", job_id)
    job.add("title", title)
    fit = {c.target: c.value for c in changes if c.kind == "fit"}
    settings = {c.target: c.value for c in changes if c.kind == "set"}
    removed = [c.target for c in changes if c.kind == "remove"]
    if fit:
        job.add("fit", _inline(fit))
    if settings:
        job.add("set", _inline(settings))
    if removed:
        job.add("remove", removed)

    def edit(document: Any) -> None:
        jobs = document.get("job")
        if jobs is None:
            jobs = tomlkit.aot()
            document.add("job", jobs)
        jobs.append(job)

    return edit_file(build, "build.toml", edit)


def add_session(build: Build, session: Session) -> Path:
    """Append a [[session]] to build.toml; returns the file."""
    made = tomlkit.table()
    for key in ("id", "date", "start", "end"):
        made.add(key, getattr(session, key))
    made.add("people", list(session.people))

    def edit(document: Any) -> None:
        sessions = document.get("session")
        if not sessions:  # none, or an empty list
            document.pop("session", None)
            sessions = tomlkit.aot()
            document.add("session", sessions)
        sessions.append(made)

    return edit_file(build, "build.toml", edit)


def set_fact(build: Build, file: str, path: Sequence[str], raw: Any, *, comment: str = "") -> Path:
    """Set one key of a file, making tables on the way; returns the file.

    comment: said behind it, in place of what was said there of the old figure.
    """
    return set_facts(build, file, [(path, raw, comment)])


def set_facts(build: Build, file: str, facts: Iterable[tuple[Sequence[str], Any, str]]) -> Path:
    """Set several keys of a file in one step, each with its comment, as ``set_fact`` does."""

    def edit(document: Any) -> None:
        for path, raw, comment in facts:
            _put(document, path, raw, comment)

    return edit_file(build, file, edit)


def _put(document: Any, path: Sequence[str], raw: Any, comment: str) -> None:
    table = document
    for step in path[:-1]:
        if step not in table:
            table[step] = tomlkit.table()
        table = table[step]
    table[path[-1]] = _inline(raw) if isinstance(raw, dict) else raw
    if comment:
        item = table[path[-1]]
        item.comment(_on_one_line(comment))
        item.trivia.comment_ws = item.trivia.comment_ws[:1] + " "


def edit_file(build: Build, file: str, edit: Any) -> Path:
    """Run ``edit`` on the parsed document of a file and replace the file with the result."""
    path = build.root / file
    with one_at_a_time:
        text = path.read_bytes().decode("utf-8-sig")  # line ends as they are
        if text != build.files.get(file):
            raise EditRefused(_CHANGED.format(file))
        document = tomlkit.parse(text)
        edit(document)
        new = tomlkit.dumps(document)
        if tomlkit.parse(new).unwrap() != document.unwrap():
            raise EditRefused(f"{file}: the edited text does not read back the same")
        partial = path.with_suffix(f".{os.getpid()}.part")
        with partial.open("w", encoding="utf-8", newline="") as out:
            out.write(new)
            out.flush()
            os.fsync(out.fileno())
        if path.read_bytes().decode("utf-8-sig") != text:  # by another program, in this moment
            partial.unlink()
            raise EditRefused(_CHANGED.format(file))
        os.replace(partial, path)
    return path


def _on_one_line(text: str) -> str:
    """What a comment may hold: nothing that ends it, and nothing that no editor shows."""
    return " ".join("".join(sign if sign.isprintable() else " " for sign in text).split())


def _inline(table: dict[str, Any]) -> Any:
    made = tomlkit.inline_table()
    for key, value in table.items():
        made.add(key, _inline(value) if isinstance(value, dict) else value)
    return made
