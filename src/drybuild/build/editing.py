"""Edits the folder's files in place: comments, order and blank lines are kept.

A file that was changed outside since it was read is refused, never overwritten; the new text is
read back before it replaces the old one, in one step.
"""

from __future__ import annotations

import os
import threading
from collections.abc import Callable, Iterable, Mapping, Sequence
from pathlib import Path
from typing import Any

import tomlkit
from tomlkit.exceptions import TOMLKitError

from drybuild.build import kept_order
from drybuild.build.build import Build
from drybuild.build.errors import BuildProblem
from drybuild.build.folder import Job, Session, WantedUse
from drybuild.build.lines import key_lines
from drybuild.build.migrate import FORMAT
from drybuild.build.state import Change

one_at_a_time = threading.RLock()
"""Held while a file of a folder is read, changed and written, and while several are as one."""


class EditRefused(BuildProblem):
    """The file cannot be edited as asked; nothing was written."""


class FileChanged(EditRefused):
    """Somebody else wrote the file since it was read."""


_CHANGED = "{} was changed since it was read: read the build again first"


def add_job(
    build: Build, job_id: str, title: str, changes: Sequence[Change], *, comment: str = ""
) -> Path:
    """Append a [[job]] with these fit, remove and set Changes to build.toml; returns the file.
    comment: said behind its id."""
    if any(job.id == job_id for job in build.jobs):
        raise EditRefused(f"build.toml has a job {job_id!r} already")
    job = tomlkit.table()
    name = tomlkit.string(job_id)
    if comment:
        name.comment(_on_one_line(comment))
    job.add("id", name)
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

    return _at_the_end(build, "job", job)


def change_job(
    build: Build, job_id: str, fit: Mapping[str, str], changes: Sequence[Change] = ()
) -> Path:
    """Make a [[job]] of build.toml fit this, and what further Changes do; returns the file.

    fit: place → part, all that it fits from now on; what is said of the work itself stays.
    """
    number = _job_number(build, job_id)

    def edit(document: Any) -> None:
        _fit_anew(document["job"][number], fit, changes)

    return edit_file(build, "build.toml", edit)


def set_job(build: Build, job: Job) -> Path:
    """Set title and arrival of the [[job]] with this id; what does not differ, and every other key,
    stays as it is written. Returns the file."""
    number = _job_number(build, job.id)
    before = build.jobs[number]

    def edit(document: Any) -> None:
        table = document["job"][number]
        if job.title != before.title:
            table["title"] = job.title
        if job.arrives != before.arrives:
            if job.arrives:
                table["arrives"] = job.arrives
            else:
                del table["arrives"]

    return edit_file(build, "build.toml", edit)


def remove_job(build: Build, job: str) -> Path:
    """Take the [[job]] with this id out of build.toml; comments around it stay."""
    return _cut(build, "job", _job_number(build, job))


def _job_number(build: Build, job: str) -> int:
    ids = [one.id for one in build.jobs]
    if job not in ids:
        raise EditRefused(f"build.toml has no job {job!r} any more")
    return ids.index(job)


def _fit_anew(table: Any, fit: Mapping[str, str], changes: Sequence[Change]) -> None:
    fitted = dict(fit) | {c.target: str(c.value) for c in changes if c.kind == "fit"}
    if fitted and "fit" not in table:
        table["fit"] = tomlkit.inline_table()
    for gone in [place for place in table.get("fit", ()) if place not in fitted]:
        del table["fit"][gone]
    for place, part in fitted.items():
        if table["fit"].get(place) != part:
            table["fit"][place] = part
    settings = {c.target: c.value for c in changes if c.kind == "set"}
    if settings:
        table["set"] = _inline({**table.get("set", {}), **settings})
    removed = [c.target for c in changes if c.kind == "remove"]
    if removed:
        table["remove"] = list(dict.fromkeys([*table.get("remove", ()), *removed]))


def add_part(
    build: Build, file: str, part: str, table: Mapping[str, Any], *, known: str = "catalogue",
    comments: Mapping[str, str] | None = None,
) -> Path:  # fmt: skip
    """Add a part to a file of parts/, which is begun where there is none; returns the file.

    known: how the bare figures of a new file are known; comments: what stands behind a fact, and,
    for one that is not in the table, on a line of its own after it.
    """
    made = _part(table, comments or {})
    if file in build.files:

        def edit(document: Any) -> None:
            if "part" not in document:
                document.add("part", tomlkit.table(is_super_table=True))
            document["part"][part] = made

        return edit_file(build, file, edit)
    document = tomlkit.document()
    document.add("format", tomlkit.item(FORMAT))
    document.add("known", tomlkit.item(known))
    parts = tomlkit.table(is_super_table=True)
    parts.add(part, made)
    document.add("part", parts)
    path = build.root / file
    _inside(build.root, path)
    with one_at_a_time:
        path.parent.mkdir(exist_ok=True)
        try:
            with path.open("x", encoding="utf-8", newline="") as out:  # never over another file
                out.write(tomlkit.dumps(document))
                out.flush()
                os.fsync(out.fileno())
        except FileExistsError:
            raise EditRefused(f"{file} was made meanwhile") from None
    return path


def _part(table: Mapping[str, Any], comments: Mapping[str, str]) -> Any:
    made = tomlkit.table()
    for key, value in table.items():
        item = _inline(value) if isinstance(value, dict) else tomlkit.item(value)
        if key in comments:
            item.comment(_on_one_line(comments[key]))
        made.add(key, item)
    for key, words in comments.items():
        if key not in table:
            made.add(tomlkit.comment(_on_one_line(f"{key}: {words}")))
    return made


def add_session(build: Build, session: Session) -> Path:
    """Append a [[session]] to build.toml; returns the file."""
    made = {key: getattr(session, key) for key in ("id", "date", "start", "end")}
    return _append(build, "session", {**made, "people": list(session.people)})


def add_need(build: Build, need: WantedUse) -> Path:
    """Append a [[need]] of a day to build.toml; returns the file."""
    return _append(build, "need", {key: getattr(need, key) for key in ("use", "day", "at")})


def _append(build: Build, name: str, keys: dict[str, Any]) -> Path:
    made = tomlkit.table()
    for key, value in keys.items():
        made.add(key, value)

    return _at_the_end(build, name, made)


def _at_the_end(build: Build, name: str, table: Any) -> Path:
    """Write one more table of an array behind all else in build.toml, which stays as it is."""

    def add(text: str) -> str:
        document = tomlkit.parse(text)
        wanted = document.unwrap()
        if name in document and not document[name]:  # an empty list, in the way of the tables
            document.pop(name)
            text = tomlkit.dumps(document)
        block = tomlkit.document()
        block.add(name, tomlkit.aot())
        block[name].append(table)
        said = text.rstrip("\r\n")
        end = "\r\n" if "\r\n" in text else "\n"
        added = tomlkit.dumps(block).replace("\r\n", "\n").replace("\n", end)
        new = f"{said}{end}{end}{added}" if said else added
        wanted[name] = [*(wanted.get(name) or ()), table.unwrap()]
        try:
            same = tomlkit.parse(new).unwrap() == wanted
        except TOMLKitError:
            same = False
        if not same:
            raise EditRefused(f"build.toml: its {name}s are written so that one is added there")
        return new

    return _replaced(build, "build.toml", add)


def set_session(build: Build, session: Session) -> Path:
    """Set date, start, end and people of the [[session]] with this id; what does not differ, and
    every other key, stays as it is written. Returns the file."""
    number = _session_number(build, session.id)
    before = build.sessions[number]

    def edit(document: Any) -> None:
        table = document["session"][number]
        for key in ("date", "start", "end"):
            if getattr(session, key) != getattr(before, key):
                table[key] = getattr(session, key)
        if session.people != before.people:
            table["people"] = list(session.people)

    return edit_file(build, "build.toml", edit)


def remove_session(build: Build, session: str) -> Path:
    """Take the [[session]] with this id out of build.toml; comments around it stay."""
    return _cut(build, "session", _session_number(build, session))


def remove_need(build: Build, need: WantedUse) -> Path:
    """Take a [[need]] out of build.toml; comments around it stay."""
    if need not in build.needs:
        raise EditRefused("build.toml has no such day any more")
    return _cut(build, "need", build.needs.index(need))


def set_need(build: Build, need: WantedUse, not_on: tuple[str, ...]) -> Path:
    """Set the dates on which a [[need]] of a day of the week is not wanted."""
    if need not in build.needs:
        raise EditRefused("build.toml has no such day any more")
    number = build.needs.index(need)

    def edit(document: Any) -> None:
        table = document["need"][number]
        if not_on:
            table["not_on"] = list(not_on)
        elif "not_on" in table:
            del table["not_on"]

    return edit_file(build, "build.toml", edit)


def _cut(build: Build, name: str, number: int) -> Path:
    def cut(text: str) -> str:
        wanted = tomlkit.parse(text).unwrap()
        del wanted[name][number]
        if not wanted[name]:
            del wanted[name]
        new = _without(text, f"{name}.{number}")
        if tomlkit.parse(new).unwrap() != wanted:
            raise EditRefused(f"build.toml: its {name}s are written so that it is taken out there")
        return new

    return _replaced(build, "build.toml", cut)


def _session_number(build: Build, session: str) -> int:
    ids = [one.id for one in build.sessions]
    if session not in ids:
        raise EditRefused(f"build.toml has no work session {session!r} any more")
    return ids.index(session)


def _without(text: str, table: str) -> str:
    """The text without the lines of a table of an array, from its header to its last key."""
    known = key_lines(text.replace("\r\n", "\n"))
    lines = [f"{line}\n" for line in text.split("\n")]  # TOML knows no other end of a line
    lines[-1] = lines[-1][:-1]
    start = known.get(table)
    if start is None or not lines[start - 1].lstrip().startswith("[["):
        return text
    inside = f"{table}."
    after = [n for path, n in known.items() if n > start and not f"{path}.".startswith(inside)]
    end = min(after, default=len(lines) + 1) - 1
    while end > start and not lines[end - 1].partition("#")[0].strip():
        end -= 1
    blank_before = start == 1 or not lines[start - 2].strip()
    if blank_before and end < len(lines) and not lines[end].strip():
        end += 1
    return "".join([*lines[: start - 1], *lines[end:]])


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
        # by the container: a table gives a bare bool, which has no comment
        item = getattr(table, "value", table).item(path[-1])
        item.comment(_on_one_line(comment))
        item.trivia.comment_ws = item.trivia.comment_ws[:1] + " "


def comment_at(build: Build, file: str, path: Sequence[str]) -> str:
    """What stands behind a fact in its file; empty where nothing does, or nothing is stated."""
    try:
        item: Any = tomlkit.parse(build.files.get(file, ""))
        for step in path:
            item = getattr(item, "value", item).item(step) if step == path[-1] else item[step]
    except (TOMLKitError, KeyError, TypeError, AttributeError):
        return ""
    return item.trivia.comment.lstrip("# ").strip() if hasattr(item, "trivia") else ""


def edit_file(build: Build, file: str, edit: Any) -> Path:
    """Run ``edit`` on the parsed document of a file and replace the file with the result."""

    def make(text: str) -> str:
        new, wanted = kept_order.edited(text, edit)
        if tomlkit.parse(new).unwrap() != wanted:
            raise EditRefused(f"{file}: the edited text does not read back the same")
        return new

    return _replaced(build, file, make)


def _replaced(build: Build, file: str, make: Callable[[str], str]) -> Path:
    """Replace the text of a file, in one step, unless somebody else wrote it since it was read."""
    path = build.root / file
    with one_at_a_time:
        text = path.read_bytes().decode("utf-8-sig")  # line ends as they are
        if text != build.files.get(file):
            raise FileChanged(_CHANGED.format(file))
        new = make(text)
        partial = laid_beside(build.root, path, new.encode())
        if path.read_bytes().decode("utf-8-sig") != text:  # by another program, in this moment
            partial.unlink()
            raise FileChanged(_CHANGED.format(file))
        os.replace(partial, path)
    return path


def laid_beside(root: Path, path: Path, data: bytes) -> Path:
    """What a file is to hold, whole on the disk under a name beside it, for ``os.replace``.

    A folder may have come with links in it: nothing is written through one. Raises EditRefused.
    """
    _inside(root, path)
    partial = path.with_suffix(f".{os.getpid()}.part")
    try:
        out = partial.open("xb")
    except FileExistsError:
        raise EditRefused(f"the folder does not take it: {partial.name} is in it") from None
    with out:
        out.write(data)
        out.flush()
        os.fsync(out.fileno())
    return partial


def _inside(root: Path, path: Path) -> None:
    if not path.parent.resolve().is_relative_to(root.resolve()):
        raise EditRefused(f"{path.parent.name} is a link out of the build's folder: not followed")


def _on_one_line(text: str) -> str:
    """What a comment may hold: nothing that ends it, and nothing that no editor shows."""
    return " ".join("".join(sign if sign.isprintable() else " " for sign in text).split())


def _inline(table: dict[str, Any]) -> Any:
    made = tomlkit.inline_table()
    for key, value in table.items():
        made.add(key, _inline(value) if isinstance(value, dict) else value)
    return made
